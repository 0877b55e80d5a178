"""Articles judged in a panel of worlds, and the wide look: articles spread evenly over every recipe."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from typing import Final

import numpy as np

from strikeproof.design.choosing import counted_gain, worth
from strikeproof.design.judging import (
    REASONS,
    Draft,
    Strain,
    draft_article,
    excess,
    find_broken,
    run_worlds,
)
from strikeproof.design.plans import Recipe
from strikeproof.design.records import Brief, World
from strikeproof.parts import Margin, margins_at
from strikeproof.quantity import BoolArray, FloatArray

__all__ = [
    "Aim",
    "Allowance",
    "Hunt",
    "Judged",
    "Place",
    "Scan",
    "judge_places",
    "on_bonds",
    "run_panel",
    "scan_recipes",
    "spread_points",
]

_CHUNK: Final = 256
_BROKEN: Final = 1e3
_IMPOSSIBLE: Final = 1e4

Place = tuple[int, tuple[int, ...]]
"""A recipe by its number, and its values in steps."""


@dataclass(frozen=True, slots=True)
class Allowance:
    """From a panel of worlds to all draws.

    Parameters
    ----------
    path, bond
        The peaks that an article must withstand over those in the panel: on its path, at a rider's bond.
    gain : (tools,)
        Mean log gain over the draws, less the mean in the panel.
    """

    path: float
    bond: float
    gain: FloatArray

    def raise_peaks(self, draft: Draft, peaks: FloatArray) -> FloatArray:
        """From peaks in a panel, (limits,), to those that an article must withstand. [N·m]

        Parameters
        ----------
        draft
            Says which limits are a rider's bond.
        peaks : (limits,)
            Means over the panel. [N·m]
        """
        return np.where(on_bonds(draft), self.bond, self.path) * peaks


def on_bonds(draft: Draft) -> BoolArray:
    """Which of its limits are those of a rider's bond, (limits,)."""
    return np.array([isinstance(each.joints, str) for each in draft.properties.checks], dtype=np.bool_)


@dataclass(frozen=True, slots=True)
class Aim:
    """What an article is judged by: brief, panel of worlds, the way to all draws, the strongest tool."""

    brief: Brief
    panel: tuple[World, ...]
    allowance: Allowance
    strongest: int

    def cost(self, judged: Judged | None) -> float:
        """Less is better; what breaks a limit comes after all that keep it, the nearest first."""
        if judged is None:
            return _IMPOSSIBLE
        broken = judged.broken(self)
        if judged.gains is None or broken:
            # What was not run may break more.
            far = sum(min(each, 5.0) for each in broken.values())
            return _BROKEN * (2.0 if judged.gains is None else 1.0) + far
        return -judged.worth(self)


@dataclass(frozen=True, slots=True, eq=False)
class Judged:
    """An article that was worked out.

    Parameters
    ----------
    draft
        What it is.
    cheap
        Limits without physics that it breaks, and by how much.
    gains, peaks
        Means over the panel: log gains, (tools,), and the largest torque with any tool in the joint of each
        of its limits, (limits,); None where it was not run. [1, N·m]
    """

    draft: Draft
    cheap: dict[str, float]
    gains: FloatArray | None = None
    peaks: FloatArray | None = None

    def margins(self, allowance: Allowance) -> tuple[Margin, ...]:
        """At the peaks that it must withstand."""
        if self.peaks is None or not self.peaks.any():
            return ()
        return margins_at(self.draft.properties, allowance.raise_peaks(self.draft, self.peaks).tolist())

    def broken(self, aim: Aim) -> dict[str, float]:
        """All limits that it breaks, by key of `REASONS`: log of value over limit."""
        if self.gains is None:
            return self.cheap
        return self.cheap | find_broken(aim.brief, self.margins(aim.allowance), self.gain(aim))

    def keeps(self, aim: Aim) -> bool:
        """Whether it was run and breaks nothing."""
        return self.gains is not None and not self.broken(aim)

    def gain(self, aim: Aim) -> float:
        """The log gain that counts; minus infinity where it was not run."""
        if self.gains is None:
            return -math.inf
        return counted_gain(aim.brief, self.gains + aim.allowance.gain, aim.strongest)

    def worth(self, aim: Aim) -> float:
        """What the objective makes of it, whatever it breaks."""
        return worth(aim.brief, self.draft.properties, self.gain(aim))


@dataclass(slots=True)
class Scan:
    """Everything that was looked at: the judged by their places, and those that cannot be made."""

    judged: dict[Place, Judged] = field(default_factory=dict)
    impossible: set[Place] = field(default_factory=set)

    @property
    def searched(self) -> int:
        """How many articles."""
        return len(self.judged) + len(self.impossible)

    def without(self, other: Scan) -> Scan:
        """What the other did not look at."""
        left = {place: each for place, each in self.judged.items() if place not in other.judged}
        return Scan(left, self.impossible - other.impossible)

    def refused(self, aim: Aim) -> dict[str, int]:
        """How many broke which limit, each counted once under the first one, by the words of `REASONS`."""
        counts = Counter({"geometry": len(self.impossible)})
        for each in self.judged.values():
            broken = each.broken(aim)
            counts.update([first for first in REASONS if first in broken][:1])
        return {words: counts[key] for key, words in REASONS.items() if counts[key]}


@dataclass(frozen=True, slots=True)
class Hunt:
    """A search as it goes on: recipes, what was looked at, what it is judged by, how articles are run."""

    recipes: Sequence[Recipe]
    scan: Scan
    aim: Aim
    strain: Strain


def spread_points(recipes: Sequence[Recipe], size: int, rng: np.random.Generator) -> list[Place]:
    """So many different places, evenly over all recipes; fewer where there are no more.

    A scrambled Sobol sequence for every recipe.

    Parameters
    ----------
    recipes
        At least one.
    size
        Places in all.
    rng
        Scrambles the sequences.

    References
    ----------
    Scrambled as in Matoušek, J. Complexity 14 (1998) 527 (from memory).
    """
    rooms = [min(math.prod(each.counts), 10**9) for each in recipes]
    shares = _share_out(size, rooms)
    found: list[Place] = []
    for number, (recipe, share, room) in enumerate(zip(recipes, shares, rooms, strict=True)):
        found += [(number, places) for places in _places(recipe, share, room, rng)]
    return found


def _share_out(size: int, rooms: Sequence[int]) -> list[int]:
    """Equal shares, and what small rooms leave to the others."""
    shares = [0] * len(rooms)
    left = size
    for count, i in enumerate(sorted(range(len(rooms)), key=lambda each: rooms[each])):
        shares[i] = min(rooms[i], left // (len(rooms) - count))
        left -= shares[i]
    return shares


def _places(recipe: Recipe, share: int, room: int, rng: np.random.Generator) -> list[tuple[int, ...]]:
    from scipy.stats import qmc  # half a second that only a search should pay

    sobol = qmc.Sobol(len(recipe.variables), rng=rng)
    if 2 * share >= room:
        every = list(np.ndindex(*recipe.counts))
        return [every[i] for i in sorted(rng.permutation(len(every))[:share].tolist())]
    found: dict[tuple[int, ...], None] = {}
    power = max(1, math.ceil(math.log2(max(share, 2))))
    for more in range(4):
        points = sobol.random_base2(power + max(more - 1, 0))
        found |= dict.fromkeys(tuple(row) for row in recipe.places(points).astype(int).tolist())
        if len(found) >= share:
            break
    return list(found)[:share]


def judge_places(hunt: Hunt, places: Sequence[Place]) -> None:
    """Judge what was not judged yet, into the scan."""
    brief, scan = hunt.aim.brief, hunt.scan
    new = [each for each in dict.fromkeys(places) if each not in scan.judged and each not in scan.impossible]
    ready: dict[Place, Judged] = {}
    for place in new:
        draft = draft_article(brief, hunt.recipes[place[0]], place[1])
        if draft is None:
            scan.impossible.add(place)
        else:
            ready[place] = Judged(draft, excess(brief, draft))
    scan.judged |= ready
    scan.judged |= run_panel({k: v for k, v in ready.items() if not v.cheap}, hunt.aim.panel, hunt.strain)


def run_panel(waiting: dict[Place, Judged], panel: Sequence[World], strain: Strain) -> dict[Place, Judged]:
    """Simulate articles in a panel of possible benches (worlds).

    Parameters
    ----------
    waiting
        By place; what was cut short or cannot be run is left out of what comes back.
    panel
        At least one world.
    strain
        How articles are run.
    """
    if not waiting:
        return {}
    found = run_worlds([each.draft.model for each in waiting.values()], panel, strain)
    rows = zip(waiting.items(), found.gains.mean(axis=1), found.places, strict=True)
    return {
        place: replace(each, gains=gains, peaks=peaks.max(axis=1).mean(axis=0))
        for (place, each), gains, peaks in rows
        if np.isfinite(gains).all()
    }


def scan_recipes(
    hunt: Hunt, size: int, rng: np.random.Generator, progress: Callable[[int], None] = lambda done: None
) -> None:
    """Judge `size` articles spread over all recipes, into the scan; ends early when cancelled.

    Parameters
    ----------
    hunt
        With at least one recipe; its scan grows.
    size
        Places in all.
    rng
        The only source of chance.
    progress
        Called with the places done.
    """
    places = spread_points(hunt.recipes, size, rng)
    for done, chunk in _chunks(places):
        if hunt.strain.is_over:
            return
        judge_places(hunt, chunk)
        progress(done)


def _chunks(places: Sequence[Place]) -> Iterator[tuple[int, Sequence[Place]]]:
    for start in range(0, len(places), _CHUNK):
        chunk = places[start : start + _CHUNK]
        yield start + len(chunk), chunk
