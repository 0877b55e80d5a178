"""Clues from growth curves and peaks: news beside the scores, with a covariance that holds."""

from dataclasses import replace

import numpy as np
import pytest
from tests.unit.explain.bench import AIR

from strikeproof.explain.gains import gather_gains
from strikeproof.explain.growth import Clues, gather_clues
from strikeproof.judge.records import ScoredRun

SETTINGS = {"air-a": AIR}
NAMES = ("plain", "ring", "thin")
SPREAD = np.array([[4.0, 4.0, 3.6], [4.0, 6.25, 6.0], [3.6, 6.0, 9.0]]) * 1e-4
"""Of the log score and of the log levels at 0.4 and 0.15 of the duration, run by run."""


def draw(rng: np.random.Generator, blocks: int = 4) -> tuple[list[ScoredRun], dict[float, dict[str, float]]]:
    """Runs whose article and level mean nothing, with two early readings."""
    runs: list[ScoredRun] = []
    readings: dict[float, dict[str, float]] = {0.4: {}, 0.15: {}}
    for block in range(blocks):
        for article in (*NAMES, "plain"):
            end, late, early = rng.multivariate_normal(np.zeros(3), SPREAD) + 0.02 * block
            run = ScoredRun(f"r{len(runs)}", article, "air-a", str(block), len(runs), float(np.exp(end)))
            readings[0.4][run.run] = float(0.8 * np.exp(late))
            readings[0.15][run.run] = float(0.6 * np.exp(early))
            runs.append(run)
    return runs, readings


def gather(runs: list[ScoredRun], readings: dict[float, dict[str, float]]) -> Clues:
    return gather_clues(runs, "plain", SETTINGS, readings)


def test_each_reading_gives_a_clue_an_article_and_one_of_the_reference():
    told = gather(*draw(np.random.default_rng(1)))
    assert [(each.article, each.reading) for each in told.clues] == [
        ("ring", 0.15), ("thin", 0.15), ("ring", 0.4), ("thin", 0.4), ("plain", 0.15), ("plain", 0.4),
    ]  # fmt: skip
    assert told.covariance.shape == (6, 6)
    assert np.linalg.eigvalsh(told.covariance).min() > 0.0


def test_the_reference_tells_the_shape_of_its_curve():
    told = gather(*draw(np.random.default_rng(1)))
    shape = {each.reading: each for each in told.clues if each.article == "plain"}
    assert shape[0.4].value == pytest.approx(np.log(0.8), abs=0.04) and shape[0.4].carry == 1.0
    assert shape[0.15].value == pytest.approx(np.log(0.6), abs=0.06)


def test_clues_are_news_beside_the_gains_and_scatter_as_they_say():
    """400 campaigns without any difference: correlations with the gains below 3 of their errors."""
    rng = np.random.default_rng(2)
    values, gains, said = [], [], []
    for _campaign in range(400):
        runs, readings = draw(rng)
        told = gather(runs, readings)
        values.append([each.value for each in told.clues[:4]])
        gains.append([each.log_gain for each in gather_gains(runs, "plain", SETTINGS).gains])
        said.append(np.diag(told.covariance)[:4])
    across = np.corrcoef(np.array(values).T, np.array(gains).T)[:4, 4:]
    assert np.abs(across).max() < 3.0 / np.sqrt(400.0) + 0.02
    found, expected = np.var(values, axis=0), np.mean(said, axis=0)
    assert np.all((expected / found > 0.8) & (expected / found < 1.6))


def test_articles_share_the_reference_and_times_share_the_run():
    told = gather(*draw(np.random.default_rng(1), blocks=12))
    size = np.sqrt(np.diag(told.covariance))
    together = told.covariance / np.outer(size, size)
    assert together[0, 1] == pytest.approx(together[2, 3], abs=1e-9)
    assert together[0, 1] > 0.2 and together[0, 2] > 0.2
    assert together[0, 3] == pytest.approx(together[0, 2] * together[0, 1], abs=1e-9)


def test_runs_without_all_levels_or_set_aside_say_nothing():
    runs, readings = draw(np.random.default_rng(3))
    del readings[0.4]["r5"]
    aside = [replace(run, set_aside=run.run == "r6") for run in runs]
    left = [run for run in runs if run.run not in ("r5", "r6")]
    one, other = gather(aside, readings), gather(left, readings)
    assert one.clues == other.clues
    assert np.array_equal(one.covariance, other.covariance)


def test_too_few_runs_give_none():
    runs, readings = draw(np.random.default_rng(3))
    assert gather(runs[:4], readings).clues == ()
    assert gather(runs, {}).clues == ()
    assert gather(runs, {0.4: {}, 0.15: {}}).clues == ()


def test_peaks_stand_by_themselves():
    runs, readings = draw(np.random.default_rng(4))
    peaks = {name: 900.0 * level for name, level in readings[0.15].items()}
    told = gather_clues(runs, "plain", SETTINGS, {0.4: readings[0.4], "peak": peaks})
    reference = next(each for each in told.clues if (each.article, each.reading) == ("plain", "peak"))
    assert reference.carry == 0.0
    assert reference.value == pytest.approx(np.log(540.0), abs=0.06)
    growth = [i for i, each in enumerate(told.clues) if each.reading != "peak"]
    peak = [i for i, each in enumerate(told.clues) if each.reading == "peak"]
    assert not np.any(told.covariance[np.ix_(growth, peak)])
