"""What every plan, sheet and page of results says before anything else."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from typing import Final

__all__ = ["CAUTIONS", "LESS_MARGIN", "OwnCaution", "Stop", "plan_cautions", "rig_cautions"]


class Stop(str):
    """A caution that says not to go on. Its kind says so, for nothing may depend on how a text begins."""

    __slots__ = ()


class OwnCaution(str):
    """A caution that only some articles need, for what they are made of or how they are held."""

    __slots__ = ()


CAUTIONS: Final = (
    "Impact tests break bolts and sockets: wear eye, ear and hand protection and keep others away.",
    "Use impact-rated sockets, adapters and extensions only; look for cracks before each block.",
    "Guard the rig against flying pieces and stand clear of the bolt's axis.",
    "Keep the air pressure or the battery at the tool's rating.",
    "Brace the tool against its reaction torque, in a frame or with both hands: it kicks when a blow "
    "is not taken.",
    "Shut off and vent the air, or take the battery out, before a socket or bolt is changed.",
    "Keep the bolt's clamp load below its proof load; take a new bolt when it has been near yield.",
    "Bench results are no assembly instruction: what carries people is tightened last with a calibrated "
    "torque wrench, to the maker's value.",
    "Local codes, the makers' instructions and licensed practice come before anything on this page.",
)

LESS_MARGIN: Final = (
    "That leaves less for what is not known: friction, the material, a weld, a harder blow. A part that "
    "gives way throws pieces. Prove it behind a guard, the tool fixed and triggered from a distance."
)

_LOUD: Final = 100.0
"""Noise of an impact wrench at the ear while it hammers: estimate, no source. [dB(A)]"""
_SHAKING: Final = 10.0
"""Hand-arm vibration of one while it hammers: estimate, no source. [m/s²]"""
_DAY: Final = 8 * 3600.0
_NOISE: Final = ((80.0, "lower action value"), (85.0, "upper action value"), (87.0, "limit"))
"""Of the daily level: Directive 2003/10/EC, art. 3. The limit alone counts what ear protection takes off
(art. 3(2)), which nobody states here: the figure is without it. [dB(A)]"""
_VIBRATION: Final = ((2.5, "action value"), (5.0, "limit"))
"""Of A(8): Directive 2002/44/EC, art. 3. [m/s²]"""


def plan_cautions(runs: int, duration: float, mechanisms: Iterable[str | None]) -> tuple[str, ...]:
    """What a plan of so many runs of so long asks for: hose or battery, and a day's noise and vibration.

    Parameters
    ----------
    duration
        Of one run. [s]
    mechanisms
        Of the tools.
    """
    air = any(each in ("air", "oil-pulse") for each in mechanisms)
    return (*([_HOSE] if air else []), *_exposure(runs * duration))


_HOSE: Final = (
    "Secure the hose against whipping, with a restraint at each joint and a coupling that vents, and "
    "let nobody "
    "stand over it."
)


def _exposure(hammering: float) -> Iterator[str]:
    """A day's exposure if all of it is hammered in one day, where it reaches a value of the directives.

    L_EX,8h = L + 10 lg(T/8 h) and A(8) = a √(T/8 h). The figure that is shown is the one that is judged.
    """
    if hammering <= 0.0:
        return
    level = _LOUD + 10.0 * math.log10(hammering / _DAY)
    shaking = _SHAKING * math.sqrt(hammering / _DAY)
    passed = [
        f"about {shown:.1f} {unit} over 8 h{worn} ({_passed(shown, limits)} {unit})"
        for shown, unit, worn, limits in (
            (round(level, 1), "dB(A)", " without protection", _NOISE),
            (round(shaking, 1), "m/s²", "", _VIBRATION),
        )
        if shown >= limits[0][0]
    ]
    if passed:
        yield (
            f"{hammering / 60.0:.3g} min of hammering in one day is {' and '.join(passed)}: an estimate from "
            f"{_LOUD:.0f} dB(A) at the ear and {_SHAKING:.0f} m/s² at the hand. Take the maker's "
            "declared values, wear "
            "ear protection, share the runs out or spread them over days."
        )


def _passed(value: float, limits: tuple[tuple[float, str], ...]) -> str:
    """The highest value of a directive that is reached, such as "upper action value 85"."""
    reached, name = max(each for each in limits if value >= each[0])
    return f"{name} {reached:g}"


def rig_cautions(
    article: str, supply: str | None, rated: str | None, *, is_changed: bool, is_above: bool = False
) -> tuple[str, ...]:
    """What to look at before the next run: cracks where the article changes, the supply, whose word counts.

    Parameters
    ----------
    is_changed
        Whether the article was not the one of the run before, or nothing was run since the start.
    is_above
        Whether the supply is above the tool's rating: then nothing asks for it.
    """
    told = []
    if is_changed:
        told.append(f"Look for cracks in {article}, its square and hexagon.")
    if supply is None:
        told.append("Supply never above the tool's rating.")
    elif is_above:
        most = f", {rated}" if rated else ""
        told.append(f"Supply at most the tool's rating{most}, whatever the plan says.")
    elif rated is None:
        told.append(f"Supply {supply}, never above the tool's rating.")
    else:
        told.append(f"Supply {supply}; the tool is rated for {rated}.")
    if is_changed:
        told.append("Local codes and licensed practice come first.")
    return tuple(told)
