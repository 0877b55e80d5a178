"""When nothing keeps the brief: which limits clash, and the nearest brief that can be kept."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from strikeproof.design.choosing import counted_gain
from strikeproof.design.finishing import peak_beyond
from strikeproof.design.judging import REASONS, Strain, find_broken, run_worlds, worst_margins
from strikeproof.design.records import Brief, Need, Worlds
from strikeproof.design.refining import Aim
from strikeproof.design.scanning import Judged, Scan, run_panel
from strikeproof.errors import BadInput

__all__ = ["NoArticle", "clash_error", "no_article"]


class NoArticle(BadInput):
    """A search came back with empty hands; `changes` are limits that would let the nearest article through.

    They stand under the keys of a brief's file; empty where no change of limits is offered.
    """

    def __init__(
        self, what: str, *, where: str, allowed: str, mend: str, changes: Mapping[str, float]
    ) -> None:
        super().__init__(what, where=where, allowed=allowed, mend=mend)
        self.changes = dict(changes)


_TRIED: Final = 128
_EXACT: Final = 4
_SINGLE: Final = 2


def clash_error(brief: Brief, needs: Sequence[Need]) -> BadInput:
    """The error for limits that no article can keep, whatever is searched."""
    return BadInput(
        "; ".join(each.problem for each in needs),
        where=f"brief {brief.name!r}",
        allowed="limits that one article can keep together",
        mend="; ".join(dict.fromkeys(each.mend for each in needs)),
    )


def no_article(scan: Scan, aim: Aim, worlds: Worlds) -> NoArticle:
    """The error that says what clashes, and every way out by moving one limit, or the smallest by several."""
    ways = _find_ways(scan, aim, worlds)
    if not ways:
        return NoArticle(
            "nothing can be built from its stock, bases and processes within its envelope",
            where=f"brief {aim.brief.name!r}",
            allowed="bar wider than the hexagon with turning, or a base with a ring that fits it",
            mend="offer more stock, or give the article more room",
            changes={},
        )
    keys = list(dict.fromkeys(key for way in ways for key in way.broken))
    told = ", or ".join(_tell(way) for way in ways)
    return NoArticle(
        f"no article of {scan.searched} keeps {' and '.join(map(_key, keys))} with the other limits",
        where=f"brief {aim.brief.name!r}",
        allowed=f"the nearest that can be kept: {_tell(ways[0])}",
        mend=f"set {told}; or offer other stock",
        changes=_changes(ways[0]),
    )


def _changes(way: _Way) -> dict[str, float]:
    """The limits as they would have to be; none where one of them cannot be moved far enough."""
    values = {_key(key): _limit(key, way) for key in way.broken}
    return (
        {} if None in values.values() else {key: value for key, value in values.items() if value is not None}
    )


@dataclass(frozen=True, slots=True)
class _Way:
    """An article that a relaxed brief would let through: what it breaks, at its peak and gain."""

    judged: Judged
    broken: dict[str, float]
    peak: float
    gain: float

    @property
    def far(self) -> float:
        """How far the brief must be relaxed in all."""
        return sum(self.broken.values())


def _find_ways(scan: Scan, aim: Aim, worlds: Worlds) -> list[_Way]:
    """The nearest way in all, then the nearest by each single limit."""
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
    rows = [(each, each.broken(aim.brief, aim.allowance, aim.strongest)) for each in tried]
    return sorted(rows, key=lambda row: sum(row[1].values()))


def _judge_exactly(chosen: Sequence[Judged], aim: Aim, worlds: Worlds) -> list[_Way]:
    if not chosen:
        return []
    results = run_worlds([each.draft.model for each in chosen], worlds.draws, Strain())
    gains = [counted_gain(aim.brief, row, aim.strongest) for row in np.median(results.gains, axis=1)]
    rows = zip(chosen, peak_beyond(results).tolist(), gains, strict=True)
    return [
        _Way(each, each.cheap | find_broken(aim.brief, each.draft, peak, gain), peak, gain)
        for each, peak, gain in rows
    ]


def _key(key: str) -> str:
    return "largest_mass_kg" if key == "largest_mass" else key


def _tell(way: _Way) -> str:
    return " and ".join(_mend(key, way) for key in way.broken)


def _mend(key: str, way: _Way) -> str:
    value = _limit(key, way)
    return "stock of a stronger material" if value is None else f"{_key(key)} = {value:g}"


def _limit(key: str, way: _Way) -> float | None:
    """The limit as it would have to be, rounded to its safe side."""
    known = way.judged.draft.properties
    static, lasting = worst_margins(known, way.peak)
    if key == "least_margin" and static < 1.0:
        return None  # what gives at the peak is never a way out
    values: dict[str, Callable[[], float]] = {
        "budget": lambda: _up(known.price or 0.0, 2),
        "largest_mass": lambda: _up(known.mass, 3),
        "least_margin": lambda: _down(static, 2),
        "least_fatigue_margin": lambda: _down(lasting, 2),
        "least_gain_percent": lambda: _down(100.0 * math.expm1(way.gain), 1),
    }
    return values[key]()


def _up(value: float, digits: int) -> float:
    return float(math.ceil(value * 10.0**digits) / 10.0**digits)


def _down(value: float, digits: int) -> float:
    return float(math.floor(value * 10.0**digits) / 10.0**digits)
