"""How one part is held on another: stiffness, damping, and the torque at which it slips or yields."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final, Literal, TypeAlias

from strikeproof.errors import BadInput
from strikeproof.parts.materials import Material

__all__ = [
    "Bond",
    "BondKind",
    "BondPlan",
    "Fit",
    "annulus_stiffness",
    "fit_pressure",
    "make_bond",
    "series",
    "side_by_side",
    "weld_length",
]

BondKind: TypeAlias = Literal["rigid", "weld", "press fit", "loose"]

# Share of critical damping: engineering estimates, no source. A loose fit rebounds with about 0.7.
_DAMPING: Final[dict[BondKind, float]] = {"rigid": 0.005, "weld": 0.01, "press fit": 0.02, "loose": 0.11}


@dataclass(frozen=True, slots=True)
class BondPlan:
    """A bond as a person describes it.

    Parameters
    ----------
    kind
        Rigid (one piece), weld, press fit or loose.
    throat
        Of a fillet weld. [m]
    runs
        How many circles of weld.
    coverage
        Share of the circle that is welded.
    interference
        Of a press fit, on the diameter. [m]
    friction
        In a press fit.
    stiffness, damping_ratio, slip_torque, gap
        Known values; they replace the computed ones. [N·m/rad, 1, N·m, rad]
    """

    kind: BondKind = "rigid"
    throat: float = 0.0
    runs: int = 1
    coverage: float = 1.0
    interference: float = 0.0
    friction: float = 0.15
    stiffness: float | None = None
    damping_ratio: float | None = None
    slip_torque: float | None = None
    gap: float | None = None


@dataclass(frozen=True, slots=True)
class Fit:
    """The cylinder where two parts meet.

    Parameters
    ----------
    diameter, length
        Of the cylinder. [m]
    inner, outer
        Materials within and around it.
    bore
        Diameter of the hole in the inner part, 0 if solid. [m]
    outside
        Diameter of the outer part. [m]
    """

    diameter: float
    length: float
    inner: Material
    outer: Material
    bore: float
    outside: float


@dataclass(frozen=True, slots=True)
class Bond:
    """A bond worked out.

    Parameters
    ----------
    kind
        As planned.
    stiffness
        Infinite when rigid. [N·m/rad]
    damping_ratio
        Share of critical damping.
    slip_torque
        Torque at which it slides; infinite if it cannot. [N·m]
    gap
        Free play. [rad]
    strength
        Torque at which it yields or slips; infinite when it is one piece. [N·m]
    endurance
        Torque range it withstands 2 million times; infinite when it is one piece. [N·m]
    weld_length
        Length of bead. [m]
    """

    kind: BondKind
    stiffness: float
    damping_ratio: float
    slip_torque: float = math.inf
    gap: float = 0.0
    strength: float = math.inf
    endurance: float = math.inf
    weld_length: float = 0.0


def series(*stiffnesses: float) -> float:
    """Stiffness of springs one after the other, 1/k = Σ 1/kᵢ; infinite ones do not count. [N·m/rad]"""
    compliance = sum(1 / each for each in stiffnesses)
    return 1 / compliance if compliance > 0 else math.inf


def side_by_side(*bonds: Bond) -> Bond:
    """Bonds that hold one part on several: stiffness and slip torque add up, and the torque is shared as the
    stiffness is, so that the bond which reaches its own strength first counts (springs in parallel).

    Parameters
    ----------
    bonds
        At least one; the kind is that of the first.
    """
    if len(bonds) == 1:
        return bonds[0]
    whole = sum(each.stiffness for each in bonds)
    shares = [1.0 if math.isinf(each.stiffness) else each.stiffness / whole for each in bonds]
    carrying = [(each, share) for each, share in zip(bonds, shares, strict=True) if share > 0]
    return Bond(
        bonds[0].kind,
        whole,
        max(each.damping_ratio for each in bonds),
        sum(each.slip_torque for each in bonds),
        max(each.gap for each in bonds),
        min(each.strength / share for each, share in carrying),
        min(each.endurance / share for each, share in carrying),
        sum(each.weld_length for each in bonds),
    )


def annulus_stiffness(shear_modulus: float, length: float, inside: float, outside: float) -> float:
    """Twist stiffness of a collar between two radii: k = 4πGL/(1/r₁² − 1/r₂²). [N·m/rad]

    Derived here from τ = T/(2πr²L) and dθ/dr = τ/(Gr); infinite when the radii meet.

    Parameters
    ----------
    shear_modulus
        G of the collar. [Pa]
    length
        L along the axis. [m]
    inside, outside
        Radii r₁ and r₂. [m]
    """
    if outside <= inside * (1 + 1e-12) or inside <= 0:
        return math.inf
    return 4 * math.pi * shear_modulus * length / (1 / inside**2 - 1 / outside**2)


def fit_pressure(fit: Fit, interference: float) -> float:
    """Pressure of a press fit, both parts thick-walled. [Pa]

    Parameters
    ----------
    fit
        Diameters, and moduli of both sides.
    interference
        On the diameter, 0 or more. [m]

    References
    ----------
    Lamé; Budynas & Nisbett, *Shigley's Mechanical Engineering Design*, 9th ed., eq. (3-56), p. 116 (from
    memory).
    """
    d2, bore2, outside2 = fit.diameter**2, fit.bore**2, fit.outside**2
    around = ((outside2 + d2) / (outside2 - d2) + fit.outer.poisson) / fit.outer.elastic_modulus
    within = ((d2 + bore2) / (d2 - bore2) - fit.inner.poisson) / fit.inner.elastic_modulus
    return interference / (fit.diameter * (around + within))


def _elastic_pressure(fit: Fit) -> float:
    """Largest pressure that yields neither part after Tresca (Lamé stresses at the bore of each). [Pa]"""
    d2, bore2, outside2 = fit.diameter**2, fit.bore**2, fit.outside**2
    around = fit.outer.yield_strength * (outside2 - d2) / (2 * outside2)
    within = fit.inner.yield_strength * ((d2 - bore2) / (2 * d2) if bore2 else 1.0)
    return min(around, within)


def _press(plan: BondPlan, fit: Fit, where: str) -> Bond:
    if not fit.bore < fit.diameter < fit.outside:
        raise BadInput(
            f"a press fit of {fit.diameter * 1e3:.4g} mm in an outside of {fit.outside * 1e3:.4g} mm",
            where=where,
            allowed="a fit between the bore and the outside",
            fix="leave a wall on both sides of the fit",
        )
    pressure = fit_pressure(fit, plan.interference)
    limit = _elastic_pressure(fit)
    if pressure > limit:
        most = plan.interference * limit / pressure
        raise BadInput(
            f"interference_mm = {plan.interference * 1e3:g} makes the fit yield",
            where=where,
            allowed=f"0 to {most * 1e3:.3g} mm",
            fix="take less interference or a thicker wall",
            key="interference_mm",
        )
    slip = plan.friction * pressure * math.pi * fit.diameter**2 * fit.length / 2
    return Bond("press fit", math.inf, _DAMPING["press fit"], slip, 0.0, slip, slip)


def weld_length(plan: BondPlan, diameter: float) -> float:
    """Length of bead, π d times the runs and the share of the circle that is welded. [m]

    Parameters
    ----------
    plan
        Its runs and coverage.
    diameter
        Of the circle. [m]
    """
    return math.pi * diameter * plan.runs * plan.coverage


def _weld(plan: BondPlan, fit: Fit) -> Bond:
    """A fillet weld around the axis, sheared along its throat.

    References
    ----------
    Yield in shear Re/√3 (von Mises) of the weaker side. Endurance: EN 1993-1-9, Table 8.5, detail category 80
    for shear in a fillet weld (80 MPa range at 2 million, from memory).
    """
    bead = weld_length(plan, fit.diameter)
    arm = fit.diameter / 2
    weaker = min(fit.inner.yield_strength, fit.outer.yield_strength)
    softer = min(fit.inner.shear_modulus, fit.outer.shear_modulus)
    stiffness = softer * bead * arm**2 / math.sqrt(2)  # bead of throat a sheared across its leg a√2
    section = plan.throat * bead * arm
    return Bond(
        "weld",
        stiffness,
        _DAMPING["weld"],
        strength=weaker / math.sqrt(3) * section,
        endurance=80e6 * section,
        weld_length=bead,
    )


def make_bond(plan: BondPlan, fit: Fit, *, body: float = math.inf, where: str = "bond") -> Bond:
    """Work out a bond at a cylinder.

    Parameters
    ----------
    plan
        What holds, and values that replace the computed ones.
    fit
        The cylinder where the two parts meet.
    body
        Stiffness of the bodies between the fit and where their inertia sits. [N·m/rad]
    where
        For the message of an error.

    Raises
    ------
    BadInput
        If a press fit would yield or has no wall.
    """
    if plan.kind == "press fit":
        plain = _press(plan, fit, where)
    elif plan.kind == "weld":
        plain = _weld(plan, fit)
    else:
        plain = Bond(plan.kind, math.inf, _DAMPING[plan.kind])
    stiffness = plain.stiffness if plan.kind == "rigid" else series(plain.stiffness, body)
    slip = plain.slip_torque if plan.slip_torque is None else plan.slip_torque
    return Bond(
        plain.kind,
        stiffness if plan.stiffness is None else plan.stiffness,
        plain.damping_ratio if plan.damping_ratio is None else plan.damping_ratio,
        slip,
        plain.gap if plan.gap is None else plan.gap,
        slip if plan.kind == "press fit" else plain.strength,
        slip if plan.kind == "press fit" else plain.endurance,
        plain.weld_length,
    )
