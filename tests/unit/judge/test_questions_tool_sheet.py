"""A tool's sheet beside `scipy.stats.describe`."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import describe

from strikeproof.judge.questions.tool_sheet import sheet_lines
from strikeproof.judge.records import ScoredRun

SCORES = [101.0, 99.5, 103.2, 98.7, 100.4]


def test_a_line_has_mean_deviation_range_and_six_sigma() -> None:
    runs = [ScoredRun(f"{i}", "plain", "air", f"{i}", i, score) for i, score in enumerate(SCORES)]
    runs.append(ScoredRun("5", "plain", "air", "5", 5, 500.0, set_aside=True))
    runs.append(ScoredRun("6", "ring", "air", "5", 6, 120.0))
    plain, ring = sheet_lines(runs, lambda each: each.article)
    known = describe(SCORES)
    assert (plain.runs, plain.mean, (plain.lowest, plain.highest)) == (5, known.mean, known.minmax)
    assert plain.deviation == pytest.approx(np.sqrt(known.variance))
    assert plain.scatter_percent == pytest.approx(600.0 * np.sqrt(known.variance) / known.mean)
    assert (ring.runs, ring.deviation, ring.scatter_percent) == (1, None, None)


def test_runs_without_a_group_are_left_out() -> None:
    runs = [ScoredRun(f"{i}", "plain", "air", f"{i}", i, score) for i, score in enumerate(SCORES)]
    lines = sheet_lines(runs, lambda each: "6 bar" if each.order > 1 else None)
    assert [(each.name, each.runs) for each in lines] == [("6 bar", 3)]
