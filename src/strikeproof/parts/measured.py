"""Values measured on the article itself: scales, and the swing of a body hung on wires."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import Final

from strikeproof.errors import BadInput
from strikeproof.plain_json import shown_as

__all__ = ["STANDARD_GRAVITY", "Difference", "Measured", "Swing", "compare", "inertia_from_swing"]

STANDARD_GRAVITY: Final = 9.80665
"""[m/s²] ISO 80000-3; the local value differs by 0.3 % at most."""


@dataclass(frozen=True, slots=True)
class Measured:
    """A value with its standard uncertainty, None where none was stated."""

    value: float
    uncertainty: float | None = None


@dataclass(frozen=True, slots=True)
class Swing:
    """A body hung level on two or three parallel wires and swinging about its axis.

    Parameters
    ----------
    wires
        2 or 3, evenly spaced around the axis.
    period
        Of one full swing of small amplitude. [s]
    length
        Of a wire. [m]
    radius
        From the axis to a wire: half the spacing of two wires. [m]
    mass
        Of the body. [kg]
    platform_mass, platform_inertia
        Of what it lies on, 0 if nothing. [kg, kg·m²]
    gravity
        [m/s²]
    """

    wires: int
    period: Measured
    length: Measured
    radius: Measured
    mass: Measured
    platform_mass: Measured = Measured(0.0, 0.0)
    platform_inertia: Measured = Measured(0.0, 0.0)
    gravity: float = STANDARD_GRAVITY


def inertia_from_swing(swing: Swing) -> Measured:
    """Polar inertia of the body, with its standard uncertainty by the law of propagation. [kg·m²]

    I = (m + m_p) g r² T²/(4π² L) − I_p, the same for two wires and for three.

    Raises
    ------
    BadInput
        If the platform alone accounts for the whole swing.

    References
    ----------
    Small swings of the bifilar and trifilar pendulum: Den Hartog, J. P., *Mechanical Vibrations*, 4th ed.,
    ch. 2 (from memory). Propagation: JCGM 100:2008, eq. (10).
    """
    hung = swing.mass.value + swing.platform_mass.value
    whole = (
        hung
        * swing.gravity
        * (swing.radius.value * swing.period.value / (2 * math.pi)) ** 2
        / swing.length.value
    )
    inertia = whole - swing.platform_inertia.value
    if inertia <= 0:
        raise BadInput(
            f"the swing gives {whole:.3g} kg·m² and its platform has {swing.platform_inertia.value:.3g}",
            where="swing",
            allowed="a platform inertia below that of the whole swing",
            fix="check period, wire length and spacing",
        )
    shares = (
        whole / hung * math.hypot(_spread(swing.mass), _spread(swing.platform_mass)),
        2 * whole * _spread(swing.radius) / swing.radius.value,
        2 * whole * _spread(swing.period) / swing.period.value,
        whole * _spread(swing.length) / swing.length.value,
        _spread(swing.platform_inertia),
    )
    stated = any(
        each.uncertainty is not None for each in (swing.mass, swing.radius, swing.period, swing.length)
    )
    return Measured(inertia, math.hypot(*shares) if stated else None)


def _spread(measured: Measured) -> float:
    return measured.uncertainty or 0.0


@dataclass(frozen=True, slots=True)
class Difference:
    """A measured value beside the one computed from geometry.

    Parameters
    ----------
    quantity
        "mass", "polar inertia" or "stiffness".
    computed, measured
        SI.
    percent
        Measured over computed, less one.
    uncertainties
        The difference in combined standard uncertainties; None where the measured one states none.
    """

    quantity: str
    computed: float
    measured: float
    percent: float
    uncertainties: float | None = field(metadata=shown_as("standard_uncertainties"))


def compare(quantity: str, computed: Measured, measured: Measured) -> Difference:
    """How far a measured value is from the computed one.

    Parameters
    ----------
    quantity
        Named in the result.
    computed
        From geometry, not 0. SI
    measured
        In the same unit.
    """
    away = measured.value - computed.value
    combined = math.hypot(_spread(computed), _spread(measured))
    told = measured.uncertainty is not None and combined > 0
    return Difference(
        quantity,
        computed.value,
        measured.value,
        100 * away / computed.value,
        away / combined if told else None,
    )
