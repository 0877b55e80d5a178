"""When nothing keeps the brief: which limits conflict, and the nearest brief that can be met."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from strikeproof.design.choosing import counted_gain
from strikeproof.design.finishing import places_beyond
from strikeproof.design.judging import REASONS, Strain, find_broken, find_weak, run_worlds, worst_margins
from strikeproof.design.limits import LIMITS, Reached
from strikeproof.design.records import Brief, Need, Worlds
from strikeproof.design.scanning import Aim, Judged, Scan, run_panel
from strikeproof.errors import BadInput
from strikeproof.parts import Margin, margins_at
from strikeproof.quantity import write_number

__all__ = [
    "NoArticle",
    "Strongest",
    "Way",
    "clash_error",
    "find_ways",
    "no_article",
    "offer",
    "too_weak",
]


@dataclass(frozen=True, slots=True)
class Strongest:
    """The strongest article of a search: of how many, and its weakest place."""

    searched: int
    weakest: Margin


class NoArticle(BadInput):
    """A search came back with empty hands; `changes` are limits that would let the nearest article through.

    They stand under the keys of a brief's file; empty where no change of limits is offered. `others` are keys
    of limits each of which would be enough alone, `strongest` is given where the strength alone is too small.
    """

    def __init__(
        self,
        what: str,
        *,
        where: str,
        allowed: str,
        fix: str,
        changes: Mapping[str, float],
        others: Sequence[str] = (),
        strongest: Strongest | None = None,
    ) -> None:
        super().__init__(what, where=where, allowed=allowed, fix=fix)
        self.changes = dict(changes)
        self.others = tuple(others)
        self.strongest = strongest


_STRONGER: Final = "stock of a stronger material or a thicker bar"
_TRIED: Final = 128
_EXACT: Final = 4
_SINGLE: Final = 2


def clash_error(brief: Brief, needs: Sequence[Need]) -> BadInput:
    """The error for limits that no article can keep, whatever is searched."""
    return BadInput(
        "; ".join(each.problem for each in needs),
        where=f"brief {brief.name!r}",
        allowed="limits that one article can meet together",
        fix="; ".join(dict.fromkeys(each.fix for each in needs)),
    )


def no_article(scan: Scan, aim: Aim, ways: Sequence[Way]) -> NoArticle:
    """The error that says what conflicts, and every way out by moving one limit, or the smallest by several.

    Parameters
    ----------
    scan
        How many were searched.
    aim
        The brief that no article meets.
    ways
        The nearest first, as `find_ways` gives them; none where nothing can be built.
    """
    if not ways:
        return NoArticle(
            "nothing can be built from its stock, bases and processes within its envelope",
            where=f"brief {aim.brief.name!r}",
            allowed="bar wider than the hexagon with turning, or a base with a ring that fits it",
            fix="offer more stock, or give the article more room",
            changes={},
        )
    weak = _broken_keys(ways) == ["least_margin"]
    best = max(ways, key=lambda way: way.static)
    return NoArticle(
        _say_why(ways, aim.brief, scan.searched),
        where=f"brief {aim.brief.name!r}",
        allowed=f"the nearest that can be met: {_tell(ways[0])}",
        fix=_fix_all(ways),
        changes=_enough(ways[0].moved),
        others=[key for way in ways[1:] for key in way.broken],
        strongest=Strongest(scan.searched, best.margins[0]) if weak else None,
    )


def _broken_keys(ways: Sequence[Way]) -> list[str]:
    return list(dict.fromkeys(key for way in ways for key in way.broken))


def offer(brief: Brief, first: NoArticle, last: NoArticle, changes: Mapping[str, float]) -> NoArticle:
    """The error for a brief with what was proven to be a way out.

    Parameters
    ----------
    brief
        As it was asked.
    first, last
        What the brief was refused with, and the nearest to it that was refused too.
    changes
        Limits with which a search found something; empty where none was found.
    """
    other = f"offer {_STRONGER if first.strongest else 'other stock'}"
    if not changes:
        keys = " and ".join(first.changes) or "other limits"
        return NoArticle(
            first.what,
            where=first.where,
            allowed="limits that one article meets together",
            fix=f"move {keys}, which a search has to show to be enough; or {other}"
            if first.changes
            else first.fix,
            changes={},
            strongest=first.strongest,
        )
    told = " and ".join(f"{key} = {value:.10g}" for key, value in changes.items())
    alone = [key for key in first.others if key not in changes]
    more = f"; or move {' or '.join(alone)} alone instead" if alone else ""
    strongest, static = last.strongest or first.strongest, changes.get("least_margin")
    return NoArticle(
        first.what
        if first.strongest is None or strongest is None or static is None
        else _say_strongest(brief, replace(strongest, weakest=replace(strongest.weakest, static=static))),
        where=first.where,
        allowed=f"the nearest brief that can be met, as a search showed: {told}",
        fix=f"set {told}{more}; or {other}",
        changes=changes,
        others=alone,
        strongest=strongest,
    )


def _fix_all(ways: Sequence[Way]) -> str:
    """Every way out; where one is other stock already, that is said once."""
    moved = ", or ".join(dict.fromkeys(_tell(way) for way in ways if not _asks_stock_alone(way)))
    offered = f"offer {_STRONGER if any(map(_asks_stock_alone, ways)) else 'other stock'}"
    return f"set {moved}; or {offered}" if moved else offered


def _say_why(ways: Sequence[Way], brief: Brief, searched: int) -> str:
    """The limits that no article meets; where it is strength alone, what the strongest withstands."""
    keys = _broken_keys(ways)
    if keys == ["least_margin"]:
        best = max(ways, key=lambda way: way.static)
        return _say_strongest(brief, Strongest(searched, best.margins[0]))
    return f"none of {searched} articles meets {' and '.join(keys)} with the other limits"


def _say_strongest(brief: Brief, strongest: Strongest) -> str:
    """In plain words, how much the strongest withstands of the peak that is believed."""
    weakest = strongest.weakest
    static, peak = weakest.static, weakest.peak
    wanted = max(brief.least_static, 1.0)
    limit = ", and what gives way at its peak is a stop" if static < 1.0 else ""
    return (
        f"the predicted peak is too high for all {strongest.searched} articles: the strongest that meets "
        f"the other limits must withstand {write_number(peak, 3)} N·m in {weakest.part} ({weakest.mode}) and "
        f"withstands it {LIMITS['least_margin'].round_off(static):g} times, not {wanted:g} times{limit}"
    )


def too_weak(brief: Brief, searched: int, rows: Sequence[Sequence[Margin]]) -> NoArticle:
    """The error for articles that keep a brief in the draws of a search, and none at its predicted peak.

    Parameters
    ----------
    brief
        Its margins.
    searched
        Articles that were looked at.
    rows
        The margins of each at the peaks that it must withstand.
    """
    margins = min(rows, key=lambda row: sum(find_weak(brief, row).values()))
    broken = find_weak(brief, margins)
    reached = Reached(None, *worst_margins(margins))
    changes = {key: value for key in broken if (value := LIMITS[key].enough(reached)) is not None}
    enough = " and ".join(f"{key} = {value:g}" for key, value in changes.items())
    return NoArticle(
        _say_strongest(brief, Strongest(searched, margins[0]))
        if "least_margin" in broken
        else f"none of {searched} articles meets {' and '.join(broken)} at its predicted peak",
        where=f"brief {brief.name!r}",
        allowed=f"the nearest that can be met: {enough or _STRONGER}",
        fix=f"set {enough}; or offer {_STRONGER}" if enough else f"offer {_STRONGER}",
        changes=changes,
        strongest=Strongest(searched, margins[0]) if "least_margin" in broken else None,
    )


def _enough(moved: Mapping[str, float | None]) -> dict[str, float]:
    """The limits as they would have to be; none where one of them cannot be moved far enough."""
    values = {key: value for key, value in moved.items() if value is not None}
    return values if len(values) == len(moved) else {}


@dataclass(frozen=True, slots=True)
class Way:
    """An article that a relaxed brief would let through: what it breaks, margins at its peaks, gain."""

    judged: Judged
    broken: dict[str, float]
    margins: tuple[Margin, ...]
    gain: float

    @property
    def static(self) -> float:
        """Smallest margin against yield or slip."""
        return worst_margins(self.margins)[0]

    @property
    def moved(self) -> dict[str, float | None]:
        """Limits that it breaks as they would have to be; None for one that must not be moved so far."""
        reached = Reached(self.judged.draft.properties, *worst_margins(self.margins), self.gain)
        return {key: LIMITS[key].enough(reached) for key in self.broken}

    @property
    def far(self) -> float:
        """How far the brief must be relaxed in all."""
        return sum(self.broken.values())


def find_ways(scan: Scan, aim: Aim, worlds: Worlds) -> list[Way]:
    """The nearest way in all, then the nearest by each single limit.

    Parameters
    ----------
    scan
        Every article that was tried.
    aim
        The brief that no article meets.
    worlds
        All draws: each way is judged in them.
    """
    tried = _try_near(scan, aim)
    chosen: dict[int, Judged] = {id(each): each for each, _ in tried[:_EXACT]}
    for key in REASONS:
        alone = [each for each, broken in tried if set(broken) == {key}]
        chosen |= {id(each): each for each in alone[:_SINGLE]}
    ways = sorted(_judge_exactly(list(chosen.values()), aim, worlds), key=lambda way: way.far)
    found = ways[:1]
    for key in REASONS:
        alone_exact = [way for way in ways if set(way.broken) == {key}]
        found += [way for way in alone_exact[:1] if way is not found[0]]
    return found


def _try_near(scan: Scan, aim: Aim) -> list[tuple[Judged, dict[str, float]]]:
    """Articles that break limits by least, with what they break by the panel, the nearest first."""
    able = {
        place: each
        for place, each in scan.judged.items()
        if all(math.isfinite(value) for value in each.cheap.values())
    }
    ranked = sorted(able, key=lambda place: (sum(able[place].cheap.values()), place))
    some = [place for place in ranked if able[place].gains is None][:_TRIED]
    run = run_panel({place: able[place] for place in some}, aim.panel, Strain(rough=True, scatter=False))
    tried = [each for each in able.values() if each.gains is not None] + list(run.values())
    rows = [(each, each.broken(aim)) for each in tried]

    def order(row: tuple[Judged, dict[str, float]]) -> tuple[float, float]:
        judged, broken = row  # of those that are as near, the strongest: all are about to be judged exactly
        return sum(broken.values()), -worst_margins(judged.margins(aim.allowance))[0]

    return sorted(rows, key=order)


def _judge_exactly(chosen: Sequence[Judged], aim: Aim, worlds: Worlds) -> list[Way]:
    if not chosen:
        return []
    results = run_worlds([each.draft.model for each in chosen], worlds.draws, Strain())
    gains = [counted_gain(aim.brief, row, aim.strongest) for row in np.median(results.gains, axis=1)]
    return [
        _judge_way(each, margins_at(each.draft.properties, places.tolist()), gain, aim)
        for each, places, gain in zip(chosen, places_beyond(results), gains, strict=True)
    ]


def _judge_way(judged: Judged, margins: tuple[Margin, ...], gain: float, aim: Aim) -> Way:
    return Way(judged, judged.cheap | find_broken(aim.brief, margins, gain), margins, gain)


def _asks_stock_alone(way: Way) -> bool:
    """Whether nothing that it breaks can be moved."""
    return all(value is None for value in way.moved.values())


def _tell(way: Way) -> str:
    return " and ".join(_say(key, value) for key, value in way.moved.items())


def _say(key: str, value: float | None) -> str:
    return _STRONGER if value is None else f"{key} = {value:g}"
