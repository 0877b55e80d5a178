"""The finalists in every draw of what is believed: which stand, which are proposed, which no other beats."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace
from itertools import islice
from typing import Final

import numpy as np

from strikeproof.design.choosing import APART, counted_gain, find_front, pick_apart, sure_gains, worth
from strikeproof.design.judging import REASONS, Draft, Results, Strain, find_broken, run_worlds
from strikeproof.design.plans import Plan
from strikeproof.design.records import Found, Search, Worlds
from strikeproof.design.refining import first_different, rank_kept, rank_near
from strikeproof.design.scanning import Aim, Judged, Scan
from strikeproof.parts import margins_at
from strikeproof.quantity import FloatArray

__all__ = ["BEYOND", "Names", "finish_search", "places_beyond"]

BEYOND: Final = 0.95
"""Share of the draws whose peak an article must stand."""
_BATCHES: Final = 4
_CLOSER: Final = 0.05
"""Log size apart when too few are a fifth apart."""
_FEW: Final = 3


@dataclass(frozen=True, slots=True, eq=False)
class _Final:
    """A finalist: what it is, what was found of it, the first limit that it breaks, if any, its sure gain."""

    draft: Draft
    found: Found
    broken: str | None
    gain: float


def places_beyond(results: Results) -> tuple[FloatArray, ...]:
    """The same in the joint of each limit, (limits,) of each article. [N·m]"""
    return tuple(np.quantile(each, BEYOND, axis=0).max(axis=0) for each in results.places)


def finish_search(scan: Scan, aim: Aim, worlds: Worlds, front: int, strain: Strain) -> Search:
    """Judge the finalists in all draws, and choose among them; of a search that is over only the best.

    `refused` counts the finalists alone.

    Parameters
    ----------
    scan
        Everything that was looked at, with what it does in a panel.
    aim
        What an article is judged by.
    worlds
        All draws.
    front
        Articles of the front that are judged beside the proposals.
    strain
        How articles are run; a cancelled one is finished with few.

    References
    ----------
    docs/design.md.
    """
    over = strain.is_over
    exact = replace(strain, rough=False, scatter=True, cancelled=None)
    kept = rank_kept(scan, aim)
    wanted = aim.brief.proposals
    finals: list[_Final] = []
    for apart in (APART, _CLOSER):
        rivals = first_different(kept, _BATCHES * 2 * wanted, apart)
        if not over and apart == APART:
            rivals = [*rivals[: 2 * wanted], *_spread_front(kept, aim, front), *rivals[2 * wanted :]]
        size = wanted if over else 2 * wanted + front
        finals += _in_batches(rivals, size, finals, aim, worlds, exact, apart, once=over)
        if over or len(_propose(finals, aim, apart)) >= min(_FEW, wanted):
            break
    if not _standing(finals) and not over:
        # The way to the draws is that of others; a near miss may stand when it is judged by its own.
        near = first_different(rank_near(scan, aim), 2 * wanted, _CLOSER)
        finals += _in_batches(near, 2 * wanted, finals, aim, worlds, exact, _CLOSER, once=True)
    return Search(
        tuple(each.found for each in _propose(finals, aim, apart)),
        tuple(each.found for each in _front(finals)),
        scan.searched,
        Counter(REASONS[each.broken] for each in finals if each.broken),
        not over,
    )


def _in_batches(
    rivals: Sequence[Judged],
    size: int,
    known: Sequence[_Final],
    aim: Aim,
    worlds: Worlds,
    strain: Strain,
    apart: float,
    *,
    once: bool,
) -> list[_Final]:
    """Finalists judged until enough of them stand."""
    seen = {id(each.draft) for each in known}
    names = Names.beside(aim.brief.built, ((each.draft.plan, each.found.name) for each in known))
    new = [each for each in dict.fromkeys(rivals) if id(each.draft) not in seen]
    found: list[_Final] = []
    for start in range(0, len(new), max(size, 1)):
        batch = [each.draft for each in new[start : start + size]]
        found += _judge_finals(batch, names, aim, worlds, strain)
        if once or len(_propose([*known, *found], aim, apart)) >= aim.brief.proposals:
            break
    return found


def _judge_finals(
    drafts: Sequence[Draft], names: Names, aim: Aim, worlds: Worlds, strain: Strain
) -> list[_Final]:
    results = run_worlds([each.model for each in drafts], worlds.draws, strain)
    rows = zip(drafts, results.gains, results.peaks, places_beyond(results), strict=True)
    return [_judge_final(draft, names, aim, gains, peaks, places) for draft, gains, peaks, places in rows]


def _judge_final(
    draft: Draft, names: Names, aim: Aim, gains: FloatArray, peaks: FloatArray, places: FloatArray
) -> _Final:
    middle = counted_gain(aim.brief, np.median(gains, axis=0), aim.strongest)
    margins = margins_at(draft.properties, places.tolist())
    broken = find_broken(aim.brief, margins, middle)
    sure = counted_gain(aim.brief, sure_gains(gains), aim.strongest)
    name = names.give(draft.plan)
    peak = float(np.quantile(peaks, BEYOND, axis=0).max())
    table = {**draft.table, "name": name}
    properties = replace(draft.properties, name=name)
    found = Found(name, draft.plan.words, draft.plan.stock, table, properties, gains, peaks, margins, peak)
    return _Final(draft, found, next((each for each in REASONS if each in broken), None), sure)


def _standing(finals: Iterable[_Final]) -> list[_Final]:
    return [each for each in finals if each.broken is None]


def _propose(finals: Sequence[_Final], aim: Aim, apart: float) -> list[_Final]:
    """The best that stand and differ, the best first."""
    ranked = sorted(_standing(finals), key=lambda each: -worth(aim.brief, each.draft.properties, each.gain))
    picked = pick_apart(ranked, lambda each: each.draft.recipe.kind, lambda each: each.draft.size, apart)
    return list(islice(picked, aim.brief.proposals))


def _prices(drafts: Sequence[Draft], gains: Sequence[float]) -> FloatArray:
    """What is to be small: lost gain, mass, price and diameter, (n, 4)."""
    known = [each.properties for each in drafts]
    rows = [
        (-gain, each.mass, each.price or 0.0, each.outer_diameter or 0.0)
        for each, gain in zip(known, gains, strict=True)
    ]
    return np.array(rows).reshape(-1, 4)


def _front(finals: Sequence[_Final]) -> list[_Final]:
    """Those that stand and that none beats in everything, by falling gain."""
    standing = _standing(finals)
    free = find_front(_prices([each.draft for each in standing], [each.gain for each in standing]))
    kept = [each for each, best in zip(standing, free, strict=True) if best]
    return sorted(kept, key=lambda each: -each.gain)


def _spread_front(kept: Sequence[Judged], aim: Aim, count: int) -> list[Judged]:
    """So many of the front in the middle world, far from each other: each the farthest from those before."""
    if not kept or count < 1:
        return []
    gains = [each.gain(aim) for each in kept]
    values = _prices([each.draft for each in kept], gains)
    free = np.flatnonzero(find_front(values))
    scale = np.ptp(values[free], axis=0)
    points = (values[free] - values[free].min(axis=0)) / np.where(scale > 0, scale, 1.0)
    chosen = [int(np.argmin(points[:, 0]))]
    away = np.linalg.norm(points - points[chosen[0]], axis=1)
    while len(chosen) < min(count, len(free)) and away.max() > 0:
        chosen.append(int(np.argmax(away)))
        away = np.minimum(away, np.linalg.norm(points - points[chosen[-1]], axis=1))
    return [kept[int(free[i])] for i in chosen]


@dataclass(slots=True)
class Names:
    """Names that are taken, and the articles that have them."""

    taken: set[str]
    _alike: dict[str, list[tuple[str, ...]]] = field(default_factory=dict)

    @classmethod
    def beside(cls, built: Iterable[str], known: Iterable[tuple[Plan, str]]) -> Names:
        """Beside articles that exist, and plans that have their names already."""
        names = cls(set(built))
        for plan, name in known:
            names.taken.add(name)
            names._alike.setdefault(plan.title, []).append(plan.details)
        return names

    def give(self, plan: Plan) -> str:
        """A name for a plan: its title, with what sets it apart from others of that title.

        Only what is alike in everything, or built already under that name, is numbered.
        """
        twins = self._alike.setdefault(plan.title, [])
        own = plan.title
        if twins:
            rows = zip(plan.details, zip(*twins, strict=False), strict=False)
            apart = [detail for detail, others in rows if detail and detail not in others]
            own = " ".join((own, *(apart[:1] or filter(None, plan.details))))
        tries = (own, *(f"{own} ({number})" for number in range(2, len(self.taken) + 3)))
        name = next(each for each in tries if each not in self.taken)
        twins.append(plan.details)
        self.taken.add(name)
        return name
