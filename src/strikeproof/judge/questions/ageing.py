"""What one article's score changes by with each run: a tool, an article or a rig that ages.

Blocks are the units: what a block does to all its runs would otherwise count as many times as it has runs.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from scipy.special import nctdtrinc, stdtr, stdtrit

from strikeproof.judge.records import ScoredRun, Verdict
from strikeproof.quantity import FloatArray

__all__ = ["WANTED_PERCENT", "Ageing", "find_ageing"]

POWER: Final = 0.8
WANTED_PERCENT: Final = 0.1
"""A change a run that should be found: 100 runs then change a score by a tenth."""
LEAST_BLOCKS: Final = 3
MOST_BLOCKS: Final = 500


@dataclass(frozen=True, slots=True)
class Ageing:
    """Change of an article's score with one tool from run to run of the campaign. [% a run]

    Attributes
    ----------
    blocks, first, last
        Blocks that hold the article, and its first and last run's place in the campaign.
    percent, low_percent, high_percent, p
        Of a score that is a time the change of the time. None where blocks are too few or do not scatter.
    found_percent
        Smallest change that so many blocks, scattering as these do, would show four times in five.
    blocks_wanted
        Blocks, spaced as these are, that would show `WANTED_PERCENT` four times in five.
    """

    tool: str
    blocks: int
    first: int
    last: int
    percent: float | None
    low_percent: float | None
    high_percent: float | None
    p: float | None
    verdict: Verdict
    found_percent: float | None
    blocks_wanted: int | None
    confidence: float


def find_ageing(
    runs: Sequence[ScoredRun], article: str, *, confidence: float, timed: bool = False
) -> tuple[Ageing, ...]:
    """The slope of an article's log score over the order of the campaign's runs, for each tool that drove it.

    The mean of the article's runs in each block, over their mean place, by least squares; its t interval has
    as many degrees of freedom as blocks less two. The tools share what may be false.

    Parameters
    ----------
    runs
        Of one campaign; excluded ones do not count.
    article
        Usually the reference.
    confidence
        Of all tools together.
    timed
        Whether scores are times.

    References
    ----------
    Draper, Smith, *Applied Regression Analysis*, 1998, section 1.4; power by the noncentral t: Cohen,
    *Statistical Power Analysis for the Behavioral Sciences*, 1988, chapter 2 (both from memory).
    """
    counted = [each for each in runs if each.article == article and not each.set_aside and each.score > 0.0]
    tools = tuple(dict.fromkeys(each.tool for each in counted))
    level = 1.0 - (1.0 - confidence) / max(len(tools), 1)
    return tuple(_of_tool([each for each in counted if each.tool == tool], level, timed) for tool in tools)


def _of_tool(runs: Sequence[ScoredRun], level: float, timed: bool) -> Ageing:
    blocks: dict[str, list[ScoredRun]] = defaultdict(list)
    for each in runs:
        blocks[each.block].append(each)
    place = np.array([np.mean([each.order for each in some]) for some in blocks.values()])
    score = np.array([np.mean(np.log([each.score for each in some])) for some in blocks.values()])
    orders = [each.order for each in runs]
    known = (runs[0].tool, len(blocks), min(orders), max(orders))
    if len(blocks) < LEAST_BLOCKS:
        return Ageing(*known, None, None, None, None, "cannot tell", None, None, level)
    slope, error = _slope(place, score)
    free = len(blocks) - 2
    if error == 0.0:
        return Ageing(*known, None, None, None, None, "cannot tell", None, None, level)
    half = float(stdtrit(free, 0.5 + level / 2.0)) * error
    p = 2.0 * float(stdtr(free, -abs(slope) / error))
    low, middle, high = (100.0 * float(np.expm1(each)) for each in (slope - half, slope, slope + half))
    rises: Verdict = "later" if timed else "higher"
    falls: Verdict = "sooner" if timed else "lower"
    verdict: Verdict = rises if low > 0.0 else falls if high < 0.0 else "cannot tell"
    scatter = error * float(np.sqrt(np.sum((place - place.mean()) ** 2)))
    found = 100.0 * float(np.expm1(_shown(error, free, level)))
    wanted = _blocks_wanted(scatter, float(np.ptp(place)) / (len(place) - 1), level)
    return Ageing(*known, middle, low, high, p, verdict, found, wanted, level)


def _slope(place: FloatArray, score: FloatArray) -> tuple[float, float]:
    """Least squares slope and its standard error."""
    apart = place - place.mean()
    square = float(apart @ apart)
    slope = float(apart @ score) / square
    rest = score - score.mean() - slope * apart
    return slope, float(np.sqrt(rest @ rest / (len(place) - 2) / square))


def _shown(error: float, free: int, level: float) -> float:
    """Slope that a t test of this error shows with `POWER`; the other tail is left out."""
    bound = float(stdtrit(free, 0.5 + level / 2.0))
    return error * float(nctdtrinc(free, 1.0 - POWER, bound))


def _blocks_wanted(scatter: float, spacing: float, level: float) -> int | None:
    """Fewest evenly spaced blocks that show the wanted slope; None where too many would be needed."""
    for blocks in range(LEAST_BLOCKS, MOST_BLOCKS + 1):
        square = spacing**2 * blocks * (blocks**2 - 1) / 12.0
        if _shown(scatter / np.sqrt(square), blocks - 2, level) <= np.log1p(WANTED_PERCENT / 100.0):
            return blocks
    return None
