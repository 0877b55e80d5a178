"""When nothing keeps the brief: which limits clash, and the nearest brief that can be kept."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Final

import numpy as np

from strikeproof.design.choosing import counted_gain
from strikeproof.design.finishing import peak_beyond
from strikeproof.design.judging import Strain, find_broken, run_worlds, worst_margins
from strikeproof.design.records import Brief, Worlds
from strikeproof.design.refining import Aim
from strikeproof.design.scanning import Judged, Scan, run_middle
from strikeproof.errors import BadInput

__all__ = ["no_article"]

_TRIED: Final = 128
_EXACT: Final = 6


def no_article(scan: Scan, aim: Aim, worlds: Worlds) -> BadInput:
    """The error that says what clashes, with the smallest relaxation that was found."""
    near = _nearest(scan, aim, worlds)
    if near is None:
        return BadInput(
            "nothing can be built from its stock, bases and processes within its envelope",
            where=f"brief {aim.brief.name!r}",
            allowed="bar wider than the hexagon with turning, or a base with a ring that fits it",
            mend="offer more stock, or give the article more room",
        )
    judged, peak, gain = near
    broken = judged.cheap | find_broken(aim.brief, judged.draft, peak, gain)
    keys = [key for key in broken if math.isfinite(broken[key])]
    wanted = ", ".join(_mend(key, aim.brief, judged, peak, gain) for key in keys)
    return BadInput(
        f"no article of {scan.searched} keeps {_join(keys)} together with the other limits",
        where=f"brief {aim.brief.name!r}",
        allowed=f"the nearest that can be kept: {wanted}",
        mend=f"set {wanted}, or offer other stock; nearest is: {judged.draft.plan.words}",
    )


def _join(keys: list[str]) -> str:
    return " and ".join(keys)


def _nearest(scan: Scan, aim: Aim, worlds: Worlds) -> tuple[Judged, float, float] | None:
    """The article that asks for the smallest relaxation in all, its peak and its gain."""
    able = {
        place: each
        for place, each in scan.judged.items()
        if all(math.isfinite(value) for value in each.cheap.values())
    }
    ranked = sorted(able, key=lambda place: (sum(able[place].cheap.values()), place))[:_TRIED]
    unrun = {place: able[place] for place in ranked if able[place].gains is None}
    tried = [able[place] for place in ranked if able[place].gains is not None]
    tried += run_middle(unrun, worlds.middle, Strain(rough=True, scatter=False)).values()
    tried.sort(key=lambda each: _far(each.broken(aim.brief, aim.allowance, aim.strongest)))
    if not tried:
        return None
    exact = tried[:_EXACT]
    results = run_worlds([each.draft.model for each in exact], worlds.draws, Strain())
    gains = [counted_gain(aim.brief, row, aim.strongest) for row in np.median(results.gains, axis=1)]
    rows = list(zip(exact, peak_beyond(results).tolist(), gains, strict=True))
    return min(rows, key=lambda row: _far(row[0].cheap | find_broken(aim.brief, row[0].draft, *row[1:])))


def _far(broken: dict[str, float]) -> float:
    return sum(broken.values())


def _mend(key: str, brief: Brief, judged: Judged, peak: float, gain: float) -> str:
    """The limit as it would have to be, rounded to its safe side."""
    known = judged.draft.properties
    static, lasting = worst_margins(known, peak)
    values: dict[str, Callable[[], str]] = {
        "budget": lambda: f"{_up(known.price or 0.0, 2):g}",
        "largest_mass": lambda: f"{_up(known.mass, 3):g}",
        "least_margin": lambda: f"{_down(static, 2):g}",
        "least_fatigue_margin": lambda: f"{_down(lasting, 2):g}",
        "least_gain_percent": lambda: f"{_down(100.0 * math.expm1(gain), 1):g}",
    }
    name = "largest_mass_kg" if key == "largest_mass" else key
    return f"{name} = {values[key]()}"


def _up(value: float, digits: int) -> float:
    return float(math.ceil(value * 10.0**digits) / 10.0**digits)


def _down(value: float, digits: int) -> float:
    return float(math.floor(value * 10.0**digits) / 10.0**digits)
