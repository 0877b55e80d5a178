"""The air hose before the tool: how much pressure is left at its end while the tool runs."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

from strikeproof.errors import BadInput

__all__ = ["Hose", "HoseEnd", "darcy_friction", "isothermal_end", "pressure_left"]

GAS_CONSTANT: Final = 287.05
"""Of dry air. [J/(kg·K)] International Standard Atmosphere, ISO 2533 (287.05287)."""
VISCOSITY: Final = 1.81e-5
"""Of air at 20 °C, which pressures up to 20 bar hardly change. [Pa·s] White, *Fluid Mechanics*, table A.2
(from memory)."""
FREE_PRESSURE, FREE_TEMPERATURE = 101325.0, 293.15
"""At which free air is counted: 1 atm and 20 °C. [Pa], [K] Common practice; ISO 8778 has 1 bar and 20 °C."""
RUBBER: Final = 1e-5
"""Roughness of smoothed rubber. [m] White, *Fluid Mechanics*, table 6.1: 0.01 mm (from memory)."""
FRICTION_UNCERTAINTY: Final = 0.15
"""Of the friction factor by Colebrook's formula, taken as two standard uncertainties. White, section 6.6:
accurate to 15 % (from memory)."""
LAMINAR: Final = 2300.0


@dataclass(frozen=True, slots=True)
class Hose:
    """A straight hose, or one with the equivalent length of its couplings and bends added. [m]"""

    length: float
    bore: float
    roughness: float = RUBBER

    def __post_init__(self) -> None:
        for name in ("length", "bore"):
            if not 0.0 < getattr(self, name) < math.inf:
                raise BadInput(f"{getattr(self, name):g}", where=f"hose.{name}", allowed="above 0")
        if not 0.0 <= self.roughness < 0.05 * self.bore:
            raise BadInput(
                f"{self.roughness:g}", where="hose.roughness", allowed="0 to a twentieth of the bore"
            )


@dataclass(frozen=True, slots=True)
class HoseEnd:
    """What comes out: absolute pressure [Pa], speed of the air [m/s], Reynolds number, friction factor."""

    pressure: float
    speed: float
    reynolds: float
    friction: float


def darcy_friction(reynolds: float, relative_roughness: float) -> float:
    """Darcy's friction factor: 64 / Re where flow is laminar, else by Colebrook's formula.

    Parameters
    ----------
    reynolds
        Above 0.
    relative_roughness
        Roughness over bore, 0 to 0.05.

    References
    ----------
    White, *Fluid Mechanics*, equations (6.13) and (6.48) (from memory).
    """
    if reynolds < LAMINAR:
        return 64.0 / reynolds
    root = 8.0  # 1 / sqrt(f); the fixed point draws in by a factor of eight a step
    for _step in range(40):
        root = -2.0 * math.log10(relative_roughness / 3.7 + 2.51 * root / reynolds)
    return root**-2


def pressure_left(
    hose: Hose,
    pressure: float,
    free_flow: float,
    *,
    temperature: float = FREE_TEMPERATURE,
    friction_share: float = 1.0,
) -> HoseEnd:
    """What is left at the end of a hose that passes so much air, steadily and at one temperature.

    A tool that strikes draws air in pulses; its mean flow gives a mean pressure, and the lowest is lower.

    Parameters
    ----------
    hose
        Its length, bore and roughness.
    pressure
        Absolute, at its beginning. [Pa]
    free_flow
        Volume a second that the air would have at 1 atm and 20 °C, above 0. [m³/s]
    temperature
        Of the air. [K]
    friction_share
        What to multiply the friction factor by, to see what its uncertainty does.

    Raises
    ------
    BadInput
        If the hose cannot pass so much: the air would reach its own speed of sound at the end.

    References
    ----------
    Isothermal flow with friction: White, *Fluid Mechanics*, equation (9.73), which limits the Mach number at
    the end to 1 / sqrt(1.4) (from memory): p1² − p2² = G² R T (f L / D + 2 ln(p1 / p2)).
    """
    area = math.pi / 4.0 * hose.bore**2
    flux = free_flow * FREE_PRESSURE / (GAS_CONSTANT * FREE_TEMPERATURE) / area  # kg/(s·m²)
    reynolds = flux * hose.bore / VISCOSITY
    friction = friction_share * darcy_friction(reynolds, hose.roughness / hose.bore)
    energy = GAS_CONSTANT * temperature
    end = isothermal_end(pressure, flux, energy, friction * hose.length / hose.bore)
    return HoseEnd(end, flux * energy / end, reynolds, friction)


def isothermal_end(pressure: float, flux: float, energy: float, loss: float) -> float:
    """The absolute pressure at the end of a pipe. [Pa]

    Parameters
    ----------
    pressure
        Absolute, at its beginning. [Pa]
    flux
        Mass a second and area. [kg/(s·m²)]
    energy
        R T of the gas. [J/kg]
    loss
        f L / D, of Darcy's friction factor.

    Raises
    ------
    BadInput
        As `pressure_left`.

    References
    ----------
    As `pressure_left`; found by halving.
    """
    least = flux * math.sqrt(energy)  # below it there is no steady flow at one temperature

    def short(end: float) -> float:
        return pressure**2 - end**2 - flux**2 * energy * (loss + 2.0 * math.log(pressure / end))

    if least >= pressure or short(least) < 0.0:
        raise BadInput(
            "the hose cannot pass so much air: it would reach the speed of sound at the end",
            where="hose",
            allowed="a wider or shorter hose, or less air",
            fix="check bore, length and the tool's consumption",
        )
    low, high = least, pressure
    for _step in range(100):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if short(middle) > 0.0 else (low, middle)
    return low
