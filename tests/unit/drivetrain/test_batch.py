"""Many runs in one call, and a score against one parameter."""

from __future__ import annotations

import numpy as np
import pytest

from strikeproof.drivetrain import (
    Bench,
    BoltModel,
    RigModel,
    complete_tool,
    find_optimum,
    plain_article,
    simulate_batch,
    spread_values,
)
from strikeproof.drivetrain.batch import _gather
from strikeproof.errors import BadInput

BENCH = Bench(BoltModel(2.5e-3, 9.19e-3, 13e-3), RigModel(), duration=1.0)
TOOLS = [complete_tool(name, name, 0.0127).tool for name in ("air", "spring-and-cam")]
ARTICLES = [plain_article(f"a{i}", value) for i, value in enumerate((3e-5, 1e-4, 4e-4))]


@pytest.mark.parametrize("seed", [None, 5])
def test_results_do_not_depend_on_the_number_of_workers(
    seed: int | None, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("strikeproof.drivetrain.batch.CHUNK", 2)
    batches = [
        simulate_batch(ARTICLES, TOOLS, BENCH, draws=2, seed=seed, workers=workers) for workers in (1, 2)
    ]
    assert np.array_equal(batches[0].end_load, batches[1].end_load)
    assert np.array_equal(batches[0].peak_torque, batches[1].peak_torque)
    assert batches[0].end_load.shape == (3, 2, 2) and batches[0].done.all()


def test_draws_differ_with_a_seed_and_agree_without() -> None:
    with_seed = simulate_batch(ARTICLES[:1], TOOLS[:1], BENCH, draws=2, seed=1).end_load[0, 0]
    without = simulate_batch(ARTICLES[:1], TOOLS[:1], BENCH, draws=2).end_load[0, 0]
    assert with_seed[0] != with_seed[1] and without[0] == without[1]


def test_what_fails_before_the_first_result_is_not_hidden() -> None:
    with pytest.raises(ZeroDivisionError), _gather(1, None):
        raise ZeroDivisionError


def test_cancel_keeps_what_is_done_and_progress_is_told(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("strikeproof.drivetrain.batch.CHUNK", 2)
    told: list[tuple[int, int]] = []
    batch = simulate_batch(
        ARTICLES,
        TOOLS,
        BENCH,
        progress=lambda done, whole: told.append((done, whole)),
        cancelled=lambda: len(told) == 2,
    )
    assert told == [(2, 6), (4, 6)]
    assert batch.done.sum() == 4
    assert np.isfinite(batch.end_load[batch.done]).all() and np.isnan(batch.end_load[~batch.done]).all()


def test_nothing_to_simulate_and_a_missing_cluster_are_refused() -> None:
    with pytest.raises(BadInput, match="nothing to simulate"):
        simulate_batch([], TOOLS, BENCH)
    with pytest.raises(BadInput, match="draws"):
        simulate_batch(ARTICLES, TOOLS, BENCH, draws=0)


def test_optimum_is_the_crest_of_a_parabola_in_the_logarithm() -> None:
    values = spread_values(1e-5, 1e-3, 21)
    scores = 5.0 - np.log(values / 1.3e-4) ** 2
    found = find_optimum(values, scores)
    assert found.value == pytest.approx(1.3e-4, rel=1e-9)
    assert found.score == pytest.approx(5.0) and not found.at_end


def test_optimum_at_an_end_says_so() -> None:
    assert find_optimum([1.0, 2.0, 3.0], [1.0, 2.0, 3.0]).at_end


@pytest.mark.parametrize(
    ("low", "high", "points"), [(1.0, 1.0, 5), (2.0, 1.0, 5), (1.0, float("nan"), 5), (1.0, 2.0, 1)]
)
def test_impossible_sweep_is_refused(low: float, high: float, points: int) -> None:
    with pytest.raises(BadInput, match="sweep"):
        spread_values(low, high, points)
