"""What every plan, sheet and page of results says before anything else."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from typing import Final

from strikeproof.language import Said, say, write_figures

__all__ = ["CAUTIONS", "LESS_MARGIN", "OwnCaution", "Stop", "plan_cautions", "rig_cautions"]


class Stop(Said):
    """A caution that says not to go on. Its kind says so, for nothing may depend on how a text begins."""


class OwnCaution(Said):
    """A caution that only some articles need, for what they are made of or how they are held."""


CAUTIONS: Final = (
    say("Impact tests break bolts and sockets: wear eye, ear and hand protection and keep others away."),
    say("Use impact-rated sockets, adapters and extensions only; look for cracks before each block."),
    say("Guard the rig against flying pieces and stand clear of the bolt's axis."),
    say("Keep the air pressure or the battery at the tool's rating."),
    say(
        "Brace the tool against its reaction torque, in a frame or with both hands: it kicks when a blow "
        "is not taken."
    ),
    say("Shut off and vent the air, or take the battery out, before a socket or bolt is changed."),
    say("Keep the bolt's clamp load below its proof load; take a new bolt when it has been near yield."),
    say(
        "Bench results are no assembly instruction: what carries people is tightened last with a "
        "calibrated torque wrench, to the maker's value."
    ),
    say("Local codes, the makers' instructions and licensed practice come before anything on this page."),
)

LESS_MARGIN: Final = say(
    "That leaves less for what is not known: friction, the material, a weld, a harder blow. A part that "
    "gives way throws pieces. Prove it behind a guard, the tool fixed and triggered from a distance."
)

_LOUD: Final = 100.0
"""Noise of an impact wrench at the ear while it hammers: estimate, no source. [dB(A)]"""
_SHAKING: Final = 10.0
"""Hand-arm vibration of one while it hammers: estimate, no source. [m/s²]"""
_DAY: Final = 8 * 3600.0
_NOISE: Final = ((80.0, say("lower action value")), (85.0, say("upper action value")), (87.0, "limit"))
"""Of the daily level: Directive 2003/10/EC, art. 3. The limit alone counts what ear protection takes off
(art. 3(2)), which nobody states here: the figure is without it. [dB(A)]"""
_VIBRATION: Final = ((2.5, say("action value")), (5.0, "limit"))
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


_HOSE: Final = say(
    "Secure the hose against whipping, with a restraint at each joint and a coupling that vents, and let "
    "nobody stand over it."
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
        say(
            "about {shown} {unit} over 8 h{worn} ({passed} {unit})",
            shown=write_figures(f"{shown:.1f}"),
            unit=unit,
            worn=worn,
            passed=_passed(shown, limits),
        )
        for shown, unit, worn, limits in (
            (round(level, 1), "dB(A)", say(" without protection"), _NOISE),
            (round(shaking, 1), "m/s²", "", _VIBRATION),
        )
        if shown >= limits[0][0]
    ]
    if passed:
        yield (
            say(
                "{hammering} min of hammering in one day is {listed}: an estimate from {noise} dB(A) at the "
                "ear and {vibration} m/s² at the hand. Take the maker's declared values, wear ear "
                "protection, share the runs out or spread them over days.",
                hammering=write_figures(f"{hammering / 60.0:.3g}"),
                listed=" and ".join(passed),
                noise=write_figures(f"{_LOUD:.0f}"),
                vibration=write_figures(f"{_SHAKING:.0f}"),
            )
        )


def _passed(value: float, limits: tuple[tuple[float, str], ...]) -> str:
    """The highest value of a directive that is reached, such as "upper action value 85"."""
    reached, name = max(each for each in limits if value >= each[0])
    return f"{name} {reached:g}"


def rig_cautions(
    article: str, supply: str | None, rated: str | None, *, is_changed: bool, is_above: bool = False
) -> tuple[str, ...]:
    """What to look at before the next run: cracks, protection and supply where the article changes; a supply
    above the rating always. What is always on a screen is not read.

    Parameters
    ----------
    is_changed
        Whether the article was not the one of the run before, or nothing was run since the start.
    is_above
        Whether the supply is above the tool's rating: then nothing asks for it.
    """
    if not is_changed and not is_above:
        return ()
    told = []
    if is_changed:
        told.append(say("Look for cracks in {article}, its square and hexagon.", article=article))
    if supply is None:
        told.append(say("Supply never above the tool's rating."))
    elif is_above:
        most = f", {rated}" if rated else ""
        told.append(say("Supply at most the tool's rating{most}, whatever the plan says.", most=most))
    elif rated is None:
        told.append(say("Supply {supply}, never above the tool's rating.", supply=supply))
    else:
        told.append(say("Supply {supply}; the tool is rated for {rated}.", supply=supply, rated=rated))
    if is_changed:
        told.append(
            say(
                "Wear eye, ear and hand protection, use impact-rated parts, close the guard, and keep "
                "everybody "
                "out of line with the bolt."
            )
        )
        told.append(say("Local codes and licensed practice come first."))
    return tuple(told)
