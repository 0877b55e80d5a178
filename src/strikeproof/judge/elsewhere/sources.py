"""What one campaign, or one published table, brings to a network: log ratios of its articles."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from scipy.special import ndtri

from strikeproof.errors import BadInput, TooFewRuns
from strikeproof.judge.questions.effects import Effects
from strikeproof.quantity import FloatArray

__all__ = [
    "OF_MEDIAN",
    "Arm",
    "Source",
    "deviation_of_quartiles",
    "deviation_of_range",
    "source_of_arms",
    "source_of_effects",
]

OF_MEDIAN: Final = 1.2533
"""Standard error of a median over that of the mean, for a bell curve: the root of half of pi."""


@dataclass(frozen=True, slots=True, eq=False)
class Source:
    """Log ratios of articles to one of them, which were measured together.

    Attributes
    ----------
    name
        Of the campaign and tool, or of what was published.
    bench, calibration
        Whose own errors it shares with other sources of the same name.
    articles
        The first is what the others are set against.
    ratio : (k,)
        Of log scores, for each article but the first.
    covariance : (k, k)
        Of these.
    freedom
        Degrees of freedom of the covariance; infinite where it is taken as known.
    """

    name: str
    bench: str
    calibration: str
    articles: tuple[str, ...]
    ratio: FloatArray
    covariance: FloatArray
    freedom: float


@dataclass(frozen=True, slots=True)
class Arm:
    """One article of a published summary: mean or median score, standard error of its logarithm, runs."""

    article: str
    middle: float
    log_error: float
    runs: int


def deviation_of_range(width: float, runs: int) -> float:
    """Standard deviation behind the distance of the lowest from the highest of so many runs.

    References
    ----------
    Wan, Wang, Liu, Tong, BMC Med. Res. Methodol. 14 (2014) 135, eq. (9) (from memory).
    """
    return width / (2.0 * float(ndtri((runs - 0.375) / (runs + 0.25))))


def deviation_of_quartiles(width: float, runs: int) -> float:
    """Standard deviation behind the distance of the lower from the upper quartile of so many runs.

    References
    ----------
    Wan, Wang, Liu, Tong, BMC Med. Res. Methodol. 14 (2014) 135, eq. (16) (from memory).
    """
    return width / (2.0 * float(ndtri((0.75 * runs - 0.125) / (runs + 0.25))))


def source_of_effects(effects: Effects, tool: str, name: str, bench: str, calibration: str) -> Source | None:
    """What a campaign's runs with one tool bring, by the fit of its comparison; None where that is nothing.

    Articles that no block joins to the reference, or that have one independent number, are left out.

    Parameters
    ----------
    effects
        The fit of the campaign.
    tool
        One of its tools.
    name, bench, calibration
        Of the source.
    """
    if effects.fit.variance is None or effects.order_hides:
        return None
    names = [each for each in effects.articles(tool) if each != effects.reference]
    weights = np.asarray([effects.weights({each: 1.0}, tool) for each in names])
    weights = weights.reshape(len(names), len(effects.fit.design.pairs))
    able = effects.can_tell(weights) if names else np.zeros(0, dtype=bool)
    seen = [i for i in range(len(names)) if able[i] and effects.witnesses(names[i], tool) > 1]
    if not seen or effects.witnesses(effects.reference, tool) < 2:
        return None
    measured = effects.measure(weights[seen])
    size = np.sqrt(np.diag(measured.covariance) * effects.fit.variance)
    wider = measured.error / size
    covariance = effects.fit.variance * measured.covariance * np.outer(wider, wider)
    articles = (effects.reference, *(names[i] for i in seen))
    freedom = float(np.min(measured.freedom))
    return Source(name, bench, calibration, articles, measured.value, covariance, freedom)


def source_of_arms(arms: Sequence[Arm], name: str, bench: str, calibration: str) -> Source:
    """What a table of means, runs and spreads brings; the first arm is what the others are set against.

    Parameters
    ----------
    arms
        Two articles or more.
    name, bench, calibration
        Of the source.

    Raises
    ------
    TooFewRuns, BadInput
        If there are fewer than two articles, one is named twice, or a mean or an error is not above 0.

    References
    ----------
    Log ratios of means by the delta method: Hedges, Gurevitch, Curtis, Ecology 80 (1999) 1150 (from memory).
    """
    if len(arms) < 2:
        raise TooFewRuns(name, got=len(arms), needed=2, kind="articles")
    if len({each.article for each in arms}) < len(arms):
        raise BadInput("an article is named twice", where=name, allowed="each once", fix="name each once")
    for each in arms:
        if not (each.middle > 0.0 and np.isfinite(each.middle) and each.log_error > 0.0):
            raise BadInput(f"mean or spread of {each.article}", where=name, allowed="above 0")
    logs = np.log([each.middle for each in arms])
    square = np.asarray([each.log_error**2 for each in arms])
    covariance = np.full((len(arms) - 1, len(arms) - 1), square[0]) + np.diag(square[1:])
    freedom = float(sum(each.runs - 1 for each in arms))
    return Source(
        name,
        bench,
        calibration,
        tuple(each.article for each in arms),
        logs[1:] - logs[0],
        covariance,
        freedom,
    )
