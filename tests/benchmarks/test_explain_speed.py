"""How long an explanation takes: nine articles of which only scores are known, from store to answer."""

from __future__ import annotations

import time
from pathlib import Path

import pytest
from tests.benchmarks.yardstick import within
from tests.unit.desk.scores import changed, load

from strikeproof.desk.explaining.explain import explain_workspace

pytestmark = pytest.mark.benchmark

RINGS = {"plain": 1.0, "ring-a": 1.6, "ring-b": 2.4, "ring-c": 3.5, "ring-d": 5.0, "thin": 0.7}
SOFT = {"soft-a": 3.6e3, "soft-b": 8.0e3, "soft-c": 2.0e4}  # N·m/rad


@pytest.mark.parametrize(("quick", "most"), [(False, 60.0), (True, 10.0)], ids=["thorough", "quick"])
def test_nine_articles_by_their_scores(tmp_path: Path, quick: bool, most: float) -> None:
    articles = {**RINGS, **dict.fromkeys(SOFT, 1.0)}
    bench = changed(articles=articles, stiffness=SOFT)
    workspace = load(tmp_path, bench)
    start = time.perf_counter()
    outcome = explain_workspace(workspace, quick=quick)
    taken = time.perf_counter() - start
    start = time.perf_counter()
    explain_workspace(workspace, quick=quick)
    again = time.perf_counter() - start
    print(f"nine articles, 40 runs: {taken:.1f} s, again {1e3 * again:.0f} ms")
    print(outcome.lines()[0])
    assert taken < within(most) and again < 0.1 * taken
