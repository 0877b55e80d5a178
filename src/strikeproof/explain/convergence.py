"""Whether chains of a sampler have met: rank-normalised split R-hat and effective sample sizes.

References
----------
Vehtari, Gelman, Simpson, Carpenter, Bürkner, "Rank-normalization, folding, and localization: an improved
R-hat for assessing convergence of MCMC", Bayesian Analysis 16 (2021) 667, eqs (1)-(14) (from memory).
"""

from __future__ import annotations

import numpy as np
from scipy.special import ndtri

from strikeproof.quantity import FloatArray

__all__ = ["bulk_size", "find_r_hat", "tail_size"]


def find_r_hat(chains: FloatArray) -> float:
    """The larger of the rank-normalised R-hat of the draws and of their distances from the median.

    Parameters
    ----------
    chains : (m, n)
        Draws of one quantity by m chains.
    """
    split = _split(chains)
    folded = np.abs(split - np.median(split))
    return max(_plain_r_hat(_normalise(split)), _plain_r_hat(_normalise(folded)))


def bulk_size(chains: FloatArray) -> float:
    """Effective sample size for the middle of the distribution.

    Parameters
    ----------
    chains : (m, n)
        Draws of one quantity by m chains.

    References
    ----------
    Vehtari and others, 2021; Geyer's initial monotone sequence (from memory).
    """
    return _effective_size(_normalise(_split(chains)))


def tail_size(chains: FloatArray) -> float:
    """Smaller effective sample size of the 5 % and 95 % quantiles.

    Parameters
    ----------
    chains : (m, n)
        Draws of one quantity by m chains.

    References
    ----------
    Vehtari and others, 2021 (from memory).
    """
    split = _split(chains)
    return min(
        _effective_size((split <= np.quantile(split, level)).astype(np.float64)) for level in (0.05, 0.95)
    )


def _split(chains: FloatArray) -> FloatArray:
    half = chains.shape[1] // 2
    return np.concatenate([chains[:, :half], chains[:, -half:]])


def _normalise(chains: FloatArray) -> FloatArray:
    from scipy.stats import rankdata  # half a second that only a fit should pay

    ranks = rankdata(chains.ravel(), method="average").reshape(chains.shape)
    return np.asarray(ndtri((ranks - 0.375) / (chains.size + 0.25)))


def _plain_r_hat(chains: FloatArray) -> float:
    n = chains.shape[1]
    within = float(chains.var(axis=1, ddof=1).mean())
    between = n * float(chains.mean(axis=1).var(ddof=1))
    if within == 0.0:
        return 1.0 if between == 0.0 else np.inf
    return float(np.sqrt(((n - 1) / n * within + between / n) / within))


def _effective_size(chains: FloatArray) -> float:
    """Draws over the integrated autocorrelation time, Geyer's initial monotone sequence across chains."""
    m, n = chains.shape
    centred = chains - chains.mean(axis=1, keepdims=True)
    transform = np.fft.rfft(centred, 2 * n, axis=1)
    covariance = np.fft.irfft(np.abs(transform) ** 2, axis=1)[:, :n] / n
    within = float((covariance[:, 0] * n / (n - 1)).mean())
    pooled = within * (n - 1) / n + (float(chains.mean(axis=1).var(ddof=1)) if m > 1 else 0.0)
    if pooled == 0.0:
        return float(m * n)
    correlation = 1.0 - (within - covariance.mean(axis=0)) / pooled
    correlation[0] = 1.0
    pairs = correlation[: n - n % 2].reshape(-1, 2).sum(axis=1)
    last = int(np.argmax(pairs < 0.0)) if np.any(pairs < 0.0) else len(pairs)
    falling = np.minimum.accumulate(pairs[:last])
    time = max(-1.0 + 2.0 * float(falling.sum()), 1.0 / np.log10(m * n))
    return float(m * n / time)
