"""Simulated times, some beyond the window: error rates stay nominal and the worst article is found."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from strikeproof.judge.censored import judge_censored
from strikeproof.judge.intervals import judge_runs
from strikeproof.judge.records import ScoredRun

WINDOW, SCATTER = 10.0, 0.08


def simulate(rng: np.random.Generator, effects: Mapping[str, float], usual: float) -> list[ScoredRun]:
    """Four blocks, each article once and the reference twice; log-normal times. [s]"""
    runs: list[ScoredRun] = []
    for block in range(4):
        level = np.log(usual) + rng.normal(0.0, 0.05)
        for name in ("ref", *rng.permutation(sorted(effects)), "ref"):
            time = float(np.exp(level + effects.get(str(name), 0.0) + rng.normal(0.0, SCATTER)))
            order = len(runs)
            late = time > WINDOW
            runs.append(
                ScoredRun(f"r{order}", str(name), "t", f"{block}", order, min(time, WINDOW), not_reached=late)
            )
    return runs


def judged(runs: list[ScoredRun]) -> dict[str, tuple[float, float]]:
    late = any(each.not_reached for each in runs)
    found = (judge_censored if late else judge_runs)(runs, "ref", 0.95).intervals
    ends = {article: (each.low, each.high) for (article, _tool), each in found.items()}
    return {name: (low, high) for name, (low, high) in ends.items() if low is not None and high is not None}


def test_articles_that_are_alike_are_rarely_called_different() -> None:
    rng = np.random.default_rng(11)
    wrong = sum(
        any(
            low > 0.0 or high < 0.0 for low, high in judged(simulate(rng, {"a": 0.0, "b": 0.0}, 9.5)).values()
        )
        for _ in range(40)
    )
    assert wrong <= 5  # at 5 %, more than this happens once in 70 times


def test_an_article_that_mostly_runs_out_of_time_is_later_and_its_interval_holds() -> None:
    rng = np.random.default_rng(12)
    found = [judged(simulate(rng, {"a": 0.3, "b": 0.0}, 8.0))["a"] for _ in range(25)]
    assert sum(low > 0.0 for low, _high in found) >= 22
    assert sum(low <= 0.3 <= high for low, high in found) >= 22
