"""The search: a wide scan, a close look at what is promising, and the finalists in many draws of belief.

On the way articles are ranked by their expected gain, the mean of the log gain over the draws: unlike a
median it sees that a heavier article may fall off an edge in some of them. The finalists are ranked by the
mean over the lower half of the draws. The gain that an objective looks at is that with
the strongest tool (the one that takes the reference highest), of "best over tools" the least of all tools.
The least gain is asked of the median, strength of each place at the peak of its own joint that the
hardest-hitting tool exceeds in one draw of twenty.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from strikeproof.design.clashes import find_clashes
from strikeproof.design.finishing import BEYOND, finish_search, places_beyond
from strikeproof.design.judging import Strain, reference_score, run_worlds
from strikeproof.design.recipes import list_recipes
from strikeproof.design.records import Brief, Cancelled, Progress, Search, World, Worlds
from strikeproof.design.refining import (
    best_places,
    first_different,
    polish_recipe,
    promising,
    rank_kept,
    rank_near,
    refine_recipe,
)
from strikeproof.design.relaxing import clash_error, find_ways, no_article
from strikeproof.design.scanning import (
    Aim,
    Allowance,
    Hunt,
    Judged,
    Scan,
    judge_places,
    on_bonds,
    scan_recipes,
)
from strikeproof.quantity import FloatArray
from strikeproof.team import ALONE, Team

__all__ = ["FULL", "QUICK", "Effort", "search_designs"]

_FIRST_PEAK: Final = 1.3
"""What blows that scatter and doubt about the tool add to a peak, as long as it is not known."""


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
    sweeps
        Most steps from the best of a recipe to a better one beside it.
    panel, again, finest
        Draws in which the best are looked at again, how many of them, and recipes whose best is stepped from
        there.
    front
        Articles of the front between gain, mass, price and diameter, beside the proposals.
    """

    scan: int
    recipes: int
    population: int
    generations: int
    probes: int
    sweeps: int
    panel: int
    again: int
    finest: int
    front: int


FULL: Final = Effort(
    scan=10_000,
    recipes=8,
    population=24,
    generations=16,
    probes=6,
    sweeps=8,
    panel=8,
    again=160,
    finest=4,
    front=16,
)
QUICK: Final = Effort(
    scan=1_500,
    recipes=5,
    population=16,
    generations=8,
    probes=4,
    sweeps=5,
    panel=6,
    again=64,
    finest=3,
    front=6,
)


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
    team: Team = ALONE,
    progress: Progress | None = None,
    cancelled: Cancelled | None = None,
) -> Search:
    """The best distinct articles that keep a brief, by its objective.

    Parameters
    ----------
    brief
        What is wanted, and within which limits.
    worlds
        What is believed of the bench.
    rng
        The only source of chance: the same state finds the same, whoever simulates.
    effort
        How many articles each stage looks at.
    team
        Threads, in which the engine's kernels run side by side, or the workers of a scheduler.
    progress
        Called with (done, total, what is being done).
    cancelled
        Asked now and then; True ends the search with what was found by then.

    Raises
    ------
    BadInput
        If no article keeps the brief: which limits conflict, and the nearest brief that can be met.

    References
    ----------
    docs/design.md.
    """
    if needs := find_clashes(brief):
        raise clash_error(brief, needs)
    recipes = list_recipes(brief)
    wide = Scan()
    strain = Strain(rough=True, scatter=False, team=team, cancelled=cancelled)
    first = _first_aim(brief, worlds)
    if not recipes:
        raise no_article(wide, first, ())
    look = (effort.generations + 2) * effort.population
    tell = _Told(effort.scan + (effort.recipes + effort.finest) * look + 1, progress)
    scan_recipes(Hunt(recipes, wide, first, strain), effort.scan, rng, lambda n: tell(n, "looking widely"))
    far = _calibrate(wide, first, worlds, effort.probes, strain)
    hunt = Hunt(recipes, wide, far, strain)
    _refine(hunt, effort, rng, tell)
    close, near = _look_again(hunt, worlds, effort)
    for number in promising(close, near, effort.finest):
        polish_recipe(Hunt(recipes, close, near, strain), number, effort.sweeps)
    near = _calibrate(close, near, worlds, effort.probes, strain)
    found = finish_search(*((close, near) if close.judged else (wide, far)), worlds, effort.front, strain)
    if not found.proposals and found.complete:
        # What was judged by the way of others may stand when it is judged by its own.
        ways = find_ways(wide, far, worlds)
        standing = [way.judged for way in ways if not way.broken]
        if not standing:
            raise no_article(wide, far, ways)
        few = Scan({(0, (place,)): each for place, each in enumerate(standing)})
        found = finish_search(few, far, worlds, 0, strain)
    tell(tell.total, "done")
    return _with_counts(found, (wide, far), (close, near))


def _with_counts(found: Search, wide: tuple[Scan, Aim], close: tuple[Scan, Aim]) -> Search:
    """With all that was looked at, each article once, as it was seen last."""
    refused = Counter(found.refused)
    rest = wide[0].without(close[0])
    for scan, aim in ((rest, wide[1]), close):
        refused.update(scan.refused(aim))
    return replace(found, searched=rest.searched + close[0].searched, refused=dict(refused))


def _look_again(hunt: Hunt, worlds: Worlds, effort: Effort) -> tuple[Scan, Aim]:
    """The best so far in a panel of draws: what is best in the middle of belief may stand at an edge."""
    close, aim, strain = Scan(), hunt.aim, hunt.strain
    if strain.is_over or not hunt.scan.judged:
        return close, aim
    aim = replace(aim, panel=_choose_panel(hunt.scan, aim, worlds, effort.panel, strain))
    again = replace(hunt, scan=close, aim=aim)
    judge_places(again, best_places(hunt.scan, hunt.aim, effort.again))
    return close, _calibrate(close, aim, worlds, effort.probes, strain)


def _choose_panel(wide: Scan, aim: Aim, worlds: Worlds, size: int, strain: Strain) -> tuple[World, ...]:
    """Draws from the gentlest to the one whose peak is exceeded in one draw of twenty, evenly by peak.

    With that one among them an article's largest peak in the panel is nearly the one it must stand.
    """
    best = (rank_kept(wide, aim) or rank_near(wide, aim))[:1]
    if not best:
        return worlds.draws[:size]
    found = run_worlds([best[0].draft.model], worlds.draws, replace(strain, cancelled=None))
    order = np.argsort(found.peaks[0].max(axis=1), kind="stable")
    places = np.linspace(0.05, BEYOND, size) * (len(order) - 1)
    return tuple(worlds.draws[order[i]] for i in dict.fromkeys(np.rint(places).astype(int).tolist()))


def _first_aim(brief: Brief, worlds: Worlds) -> Aim:
    tools = range(len(worlds.middle.tools))
    strongest = max(tools, key=lambda tool: reference_score(worlds.middle, tool))
    return Aim(brief, (worlds.middle,), Allowance(_FIRST_PEAK, _FIRST_PEAK, np.zeros(len(tools))), strongest)


def _calibrate(scan: Scan, aim: Aim, worlds: Worlds, probes: int, strain: Strain) -> Aim:
    """The way from the middle world to the draws, by a few of the best and most different articles."""
    chosen = first_different(rank_kept(scan, aim) or rank_near(scan, aim), probes)
    if not chosen:
        return aim
    exact = replace(strain, rough=False, scatter=True, cancelled=None)
    found = run_worlds([each.draft.model for each in chosen], worlds.draws, exact)
    before = np.array([each.gains for each in chosen])
    shift = np.median(found.gains.mean(axis=1) - before, axis=0)
    path, bond = _raises(chosen, places_beyond(found), aim.allowance)
    return replace(aim, allowance=Allowance(path, bond, np.asarray(shift)))


def _raises(chosen: Sequence[Judged], beyond: Sequence[FloatArray], before: Allowance) -> tuple[float, float]:
    """Median ratio of the peaks that articles must withstand to those in their panel: path and bonds."""
    bonds = np.concatenate([on_bonds(each.draft) for each in chosen])
    seen = np.concatenate([each.peaks for each in chosen if each.peaks is not None])
    ratio = np.concatenate(beyond) / np.maximum(seen, 1e-9)
    path = float(np.median(ratio[~bonds])) if (~bonds).any() else before.path
    return path, float(np.median(ratio[bonds])) if bonds.any() else path


def _refine(hunt: Hunt, effort: Effort, rng: np.random.Generator, tell: _Told) -> None:
    def step() -> None:
        tell(min(tell.done + effort.population, tell.total - 1), "looking closely")

    for number in promising(hunt.scan, hunt.aim, effort.recipes):
        if hunt.strain.is_over:
            return
        refine_recipe(hunt, number, (effort.population, effort.generations), rng, step)
        polish_recipe(hunt, number, effort.sweeps, step)
