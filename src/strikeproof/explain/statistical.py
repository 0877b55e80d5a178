"""The explanations without physics, in closed form: nothing matters, mass matters, a smooth curve in
inertia."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import product

import numpy as np
from scipy.special import logsumexp

from strikeproof.explain.own_part import NODES, own_patterns, own_size, pattern_at
from strikeproof.explain.particles import Particles
from strikeproof.quantity import BoolArray, FloatArray, IntArray

__all__ = ["Table", "curve_covariance", "curve_rival", "mass_rival", "nothing_rival"]

MASS_SLOPE = 0.2
"""Prior standard deviation of d log score/d log mass: three times the mass then changes the score by 22 %."""

AMPLITUDES = (0.05, 0.1, 0.2)
LENGTHS = (0.5, 1.0, 2.0)
"""Of the curve, equally likely before: log score, and log inertia (1 is a factor of 2.7)."""


@dataclass(frozen=True, slots=True)
class Table:
    """What the statistical explanations know of every gain: its setting's number and log ratios to the
    reference.

    `mass` holds 0 where a mass is not known; `article` numbers the articles as `own_patterns` takes them.
    """

    setting: FloatArray
    inertia: FloatArray
    mass: FloatArray
    article: IntArray

    def together(self) -> BoolArray:
        """Which gains share a setting, (n, n)."""
        return np.asarray(self.setting[:, None] == self.setting[None, :])

    def own(self) -> tuple[FloatArray, FloatArray]:
        """`own_patterns` of the gains."""
        return own_patterns(self.article, self.setting)


def nothing_rival(table: Table) -> Particles:
    """Every article scores as the reference."""
    return _normal("nothing", [np.zeros((len(table.setting),) * 2)], table)


def mass_rival(table: Table) -> Particles:
    """Log gain proportional to log mass, each setting with its own slope.

    Prior of the slopes: normal, `MASS_SLOPE` (derived here).
    """
    return _normal("mass", [MASS_SLOPE**2 * np.outer(table.mass, table.mass) * table.together()], table)


def curve_rival(table: Table) -> Particles:
    """A smooth curve through the reference, each setting with its own.

    Nine sizes and lengths, equally likely before (derived here).
    """
    covariances = [
        curve_covariance(table.inertia, size, length) * table.together()
        for size, length in product(AMPLITUDES, LENGTHS)
    ]
    return _normal("curve", covariances, table)


def curve_covariance(x: FloatArray, size: float, length: float) -> FloatArray:
    """Covariance (n, n) of f(x) − f(0) where f is a Gaussian process with a squared exponential kernel.

    Parameters
    ----------
    x : (n,)
        Log inertia over the reference's; f is 0 at x = 0.
    size
        Standard deviation of f, log score.
    length
        Of the kernel, in x, > 0.

    References
    ----------
    The kernel: Rasmussen, Williams, *Gaussian Processes for Machine Learning*, 2006, eq. (4.9) (from memory).
    """

    def bell(apart: FloatArray) -> FloatArray:
        return np.asarray(np.exp(-0.5 * (apart / length) ** 2))

    apart = bell(x[:, None] - x[None, :])
    return np.asarray(size**2 * (apart - bell(x)[:, None] - bell(x)[None, :] + 1.0))


def _normal(name: str, covariances: Sequence[FloatArray], table: Table) -> Particles:
    """Mixture over the covariances, each with every size of the articles' own parts."""
    count, size = len(covariances), len(covariances[0])
    sizes = np.tile(own_size(NODES), count)
    logs = np.tile(-0.5 * NODES**2, count)
    whole = np.repeat(np.stack(covariances), len(NODES), axis=0) + pattern_at(table.own(), sizes)
    return Particles(
        name,
        logs - logsumexp(logs),
        np.zeros((len(sizes), size)),
        whole,
        np.zeros((len(sizes), 0)),
        own=sizes,
    )
