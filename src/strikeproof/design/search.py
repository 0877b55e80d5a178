"""The search: a wide scan, a close look at what is promising, and the finalists in many draws of belief.

Everything is judged by medians over the draws: the gain that an objective looks at is that with the
strongest tool (the one that takes the reference highest), of "best over tools" the least of all tools. The
strength is asked for at the peak that the hardest-hitting tool exceeds in one draw of twenty.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from strikeproof.design.clashes import find_clashes
from strikeproof.design.finishing import finish_search, peak_beyond
from strikeproof.design.judging import Strain, reference_score, run_worlds
from strikeproof.design.recipes import Recipe, list_recipes
from strikeproof.design.records import Brief, Cancelled, Progress, Search, Worlds
from strikeproof.design.refining import Aim, first_different, promising, rank_kept, rank_near, refine_recipe
from strikeproof.design.relaxing import clash_error, no_article
from strikeproof.design.scanning import Allowance, Scan, scan_recipes

__all__ = ["FULL", "QUICK", "Effort", "search_designs"]

_FIRST_PEAK: Final = 1.3
"""What blows that scatter and doubt about the tool add to a peak, as long as it is not known."""
_SETTLED: Final = 0.02
_ROUNDS: Final = 3


@dataclass(frozen=True, slots=True)
class Effort:
    """How much work a search may be.

    Parameters
    ----------
    scan
        Articles of the wide look.
    recipes, population, generations
        Recipes of the close look, and the size of each look.
    probes
        Articles by which the way from the middle world to the draws is found.
    front
        Articles of the front between gain, mass, price and diameter, beside the proposals.
    """

    scan: int
    recipes: int
    population: int
    generations: int
    probes: int
    front: int


FULL: Final = Effort(scan=10_000, recipes=8, population=24, generations=16, probes=6, front=16)
QUICK: Final = Effort(scan=1_500, recipes=5, population=16, generations=10, probes=4, front=6)


@dataclass(slots=True)
class _Told:
    """Progress through all stages."""

    total: int
    tell: Progress | None
    done: int = 0

    def __call__(self, done: int, what: str) -> None:
        self.done = max(self.done, min(done, self.total))
        if self.tell is not None:
            self.tell(self.done, self.total, what)


def search_designs(
    brief: Brief,
    worlds: Worlds,
    *,
    rng: np.random.Generator,
    effort: Effort = FULL,
    workers: int = 1,
    progress: Progress | None = None,
    cancelled: Cancelled | None = None,
) -> Search:
    """The best distinct articles that keep a brief, by its objective.

    Parameters
    ----------
    worlds
        What is believed of the bench.
    rng
        The only source of chance: the same state finds the same, for any number of workers.
    workers
        Threads: the engine's kernels run side by side, and no process has to start.
    progress
        Called with (done, total, what is being done).
    cancelled
        Asked now and then; True ends the search with what was found by then.

    Raises
    ------
    BadInput
        If no article keeps the brief: which limits clash, and the nearest brief that can be kept.
    """
    if needs := find_clashes(brief):
        raise clash_error(brief, needs)
    recipes = list_recipes(brief)
    scan = Scan()
    strain = Strain(rough=True, scatter=False, workers=workers, cancelled=cancelled)
    aim = _first_aim(brief, worlds)
    if not recipes:
        raise no_article(scan, aim, worlds)
    tell = _Told(effort.scan + effort.recipes * (effort.generations + 2) * effort.population + 1, progress)
    scan_recipes(
        brief, recipes, scan, effort.scan, worlds.middle, rng, strain, lambda n: tell(n, "looking widely")
    )
    for _ in range(_ROUNDS):
        if strain.is_over or not scan.judged:
            break
        before, aim = aim, _calibrate(scan, aim, worlds, effort.probes, strain)
        if _is_settled(before, aim):
            break
        _refine(recipes, scan, aim, effort, rng, strain, tell)
    found = finish_search(scan, aim, worlds, effort.front, strain)
    if not found.proposals and found.complete:
        raise no_article(scan, aim, worlds)
    tell(tell.total, "done")
    return found


def _first_aim(brief: Brief, worlds: Worlds) -> Aim:
    tools = range(len(worlds.middle.tools))
    strongest = max(tools, key=lambda tool: reference_score(worlds.middle, tool))
    return Aim(brief, worlds.middle, Allowance(_FIRST_PEAK, np.zeros(len(tools))), strongest)


def _calibrate(scan: Scan, aim: Aim, worlds: Worlds, probes: int, strain: Strain) -> Aim:
    """The way from the middle world to the draws, by a few of the best and most different articles."""
    chosen = first_different(rank_kept(scan, aim) or rank_near(scan, aim), probes)
    if not chosen:
        return aim
    exact = replace(strain, rough=False, scatter=True, cancelled=None)
    found = run_worlds([each.draft.model for each in chosen], worlds.draws, exact)
    middle = np.array([each.gains for each in chosen])
    factor = float(np.max(peak_beyond(found) / np.array([each.peak for each in chosen])))
    shift = np.median(np.median(found.gains, axis=1) - middle, axis=0)
    return replace(aim, allowance=Allowance(factor, np.asarray(shift)))


def _is_settled(before: Aim, after: Aim) -> bool:
    """Whether the way to the draws is known well enough; never before the first look at them."""
    if before.allowance.peak == _FIRST_PEAK:
        return False
    return abs(after.allowance.peak / before.allowance.peak - 1.0) < _SETTLED


def _refine(
    recipes: Sequence[Recipe],
    scan: Scan,
    aim: Aim,
    effort: Effort,
    rng: np.random.Generator,
    strain: Strain,
    tell: _Told,
) -> None:
    def step() -> None:
        tell(min(tell.done + effort.population, tell.total - 1), "looking closely")

    for number in promising(scan, aim, effort.recipes):
        if strain.is_over:
            return
        refine_recipe(recipes, number, scan, aim, (effort.population, effort.generations), rng, strain, step)
