"""From an article's worked-out properties to the chain of inertias that the drivetrain hammers with."""

from __future__ import annotations

import math

from strikeproof.drivetrain import ArticleModel, Lump, Rider, TorqueLimit
from strikeproof.drivetrain.priors import FIT_ZETA
from strikeproof.parts import ArticleProperties, RiderProperties, limit_uncertainty

__all__ = ["HEAD_STIFFNESS", "article_model"]

HEAD_STIFFNESS = 5.0e4
"""Hexagon flats with the bolt's head, in series with the wall, where a setup gives none. [N·m/rad]"""

_SOLID = 1.0e7  # what means "no give at all": far above any part, still well resolved
_MOST_DAMPING = 0.9
_FREE = 1e-3  # N·m: next to no friction at all


def article_model(properties: ArticleProperties, *, head_stiffness: float = HEAD_STIFFNESS) -> ArticleModel:
    """The article as lumps, gaps and riders.

    A press fit on the torque path counts as solid metal here; the torque at which it slips is among
    the limits, so that a run which would turn it stops the person.

    Parameters
    ----------
    properties
        Worked out from its parts or its values.
    head_stiffness
        Of the hexagon's flats with the bolt's head, in series with the wall. [N·m/rad]

    Returns
    -------
    The article as the drivetrain takes it; no give at all counts as 1e7 N·m/rad.

    References
    ----------
    ζ = c/(2√(k J)) of docs/drivetrain.md, Equations.
    """
    inertias = [lump.inertia for lump in properties.lumps]
    lumps = []
    for place, lump in enumerate(properties.lumps):
        name = " + ".join(lump.parts) or properties.name
        if place == 0:
            lumps.append(
                Lump(name, lump.inertia, _firm(properties.drive_stiffness), properties.drive_gap, FIT_ZETA)
            )
            continue
        link = properties.links[place - 1]
        first, second = inertias[place - 1], inertias[place]
        ratio = _damping_ratio(link.damping, link.stiffness, first, second)
        lumps.append(Lump(name, lump.inertia, _firm(link.stiffness), link.gap or None, ratio))
    wall = _firm(properties.hexagon_stiffness)
    return ArticleModel(
        properties.name,
        tuple(lumps),
        wall * head_stiffness / (wall + head_stiffness),
        properties.hexagon_gap,
        FIT_ZETA,
        tuple(_rider(rider, properties) for rider in properties.riders),
        tuple(
            TorqueLimit(
                f"{check.part}, {check.mode}",
                check.holds_to,
                check.joints,
                check.share,
                limit_uncertainty(check.mode),
            )
            for check in properties.checks
        ),
    )


def _firm(stiffness: float) -> float:
    return min(stiffness, _SOLID)


def _damping_ratio(damping: float, stiffness: float, one: float, other: float) -> float:
    """ζ = c / (2 √(k J)), J = J1 J2 / (J1 + J2) of the two bodies that the joint holds together."""
    reduced = one * other / (one + other)
    return min(damping / (2.0 * math.sqrt(_firm(stiffness) * reduced)), _MOST_DAMPING)


def _slip_torque(torque: float) -> float:
    """The parts room says inf for "never" and 0 for "spins free"; the drivetrain says 0 for "never"."""
    return 0.0 if math.isinf(torque) else max(torque, _FREE)


def _rider(rider: RiderProperties, properties: ArticleProperties) -> Rider:
    if rider.carrier_rider is None:
        carrier = properties.lumps[rider.carrier_lump or 0].inertia
    else:
        carrier = properties.riders[rider.carrier_rider].inertia
    return Rider(
        rider.name,
        rider.inertia,
        _firm(rider.stiffness),
        _damping_ratio(rider.damping, rider.stiffness, rider.inertia, carrier),
        _slip_torque(rider.slip_torque),
        rider.carrier_lump or 0,
        rider.carrier_rider,
        rider.gap,
    )
