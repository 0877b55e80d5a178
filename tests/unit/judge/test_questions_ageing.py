"""The slope of a score over the runs, beside `linregress` and the noncentral t of `scipy.stats`."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import linregress, nct, t

from strikeproof.judge.questions.ageing import Ageing, find_ageing
from strikeproof.judge.records import ScoredRun


def aged(
    slope: float, blocks: int = 12, seed: int = 1, tool: str = "air", spread: float = 0.01
) -> list[ScoredRun]:
    """The reference twice in blocks of eight runs, its score changing by this share a run."""
    rng, runs = np.random.default_rng(seed), []
    for block in range(blocks):
        level = rng.normal(0.0, spread)
        for place in (2, 6):
            order = 8 * block + place
            score = 200.0 * np.exp(level + slope * order + rng.normal(0.0, spread))
            runs.append(ScoredRun(f"{tool}{order}", "plain", tool, str(block), order, float(score)))
    return runs


def only(runs: list[ScoredRun], **more: bool) -> Ageing:
    (found,) = find_ageing(runs, "plain", confidence=0.95, **more)
    return found


def test_it_is_the_regression_of_the_blocks_means() -> None:
    runs = aged(-0.0004)
    found = only(runs)
    x = [8 * block + 4 for block in range(12)]
    y = [np.mean(np.log([each.score for each in runs if each.block == str(block)])) for block in range(12)]
    line = linregress(x, y)
    half = t.ppf(0.975, 10) * line.stderr
    expected = 100.0 * np.expm1([line.slope - half, line.slope, line.slope + half])
    assert [found.low_percent, found.percent, found.high_percent] == pytest.approx(expected)
    assert found.p == pytest.approx(line.pvalue)
    assert (found.blocks, found.first, found.last) == (12, 2, 94)


def test_a_change_of_a_tenth_percent_a_run_is_found_and_its_way_named() -> None:
    assert only(aged(-0.001)).verdict == "lower"
    assert only(aged(0.001)).verdict == "higher"
    assert only(aged(0.001), timed=True).verdict == "later"
    assert only(aged(0.0, seed=3)).verdict == "cannot tell"


def test_the_change_that_would_be_found_has_a_power_of_eighty_percent() -> None:
    runs = aged(0.0)
    found = only(runs)
    assert found.found_percent is not None and found.high_percent is not None and found.percent is not None
    half = np.log1p(found.high_percent / 100.0) - np.log1p(found.percent / 100.0)
    error = half / t.ppf(0.975, 10)
    shown = np.log1p(found.found_percent / 100.0) / error
    assert nct.sf(t.ppf(0.975, 10), 10, shown) == pytest.approx(0.8, abs=1e-6)


def test_so_many_blocks_are_the_fewest_that_would_do() -> None:
    found = only(aged(0.0, spread=0.03))
    assert found.blocks_wanted is not None
    half = np.log1p((found.high_percent or 0.0) / 100.0) - np.log1p((found.percent or 0.0) / 100.0)
    scatter = half / t.ppf(0.975, 10) * 8.0 * np.sqrt(12 * 143 / 12.0)

    def power(blocks: int) -> float:
        error = scatter / (8.0 * np.sqrt(blocks * (blocks**2 - 1) / 12.0))
        free = blocks - 2
        return float(nct.sf(t.ppf(0.975, free), free, np.log1p(0.001) / error))

    assert power(found.blocks_wanted) >= 0.8 > power(found.blocks_wanted - 1)


def test_tools_share_what_may_be_false_and_few_blocks_tell_nothing() -> None:
    one, other = find_ageing([*aged(-0.001), *aged(0.0, blocks=2, tool="cell")], "plain", confidence=0.95)
    assert one.confidence == other.confidence == pytest.approx(0.975)
    assert (other.percent, other.verdict, other.blocks) == (None, "cannot tell", 2)
