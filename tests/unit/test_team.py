"""The workers of a Dask scheduler give what this process gives, to the last digit, and may die meanwhile."""

from __future__ import annotations

import sys
import threading
from collections.abc import Iterator
from typing import Any

import numpy as np
import pytest
from tests.unit.design.search_bench import REFERENCE, make_worlds
from tests.unit.explain.bench import measured

from strikeproof.design.judging import Strain, run_worlds
from strikeproof.desk.simulating.simulate import sweep_tables
from strikeproof.drivetrain import Bench, BoltModel, RigModel, complete_tool, plain_article, simulate_batch
from strikeproof.errors import BadInput
from strikeproof.explain.crew import Crew
from strikeproof.explain.engine import Job, simulate_jobs
from strikeproof.explain.parameters import list_parameters
from strikeproof.team import ALONE, Team, TeamLost, gather_team

BENCH = Bench(BoltModel(2.5e-3, 9.19e-3, 13e-3), RigModel(), duration=0.5)
TOOLS = [complete_tool(name, name, 0.0127).tool for name in ("air", "spring-and-cam")]
ARTICLES = [plain_article(f"a{i}", value) for i, value in enumerate((3e-5, 1e-4, 4e-4))]
IN_THREADS: dict[str, Any] = {
    "threads_per_worker": 1,
    "processes": False,
    "host": "127.0.0.1",
    "protocol": "tcp",
    "dashboard_address": "127.0.0.1:0",
}
SETUP: dict[str, dict[str, Any]] = {
    "protocol": {"duration": "1 s"},
    "rig": {"name": "bench", "clamp_stiffness_n_per_m": 4e8},
    "bolt": {"thread": "M24x3", "class": "10.9", "friction": 0.12},
    "tool": {"name": "air-a", "mechanism": "air", "drive_mm": 12.7, "blow_rate_hz": 20},
    "article": {"name": "plain", "polar_inertia_kg_m2": 6e-5, "hexagon_gap_deg": 2.0},
}


@pytest.fixture(scope="module")
def cluster() -> Iterator[Any]:
    """Two workers in threads of this process: no process has to start. `make siege` kills real ones."""
    distributed = pytest.importorskip("distributed")
    with distributed.LocalCluster(n_workers=2, **IN_THREADS) as started:
        yield started


@pytest.fixture(scope="module")
def team(cluster: Any) -> Iterator[Team]:
    with gather_team(cluster.scheduler_address) as gathered:
        yield gathered


def test_a_batch_is_the_same_while_one_of_two_workers_goes_away(
    cluster: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("strikeproof.drivetrain.batch.CHUNK", 1)
    seen: list[tuple[int, int]] = []

    def lose_one(done: int, whole: int) -> None:
        seen.append((done, whole))
        if len(seen) == 1:
            cluster.scale(1)

    there = simulate_batch(
        ARTICLES, TOOLS, BENCH, draws=3, seed=5, scheduler=cluster.scheduler_address, progress=lose_one
    )
    here = simulate_batch(ARTICLES, TOOLS, BENCH, draws=3, seed=5)
    assert np.array_equal(there.end_load, here.end_load) and np.array_equal(there.peaks, here.peaks)
    assert there.done.all() and seen[-1] == (18, 18)


def test_a_search_judges_by_the_same_figures(team: Team) -> None:
    worlds = make_worlds(2).draws
    here, there = (run_worlds([REFERENCE] * 2, worlds, Strain(team=each)) for each in (ALONE, team))
    assert np.array_equal(here.gains, there.gains) and np.array_equal(here.peaks, there.peaks)


def test_an_explanation_rests_on_the_same_runs(team: Team) -> None:
    evidence = measured()
    parameters = list_parameters(evidence, bonds=False)
    points = np.random.default_rng(0).normal(size=(10, len(parameters)))
    jobs = [Job(evidence.articles[0].model, evidence.settings[0])]
    here, there = (
        simulate_jobs(evidence, parameters, jobs, points, np.zeros((10, 3)), crew=Crew(each))
        for each in (ALONE, team)
    )
    assert np.array_equal(here, there)


def test_a_sweep_finds_the_same_scores(cluster: Any) -> None:
    values = [5e-5, 1e-4, 5e-4]
    here = sweep_tables(SETUP, "article.polar_inertia_kg_m2", values)
    there = sweep_tables(SETUP, "article.polar_inertia_kg_m2", values, scheduler=cluster.scheduler_address)
    assert here == there


def test_an_error_of_the_engine_comes_back_as_it_is(team: Team) -> None:
    with pytest.raises(BadInput, match="nothing to simulate"):
        team.call(simulate_batch, [], TOOLS, BENCH)


def test_workers_of_another_version_are_refused(cluster: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    here = threading.current_thread()
    monkeypatch.setattr(
        "strikeproof.team.sources_mark",
        lambda: "ours" if threading.current_thread() is here else "theirs",
    )
    with pytest.raises(BadInput, match="another Strikeproof"), gather_team(cluster.scheduler_address):
        pass


def test_a_scheduler_without_workers_is_refused_and_one_that_loses_them_is_named(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    distributed = pytest.importorskip("distributed")
    monkeypatch.setattr("strikeproof.team.ANSWER_WITHIN", 0.2)
    monkeypatch.setattr("strikeproof.team.LOOK_AFTER", 0.2)
    with distributed.LocalCluster(n_workers=0, **IN_THREADS) as empty:
        with pytest.raises(BadInput, match="no workers"), gather_team(empty.scheduler_address):
            pass
        monkeypatch.setattr("strikeproof.team.ANSWER_WITHIN", 10.0)
        empty.scale(1)
        with gather_team(empty.scheduler_address) as gathered:
            empty.scale(0)
            with pytest.raises(TeamLost, match="no worker left"):
                gathered.call(sum, (1, 2))


def test_a_scheduler_without_dask_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "dask.distributed", None)
    with pytest.raises(BadInput, match="Dask is not installed"):
        simulate_batch(ARTICLES, TOOLS, BENCH, scheduler="tcp://127.0.0.1:8786")


@pytest.mark.parametrize("address", ["tcp://127.0.0.1:9", "nonsense://x"])
def test_a_scheduler_that_does_not_answer_is_refused(address: str, monkeypatch: pytest.MonkeyPatch) -> None:
    pytest.importorskip("distributed")
    monkeypatch.setattr("strikeproof.team.ANSWER_WITHIN", 0.3)
    with pytest.raises(BadInput, match="does not answer"):
        simulate_batch(ARTICLES, TOOLS, BENCH, scheduler=address)
