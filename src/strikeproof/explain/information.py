"""How much a test not yet made is expected to tell. [bit]"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from strikeproof.quantity import FloatArray

__all__ = ["Bits", "expected_bits"]

GRID = 1200


@dataclass(frozen=True, slots=True)
class Bits:
    """About which rival is true, and about the unknowns within the rivals; both together are the whole."""

    rivals: float
    parameters: float


def expected_bits(predictions: Sequence[FloatArray], chances: FloatArray, noise: float) -> Bits:
    """Mutual information between a future reading and what is unknown, by quadrature over the reading.

    I(r, θ; y) = I(r; y) + Σ_r P(r) I(θ; y | r), each a difference of entropies of mixtures of normals.

    Parameters
    ----------
    predictions
        For every rival draws (s,) of what the reading would be without noise.
    chances : (k,)
        Probabilities of the rivals, summing to 1.
    noise
        Standard deviation of the reading, > 0.

    References
    ----------
    Lindley, "On a measure of the information provided by an experiment", Ann. Math. Stat. 27 (1956) 986.
    """
    every = np.concatenate([np.asarray(each) for each in predictions])
    reading = np.linspace(every.min() - 6.0 * noise, every.max() + 6.0 * noise, GRID)
    density = np.stack([_density(reading, np.asarray(each), noise) for each in predictions])
    step = float(reading[1] - reading[0])
    inside = _entropies(density, step)
    of_noise = 0.5 * np.log2(2.0 * np.pi * np.e * noise**2)
    whole = _entropies((chances @ density)[None], step)[0]
    return Bits(
        max(0.0, float(whole - chances @ inside)),
        max(0.0, float(chances @ np.maximum(inside - of_noise, 0.0))),
    )


def _density(reading: FloatArray, means: FloatArray, noise: float) -> FloatArray:
    bells = np.exp(-0.5 * ((reading[:, None] - means[None, :]) / noise) ** 2)
    return np.asarray(bells.mean(axis=1) / (noise * np.sqrt(2.0 * np.pi)))


def _entropies(density: FloatArray, step: float) -> FloatArray:
    """−∫ p log2 p of each row."""
    safe = np.where(density > 0.0, density, 1.0)
    return np.asarray(-np.sum(density * np.log2(safe), axis=1) * step)
