"""How likely the growth curves and peaks of a campaign are, wherever the unknowns of the chain may lie."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.linalg import cho_factor, cho_solve
from scipy.special import chdtrc

from strikeproof.explain.records import Clue, Evidence
from strikeproof.explain.statistical import curve_covariance
from strikeproof.explain.surrogate import Surrogate
from strikeproof.quantity import FloatArray

__all__ = ["NO_CLUES", "ClueModel", "clue_misfit", "model_clues"]

# what the chain leaves out (engineering estimates)
GROWTH_DISCREPANCY = 0.01
"""Log level at a factor of 2.7 in inertia by which an article's growth may be off, beside its end."""
PEAK_DISCREPANCY = 0.05
"""The same of its peak torque, which hangs on contacts that end levels hardly know."""
SHAPE_SLACK = 0.05
"""Log level of the reference for a factor of 2.7 in time before the end: run-down, hose and clutch."""
PEAK_SLACK = 0.25
"""Log peak torque of the reference."""
SHARED = 0.7
"""Correlation of what is left out at two times of one curve."""


@dataclass(frozen=True, slots=True)
class ClueModel:
    """Measured extra readings (m,), their covariance (m, m) around what a surrogate says, and whose they are.

    They are the last m outputs of the surrogate.
    """

    values: FloatArray
    covariance: FloatArray
    articles: tuple[str, ...]

    def log_density(self, mean: FloatArray, without: str | None = None) -> FloatArray:
        """Log density of the extra readings of all articles but one, (k,).

        Parameters
        ----------
        mean : (k, outputs)
            What the surrogate says; the extra readings are its last m columns.
        without
            Name of the article that is left out; None for none.
        """
        kept = np.array([i for i, name in enumerate(self.articles) if name != without], dtype=np.int64)
        if not kept.size:
            return np.zeros(len(mean))
        factor = cho_factor(self.covariance[np.ix_(kept, kept)], lower=True)
        rest = (self.values - mean[:, mean.shape[1] - len(self.values) :])[:, kept]
        far = np.sum(rest.T * cho_solve(factor, rest.T), axis=0)
        logs = np.log(np.diag(factor[0])).sum()
        return np.asarray(-0.5 * far - logs - 0.5 * kept.size * np.log(2.0 * np.pi))


NO_CLUES = ClueModel(np.zeros(0), np.zeros((0, 0)), ())


def model_clues(evidence: Evidence, surrogate: Surrogate, near: FloatArray) -> ClueModel:
    """Add to the scatter of the runs what chain, records and surrogate may be off.

    Parameters
    ----------
    evidence
        Its extra readings and their scatter.
    surrogate
        Fitted to the same extra readings.
    near : (k, d)
        Points where the posterior lies: the surrogate's error is taken from there.
    """
    clues = evidence.clues
    if not clues:
        return NO_CLUES
    mine = surrogate.slopes[:, -len(clues) :]
    names = np.array([each.article for each in clues])
    own = mine.T @ mine * (names[:, None] == names[None, :])
    error = surrogate.clue_error(near, len(clues))
    covariance = evidence.clue_covariance + _left_out(evidence) + own + error + 1e-8 * np.eye(len(clues))
    return ClueModel(np.array([each.value for each in clues]), covariance, tuple(names.tolist()))


def _left_out(evidence: Evidence) -> FloatArray:
    """Covariance (m, m) of what the chain does not know: of articles smooth in log inertia, of the reference
    a slack."""
    base = evidence.article(evidence.reference).model
    assert base is not None  # the caller has looked
    models = [evidence.article(each.article).model for each in evidence.clues]
    inertia = np.log([each.polar_inertia / base.polar_inertia for each in models if each])
    of_reference = np.array([each.article == evidence.reference for each in evidence.clues])
    sizes = np.array(
        [_slack(each) if own else _size(each) for each, own in zip(evidence.clues, of_reference, strict=True)]
    )
    smooth = np.where(
        of_reference[:, None] | of_reference[None, :],
        of_reference[:, None] & of_reference[None, :],
        curve_covariance(inertia, 1.0, 1.0),
    )
    return np.asarray(np.outer(sizes, sizes) * smooth * _together(evidence.clues))


def _together(clues: Sequence[Clue]) -> FloatArray:
    """How far two extra readings are off together: 1 for the same reading in a setting, less for two
    times."""
    kinds = [(each.setting, each.reading == "peak") for each in clues]
    together = np.array([[mine == its for its in kinds] for mine in kinds])
    same = np.array([[one.reading == other.reading for other in clues] for one in clues])
    return np.asarray(together * np.where(same, 1.0, SHARED))


def _size(clue: Clue) -> float:
    return PEAK_DISCREPANCY if clue.reading == "peak" else GROWTH_DISCREPANCY


def _slack(clue: Clue) -> float:
    return PEAK_SLACK if clue.reading == "peak" else -SHAPE_SLACK * float(np.log(clue.reading))


def clue_misfit(model: ClueModel, surrogate: Surrogate, draws: FloatArray) -> float:
    """Posterior predictive p of the extra readings by their χ² distance at draws (k, d); 1 without extra
    readings.

    Parameters
    ----------
    model
        Measured extra readings and their covariance.
    surrogate
        Says what they should be.
    draws : (s, d)
        Of the posterior, in prior standard deviations.

    References
    ----------
    Gelman, Meng, Stern, Statistica Sinica 6 (1996) 733: the χ² discrepancy (from memory).
    """
    count = len(model.values)
    if not count:
        return 1.0
    some = draws[:: max(1, len(draws) // 400)]
    rest = model.values - surrogate.predict(some)[0][:, -count:]
    far = np.sum(rest.T * np.linalg.solve(model.covariance, rest.T), axis=0)
    return float(np.mean(chdtrc(count, far)))
