"""How far each place of an article is from giving: what it withstands over the peak of its own joint."""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace
from typing import ClassVar, Final, Literal, TypeAlias

from strikeproof.errors import BadInput
from strikeproof.parts.life import CONSTANT, Life, Spectrum
from strikeproof.parts.properties import ArticleProperties, Check, Mode
from strikeproof.plain_json import shown_as

__all__ = ["Margin", "Verdict", "enough_blows", "least_margins", "limit_uncertainty", "margins_at"]

Verdict: TypeAlias = Literal["holds", "finite life", "stop"]

_ENDLESS: Final = 1e7
"""Blows at 90 % survival from which a place is said to hold: 140 hours at 20 blows a second."""
_ENDLESS_WELD: Final = 1e8
"""The same of a weld, whose line falls steeply up to there: EN 1993-1-9 (from memory)."""
_WALL_UNSURE: Final = 0.2
"""Share by which a wall's static limit may be off, from contact and friction: an estimate, no source."""
_NO_LOAD: Final = 1e-9
"""Means no torque at all, so that a margin stays a number. [N·m]"""


@dataclass(frozen=True, slots=True)
class Margin:
    """How far a place is from giving at the peak torque of its own joint.

    Parameters
    ----------
    part, mode
        The place, and what gives there.
    static
        Torque at first yield or slip over the peak; below 1 it is a stop.
    fatigue
        Torque at the knee of the life line over the peak, an estimate at 50 %; below 1 the place cracks soon,
        above it late. None without one.
    peak
        Largest torque in its joint. [N·m]
    blows_90, blows_50
        Blows that nine of ten and half of such places withstand before a crack; None without an estimate.
    """

    part: str
    mode: Mode
    static: float
    fatigue: float | None
    peak: float = field(metadata=shown_as("peak_torque_n_m"))
    blows_90: float | None = None
    blows_50: float | None = None
    JSON_ALSO: ClassVar = ("verdict", "static_uncertainty")

    @property
    def holds_to(self) -> float:
        """Torque at which it gives. [N·m]"""
        return self.static * self.peak

    @property
    def static_uncertainty(self) -> float | None:
        """How far the static margin may be off, as a share of it; None where no estimate was made."""
        return limit_uncertainty(self.mode)

    @property
    def sure(self) -> float:
        """Static margin at the low end of its uncertainty."""
        return self.static * (1 - (self.static_uncertainty or 0.0))

    @property
    def enough(self) -> float:
        """Blows at 90 % survival from which it is said to hold."""
        return enough_blows(self.mode)

    @property
    def verdict(self) -> Verdict:
        """In words."""
        if self.static < 1:
            return "stop"
        if self.fatigue is not None and self.fatigue < 1:
            return "finite life"
        return "finite life" if self.blows_90 is not None and self.blows_90 < self.enough else "holds"


def limit_uncertainty(mode: Mode) -> float | None:
    """Share by which the static limit of a place of a kind may be off; None where no estimate was made.

    Parameters
    ----------
    mode
        What gives there.
    """
    return _WALL_UNSURE if mode == "wall" else None


def enough_blows(mode: Mode) -> float:
    """Blows at 90 % survival from which a place of a kind is said to hold.

    Parameters
    ----------
    mode
        What gives there.
    """
    return _ENDLESS_WELD if mode == "weld" else _ENDLESS


def margins_at(
    properties: ArticleProperties, peaks: float | Sequence[float], spectrum: Spectrum = CONSTANT
) -> tuple[Margin, ...]:
    """The margin of every place, smallest first: one a part and mode, the worst of its places.

    Parameters
    ----------
    properties
        Of the article, with what each place withstands.
    peaks
        Peak torque in the joint of each of the article's checks, or one that all joints see. [N·m]
    spectrum
        How hard the blows of a run are against its hardest; all as hard when left out, on the safe side.

    Raises
    ------
    BadInput
        If a torque is not a number, or none is above zero.
    """
    checks = properties.checks
    loads = [peaks] * len(checks) if isinstance(peaks, float | int) else [float(each) for each in peaks]
    given = [peaks] if isinstance(peaks, float | int) else loads
    if not all(math.isfinite(each) and each >= 0 for each in given) or not max(given, default=1.0) > 0:
        raise BadInput(
            f"peak torque = {min(given):g} N·m",
            where="margins",
            allowed="above 0",
            fix="give the peak of a blow",
        )
    rows = zip(checks, loads, strict=True)
    return least_margins([[_margin(check, max(load, _NO_LOAD), spectrum) for check, load in rows]])


def least_margins(each: Iterable[Iterable[Margin]]) -> tuple[Margin, ...]:
    """Of several sets of margins the worst of every part and mode, smallest first.

    Parameters
    ----------
    each
        Sets of margins of the same article.
    """
    worst: dict[tuple[str, Mode], Margin] = {}
    for margin in itertools.chain.from_iterable(each):
        key = margin.part, margin.mode
        worst[key] = _worse(worst[key], margin) if key in worst else margin
    return tuple(sorted(worst.values(), key=lambda margin: margin.static))


def _margin(check: Check, peak: float, spectrum: Spectrum) -> Margin:
    lasting = None if check.endures_to is None else check.endures_to / peak
    static = check.holds_to / peak
    if not check.lives:
        return Margin(check.part, check.mode, static, lasting, peak)
    lives = [each.life(peak, spectrum) for each in check.lives] if static >= 1 else [Life(0.0, 0.0)]
    at_90, at_50 = min(each.at_90 for each in lives), min(each.at_50 for each in lives)
    return Margin(check.part, check.mode, static, lasting, peak, at_90, at_50)


def _worse(one: Margin, other: Margin) -> Margin:
    """The smaller static margin with its peak, and the smaller fatigue margin and life."""
    first = min(one, other, key=lambda margin: margin.static)
    both = one, other
    return replace(
        first,
        fatigue=_least(each.fatigue for each in both),
        blows_90=_least(each.blows_90 for each in both),
        blows_50=_least(each.blows_50 for each in both),
    )


def _least(values: Iterable[float | None]) -> float | None:
    return min((each for each in values if each is not None), default=None)
