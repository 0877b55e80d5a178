"""The uncertainty budget of a calibrated reading, and clamp load from torque with its uncertainty."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from typing import ClassVar, Literal

import numpy as np
import numpy.typing as npt
from scipy.special import stdtrit

from strikeproof.errors import BadInput
from strikeproof.judge.calibration import CalibrationFit
from strikeproof.language import say, write_figures
from strikeproof.plain_json import to_json
from strikeproof.quantity import FloatArray

__all__ = [
    "Budget",
    "Component",
    "Converted",
    "calibration_budget",
    "clamp_load",
    "make_budget",
    "torque_equivalent",
]

Distribution = Literal["normal", "rectangular", "triangular", "arcsine"]


@dataclass(frozen=True, slots=True)
class Component:
    """One line of a budget.

    Parameters
    ----------
    sensitivity
        Change of the result per change of this quantity.
    degrees_of_freedom
        Infinite for what is not estimated from a sample.
    source
        Where the figure comes from, for the reader.
    """

    name: str
    standard_uncertainty: float
    sensitivity: float = 1.0
    degrees_of_freedom: float = math.inf
    distribution: Distribution = "normal"
    source: str = ""
    JSON_ALSO: ClassVar = ("contribution",)

    @property
    def contribution(self) -> float:
        """Standard uncertainty of the result from this line alone."""
        return abs(self.sensitivity) * self.standard_uncertainty


@dataclass(frozen=True, slots=True)
class Budget:
    """All lines with what they add up to.

    Parameters
    ----------
    at
        The value the budget is made for, in the unit of the result.
    degrees_of_freedom
        Effective, not yet truncated.
    coverage_factor, expanded_uncertainty
        At `level`.
    shares
        Of the variance, one a line, adding up to 1.
    """

    at: float
    level: float
    components: tuple[Component, ...]
    standard_uncertainty: float
    degrees_of_freedom: float
    coverage_factor: float
    expanded_uncertainty: float
    shares: tuple[float, ...]

    def as_json(self) -> dict[str, object]:
        """The budget as the command line prints it; infinite degrees of freedom are null."""
        return {
            "at": self.at,
            "rows": [
                to_json(line) | {"share_percent": 100 * share}
                for line, share in zip(self.components, self.shares, strict=True)
            ],
            "standard_uncertainty": self.standard_uncertainty,
            "degrees_of_freedom": self.degrees_of_freedom,
            "level_percent": 100 * self.level,
            "coverage_factor": self.coverage_factor,
            "expanded_uncertainty": self.expanded_uncertainty,
        }


@dataclass(frozen=True, slots=True, eq=False)
class Converted:
    """Values with their standard uncertainties, of the shape of what they were converted from."""

    value: FloatArray
    standard_uncertainty: FloatArray


def make_budget(components: Iterable[Component], *, at: float, level: float = 0.95) -> Budget:
    """Combine independent lines into a standard and an expanded uncertainty.

    Parameters
    ----------
    components
        Independent of each other; at least one above 0.
    at
        The value it is made for. [result]
    level
        Of the expanded uncertainty, above 0 and below 1.

    Raises
    ------
    BadInput
        When no line has any uncertainty.

    References
    ----------
    JCGM 100:2008 (GUM), eq. 10 (combination), eq. G.2b (Welch-Satterthwaite) and G.6.4 (the effective degrees
    of freedom are truncated to the next lower integer for the coverage factor).
    """
    lines = tuple(components)
    variance = math.fsum(line.contribution**2 for line in lines)
    if not variance > 0:
        raise BadInput(
            "no line has any uncertainty",
            where="uncertainty budget",
            allowed="one line above 0 at least",
            fix="give the resolution or the reference's uncertainty",
        )
    shares = tuple(line.contribution**2 / variance for line in lines)
    # Shares rather than fourth powers, which underflow for readings in small units.
    loss = math.fsum(s**2 / line.degrees_of_freedom for s, line in zip(shares, lines, strict=True))
    freedom = 1 / loss if loss > 0 else math.inf
    # A hair is added, so that rounding does not turn 20 into 19.
    whole = math.floor(freedom * (1 + 1e-12)) if math.isfinite(freedom) else math.inf
    factor = float(stdtrit(max(float(whole), 1.0), (1 + level) / 2))
    combined = math.sqrt(variance)
    return Budget(at, level, lines, combined, freedom, factor, factor * combined, shares)


def calibration_budget(
    fit: CalibrationFit,
    *,
    at: float,
    reference_uncertainty_percent: float = 0.0,
    resolution: float | None = None,
    level: float = 0.95,
) -> Budget:
    """Uncertainty of the applied value read out of one reading, net of zero.

    Parameters
    ----------
    fit
        The calibration.
    at
        Applied value for which the budget is made.
    reference_uncertainty_percent
        Expanded (k = 2) uncertainty of the reference instrument, percent of the applied value.
    resolution
        Smallest step of a reading in use; the calibration's when left out.
    level
        Of the expanded uncertainty, above 0 and below 1.

    Returns
    -------
    In the unit of the applied values.

    Raises
    ------
    BadInput
        When no line has any uncertainty.

    References
    ----------
    JCGM 100:2008 (GUM), 4.2 (type A), 4.3.3 (expanded values), 4.3.7 and F.2.2 (rectangular).
    """
    where = np.asarray(at, np.float64)
    per_reading = 1 / float(fit.curve.slope(where))
    lines = (
        *_curve_lines(fit, where, per_reading),
        *_reading_lines(fit, per_reading, fit.resolution if resolution is None else resolution),
        Component(
            say("reference instrument"),
            abs(at) * reference_uncertainty_percent / 100 / 2,
            source=say(
                "{reference_uncertainty_percent} % of the applied value, k = 2",
                reference_uncertainty_percent=write_figures(f"{reference_uncertainty_percent:g}"),
            ),
        ),
    )
    return make_budget(lines, at=at, level=level)


def _curve_lines(fit: CalibrationFit, at: FloatArray, per_reading: float) -> tuple[Component, ...]:
    """The curve above its own zero, and by how much less surely the zero was read than the curve knows it."""
    nothing = np.zeros(())
    rise = fit.curve.rows(at) - fit.curve.rows(nothing)
    curve = math.sqrt(float(rise @ fit.curve.covariance @ rise))
    known = float(fit.curve.covariance_of(nothing, nothing))
    zero = math.sqrt(max(fit.zero.standard_uncertainty**2 - known, 0.0))
    said = (
        say("readings at zero that the curve does not explain")
        if fit.zero.measured
        else say("not read; taken from the curve")
    )
    freedom = fit.degrees_of_freedom
    return (
        Component(
            say("calibration curve"),
            curve,
            per_reading,
            freedom,
            source=say("fit of degree {degree}", degree=fit.degree),
        ),
        Component("zero", zero, per_reading, freedom, source=said),
    )


def _reading_lines(fit: CalibrationFit, per_reading: float, step: float | None) -> tuple[Component, ...]:
    spread, loop = fit.repeatability, fit.hysteresis
    one, freedom, said = (
        (spread.standard_deviation, spread.degrees_of_freedom, say("repeats, one reading"))
        if spread
        else (fit.scatter, fit.scatter_freedom, say("scatter about the curve; nothing was repeated"))
    )
    lines = [Component("repeatability", one, per_reading, freedom, source=said)]
    if loop and fit.branch == "all":
        half = abs(loop.reading) / 2
        said = say(
            "half of the largest up-down difference, at {applied}", applied=write_figures(f"{loop.applied:g}")
        )
        lines.append(
            Component("hysteresis", half / math.sqrt(3), per_reading, distribution="rectangular", source=said)
        )
    if fit.lack_of_fit.significant:
        missed = math.sqrt(max(fit.residual_sd**2 - one**2, 0.0))
        said = say("residuals beyond repeatability; lack of fit is significant")
        lines.append(
            Component(
                say("departure from the curve"), missed, per_reading, fit.degrees_of_freedom, source=said
            )
        )
    if step:
        said = say("half a step of {step}", step=write_figures(f"{step:g}"))
        rounded = step / 2 / math.sqrt(3)
        lines.append(Component("resolution", rounded, per_reading, distribution="rectangular", source=said))
    return tuple(lines)


def clamp_load(
    torque: npt.ArrayLike,
    torque_per_force: float,
    *,
    torque_uncertainty: npt.ArrayLike = 0.0,
    relative_uncertainty: float = 0.0,
) -> Converted:
    """Clamp load F = T / c.

    Parameters
    ----------
    torque
        [N·m]
    torque_per_force
        c, of thread and friction, > 0. [N·m/N]
    torque_uncertainty
        Standard. [N·m]
    relative_uncertainty
        Standard, of c; friction's scatter is mostly here.

    Raises
    ------
    BadInput
        If c is not above 0.

    References
    ----------
    JCGM 100:2008 (GUM), eq. 10.
    """
    turned, spread = np.asarray(torque, np.float64), np.asarray(torque_uncertainty, np.float64)
    _check_torque_per_force(torque_per_force)
    value = turned / torque_per_force
    return Converted(value, np.hypot(spread / torque_per_force, value * relative_uncertainty))


def torque_equivalent(
    load: npt.ArrayLike,
    torque_per_force: float,
    *,
    load_uncertainty: npt.ArrayLike = 0.0,
    relative_uncertainty: float = 0.0,
) -> Converted:
    """Torque T = c F that would give a clamp load; the way back of `clamp_load`. [N·m]

    Parameters
    ----------
    load
        [N]
    torque_per_force
        c, of thread and friction, > 0. [N·m/N]
    load_uncertainty
        Standard. [N]
    relative_uncertainty
        Standard, of c.

    Raises
    ------
    BadInput
        If c is not above 0.
    """
    clamped, spread = np.asarray(load, np.float64), np.asarray(load_uncertainty, np.float64)
    _check_torque_per_force(torque_per_force)
    value = clamped * torque_per_force
    return Converted(value, np.hypot(spread * torque_per_force, value * relative_uncertainty))


def _check_torque_per_force(torque_per_force: float) -> None:
    if not (math.isfinite(torque_per_force) and torque_per_force > 0):
        raise BadInput(
            f"torque per clamp load {torque_per_force:g}",
            where="bolt",
            allowed="above 0",
            fix="check thread and friction",
        )
