"""When nothing keeps the brief: which limits clash, and the nearest brief that can be kept."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from strikeproof.design.choosing import counted_gain
from strikeproof.design.finishing import places_beyond
from strikeproof.design.judging import REASONS, Strain, find_broken, find_weak, run_worlds, worst_margins
from strikeproof.design.records import Brief, Need, Worlds
from strikeproof.design.refining import Aim
from strikeproof.design.scanning import Judged, Scan, run_panel
from strikeproof.errors import BadInput
from strikeproof.parts import Margin, margins_at
from strikeproof.quantity import write_number

__all__ = ["NoArticle", "clash_error", "no_article", "too_weak"]


class NoArticle(BadInput):
    """A search came back with empty hands; `changes` are limits that would let the nearest article through.

    They stand under the keys of a brief's file; empty where no change of limits is offered.
    """

    def __init__(
        self, what: str, *, where: str, allowed: str, mend: str, changes: Mapping[str, float]
    ) -> None:
        super().__init__(what, where=where, allowed=allowed, mend=mend)
        self.changes = dict(changes)


_STRONGER: Final = "stock of a stronger material or a thicker bar"
_FILE_KEYS: Final = {"largest_mass": "largest_mass_kg", "largest_inertia": "largest_inertia_kg_m2"}
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
    return NoArticle(
        _say_why(ways, aim.brief, scan.searched),
        where=f"brief {aim.brief.name!r}",
        allowed=f"the nearest that can be kept: {_tell(ways[0])}",
        mend=_mend_all(ways),
        changes=_changes(ways[0]),
    )


def _mend_all(ways: Sequence[_Way]) -> str:
    """Every way out; where one is other stock already, that is said once."""
    told = dict.fromkeys(_tell(way) for way in ways)
    moved = ", or ".join(each for each in told if each != _STRONGER)
    offered = f"offer {_STRONGER if _STRONGER in told else 'other stock'}"
    return f"set {moved}; or {offered}" if moved else offered


def _say_why(ways: Sequence[_Way], brief: Brief, searched: int) -> str:
    """Which limits nothing keeps; where it is the strength alone, what the strongest stands."""
    keys = list(dict.fromkeys(key for way in ways for key in way.broken))
    if keys == ["least_margin"]:
        best = max(ways, key=lambda way: way.static)
        return _say_strongest(brief, searched, best.margins)
    return f"no article of {searched} keeps {' and '.join(map(_key, keys))} with the other limits"


def _say_strongest(brief: Brief, searched: int, margins: Sequence[Margin]) -> str:
    """In plain words, how much the strongest withstands of the peak that is believed."""
    weakest = margins[0]
    static, peak = weakest.static, weakest.peak
    wanted = max(brief.least_static, 1.0)
    limit = ", and what gives way at its peak is a stop" if static < 1.0 else ""
    return (
        f"the believed peak is too high for all {searched} articles: the strongest that keeps the other "
        f"limits must withstand {write_number(peak, 3)} N·m in {weakest.part} ({weakest.mode}) and "
        f"withstands it {_down(static, 2):g} times, not {wanted:g} times{limit}"
    )


def too_weak(brief: Brief, searched: int, rows: Sequence[Sequence[Margin]]) -> NoArticle:
    """The error for articles that keep a brief in the draws of a search, and none at its foretold peak.

    Parameters
    ----------
    rows
        The margins of each at the peaks that it must withstand.
    """
    margins = min(rows, key=lambda row: sum(find_weak(brief, row).values()))
    broken = find_weak(brief, margins)
    static, lasting = worst_margins(margins)
    changes = {
        key: _down(value, 2)
        for key, value in (("least_margin", static), ("least_fatigue_margin", lasting))
        if key in broken and (key != "least_margin" or value >= 1.0)
    }
    enough = " and ".join(f"{key} = {value:g}" for key, value in changes.items())
    return NoArticle(
        _say_strongest(brief, searched, margins)
        if "least_margin" in broken
        else f"no article of {searched} keeps {' and '.join(broken)} at its foretold peak",
        where=f"brief {brief.name!r}",
        allowed=f"the nearest that can be kept: {enough or _STRONGER}",
        mend=f"set {enough}; or offer {_STRONGER}" if enough else f"offer {_STRONGER}",
        changes=changes,
    )


def _changes(way: _Way) -> dict[str, float]:
    """The limits as they would have to be; none where one of them cannot be moved far enough."""
    values = {_key(key): _limit(key, way) for key in way.broken}
    return (
        {} if None in values.values() else {key: value for key, value in values.items() if value is not None}
    )


@dataclass(frozen=True, slots=True)
class _Way:
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
    return [
        _judge_way(each, margins_at(each.draft.properties, places.tolist()), gain, aim)
        for each, places, gain in zip(chosen, places_beyond(results), gains, strict=True)
    ]


def _judge_way(judged: Judged, margins: tuple[Margin, ...], gain: float, aim: Aim) -> _Way:
    return _Way(judged, judged.cheap | find_broken(aim.brief, margins, gain), margins, gain)


def _key(key: str) -> str:
    return _FILE_KEYS.get(key, key)


def _tell(way: _Way) -> str:
    return " and ".join(_mend(key, way) for key in way.broken)


def _mend(key: str, way: _Way) -> str:
    value = _limit(key, way)
    return _STRONGER if value is None else f"{_key(key)} = {value:g}"


def _limit(key: str, way: _Way) -> float | None:
    """The limit as it would have to be, rounded to its safe side."""
    known = way.judged.draft.properties
    static, lasting = worst_margins(way.margins)
    if key == "least_margin" and static < 1.0:
        return None  # what gives at the peak is never a way out
    values: dict[str, Callable[[], float]] = {
        "budget": lambda: _up(known.price or 0.0, 2),
        "largest_mass": lambda: _up(known.mass, 3),
        "largest_inertia": lambda: _up(known.polar_inertia, 6),
        "least_margin": lambda: _down(static, 2),
        "least_fatigue_margin": lambda: _down(lasting, 2),
        "least_gain_percent": lambda: _down(100.0 * math.expm1(way.gain), 1),
    }
    return values[key]()


def _up(value: float, digits: int) -> float:
    return float(math.ceil(value * 10.0**digits) / 10.0**digits)


def _down(value: float, digits: int) -> float:
    return float(math.floor(value * 10.0**digits) / 10.0**digits)
