"""One specimen or the product: several specimens of one article, of which each differs a little."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.special import fdtrc, stdtr, stdtrit

from strikeproof.errors import BadInput, TooFewRuns
from strikeproof.judge.intervals import Interval
from strikeproof.judge.questions.effects import Effects
from strikeproof.judge.records import Verdict
from strikeproof.judge.results import gains
from strikeproof.judge.verdict import Margin, give_verdict
from strikeproof.quantity import FloatArray

__all__ = ["Product", "judge_product"]

MOST_FREEDOM = 2.0
"""Times the freedom of the specimens (ours, by simulation: docs/validity.md)."""


@dataclass(frozen=True, slots=True)
class Product:
    """What the specimens say of the product against the reference with one tool, in percent.

    `scatter_percent` is the standard deviation from specimen to specimen beyond what the runs scatter, 0
    where none shows; `p_scatter` tests that there is none. The interval is for the mean of all that there
    are.
    """

    specimens: tuple[str, ...]
    tool: str
    percent: float
    low_percent: float
    high_percent: float
    p: float
    verdict: Verdict
    scatter_percent: float
    p_scatter: float
    degrees_of_freedom: float
    confidence: float


def judge_product(
    effects: Effects,
    specimens: Sequence[str],
    tool: str,
    *,
    margin_percent: float,
    confidence: float,
    timed: bool = False,
) -> Product:
    """Judge the product by its specimens, which are a random effect.

    The mean of the specimens' differences from the reference has the variance s²/n + m: s² from specimen to
    specimen, m what all n share by the runs of the reference. Its degrees of freedom are Satterthwaite's.
    That alone is too sure where few specimens lie close together by luck (92 % cover with three), so s² is
    never taken to be less than the runs alone make it, nor the freedom more than twice that of s².

    Parameters
    ----------
    effects
        The fit that is asked.
    specimens
        Two articles or more, made alike.
    tool
        What drove them.
    margin_percent
        Differences within plus or minus this are "same".
    confidence
        Of the interval.
    timed
        Whether scores are times, of which less is better.

    Raises
    ------
    TooFewRuns
        If they are fewer than two, or the runs do not say how much a score scatters.
    BadInput
        If the reference is among them, or one of them cannot be compared with it with this tool.

    References
    ----------
    Searle, Casella, McCulloch, *Variance Components*, 1992, chapter 3; Satterthwaite, Biometrics Bull. 2
    (1946) 110 (both from memory).
    """
    names = tuple(dict.fromkeys(specimens))
    if len(names) < 2:
        raise TooFewRuns("a product", got=len(names), needed=2, kind="specimens")
    if effects.fit.variance is None:
        raise TooFewRuns("runs to judge the scatter by", got=effects.fit.degrees_of_freedom, needed=1)
    weights = np.stack([effects.weights({name: 1.0}, tool) for name in names])
    run = [effects.witnesses(name, tool) > 0 for name in (*names, effects.reference)]
    if effects.reference in names or not all(run) or not effects.can_tell(weights).all():
        raise BadInput(
            f"{', '.join(names)} with {tool}",
            where="specimens",
            allowed=f"articles other than {effects.reference} that can be compared with it",
            fix="name others, or run them in one block",
        )
    measured = effects.measure(weights)
    covariance = effects.fit.variance * measured.covariance + effects.extra_covariance(weights)
    value = float(measured.value.mean())
    error, freedom, scatter, p_scatter = _spread(
        measured.value, covariance, float(effects.fit.degrees_of_freedom)
    )
    half = float(stdtrit(freedom, 0.5 + confidence / 2.0)) * error
    p = 2.0 * float(stdtr(freedom, -abs(value) / error))
    percent, low, high = (
        each or 0.0 for each in gains(Interval(value, error, value - half, value + half, p), timed=timed)
    )
    margin = Margin(-margin_percent, margin_percent)
    verdict: Verdict = "cannot tell" if effects.order_hides else give_verdict(low, high, margin, timed=timed)
    return Product(names, tool, percent, low, high, p, verdict, scatter, p_scatter, freedom, confidence)


def _spread(values: FloatArray, covariance: FloatArray, free: float) -> tuple[float, float, float, float]:
    """Error of the mean with its freedom, scatter of specimens in percent, p that there is none."""
    count = len(values)
    own = float(np.trace(covariance)) / count
    shared = max(float(covariance.sum() - np.trace(covariance)) / (count * (count - 1)), 0.0)
    between = float(np.var(values, ddof=1))
    parts = ((max(between, own - shared) / count, count - 1.0), (shared, free))
    total = sum(part for part, _ in parts)
    freedom = min(total**2 / sum(part**2 / of for part, of in parts), MOST_FREEDOM * (count - 1.0))
    left = max(between - (own - shared), 0.0)
    p = float(fdtrc(count - 1, free, between / max(own - shared, 1e-300)))
    return float(np.sqrt(total)), freedom, 100.0 * float(np.sqrt(left)), p
