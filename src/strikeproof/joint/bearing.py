"""The ring on which a bolt head turns: how large it is and at which diameter its friction acts."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from strikeproof.errors import BadInput
from strikeproof.joint.threads import Thread

__all__ = ["Bearing", "bearing_of", "has_standard_head", "usual_head"]

# Nominal diameter -> (width across flats of a hexagon head, its bearing face, clearance hole). [mm]
# Width: s of ISO 4014 as of ISO 272 (M12, M16, M20, M24, M30 and M36 checked, others from memory).
# Face: smallest dw of ISO 4014, grade A to M24 and B above (M12 to M24 as VDI 2230-1 uses them; others from
# memory). Hole: ISO 273, medium (from memory).
_HEXAGON_MM: dict[float, tuple[float, float, float]] = {
    4: (7, 5.88, 4.5),
    5: (8, 6.88, 5.5),
    6: (10, 8.88, 6.6),
    8: (13, 11.63, 9.0),
    10: (16, 14.63, 11.0),
    12: (18, 16.63, 13.5),
    14: (21, 19.64, 15.5),
    16: (24, 22.49, 17.5),
    18: (27, 25.34, 20.0),
    20: (30, 28.19, 22.0),
    22: (34, 31.71, 24.0),
    24: (36, 33.61, 26.0),
    27: (41, 38.0, 30.0),
    30: (46, 42.75, 33.0),
    33: (50, 46.55, 36.0),
    36: (55, 51.11, 39.0),
    39: (60, 55.86, 42.0),
    42: (65, 59.95, 45.0),
    45: (70, 64.7, 48.0),
    48: (75, 69.45, 52.0),
    52: (80, 74.2, 56.0),
    56: (85, 78.66, 62.0),
    60: (90, 83.41, 66.0),
    64: (95, 88.16, 70.0),
}


@dataclass(frozen=True, slots=True)
class Bearing:
    """The ring under a head or nut.

    Parameters
    ----------
    outer, inner
        Diameters of the ring that touches, outer > inner >= 0. [m]
    rule
        Where its friction acts: at the "mean" of the two (ISO 16047, VDI 2230-1) or, for even pressure, at
        the diameter of an "annulus" (JIS B 1083).

    Raises
    ------
    BadInput
        If the ring has no width.
    """

    outer: float
    inner: float
    rule: Literal["mean", "annulus"] = "mean"

    def __post_init__(self) -> None:
        if not 0 <= self.inner < self.outer:
            raise BadInput(
                f"a ring from {self.inner * 1e3:g} to {self.outer * 1e3:g} mm has no width",
                where="bearing face",
                allowed="0 <= inner < outer",
                fix="give an outer diameter larger than the hole",
            )

    @property
    def friction_diameter(self) -> float:
        """Diameter at which friction under the head acts: Db of ISO 16047, Dw of JIS B 1083. [m]"""
        if self.rule == "mean":
            return (self.outer + self.inner) / 2
        return 2 / 3 * (self.outer**3 - self.inner**3) / (self.outer**2 - self.inner**2)


def bearing_of(thread: Thread) -> Bearing:
    """The ring under the usual hexagon head of `thread`.

    Metric sizes of ISO 4014 take its washer face over a medium hole of ISO 273. All others, inch among them,
    take a face of 1.5 d over a hole of d, which puts friction at Shigley's mean collar diameter of 1.25 d
    (*Mechanical Engineering Design*, 9th ed., eq. 8-26).
    """
    row = _tabulated(thread)
    if row is None:
        return Bearing(1.5 * thread.diameter, thread.diameter)
    _flats, face, hole = row
    return Bearing(face * 1e-3, hole * 1e-3)


def has_standard_head(thread: Thread) -> bool:
    """Whether `bearing_of` takes tabulated dimensions rather than a rule of thumb."""
    return _tabulated(thread) is not None


def usual_head(thread: Thread) -> float | None:
    """Width across flats of the hexagon head of ISO 4014; None for a thread without one. [m]"""
    row = _tabulated(thread)
    return None if row is None else row[0] * 1e-3


def _tabulated(thread: Thread) -> tuple[float, float, float] | None:
    size = round(thread.diameter * 1e3, 6)
    return _HEXAGON_MM.get(size) if thread.system == "metric" else None
