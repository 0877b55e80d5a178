"""Two logs may hold the same samples: each run keeps its own log, whatever becomes of the other."""

from __future__ import annotations

from pathlib import Path

import pytest
from tests.unit.desk.scores import Bench, write_folder

from strikeproof.campaign.store import Store, open_store
from strikeproof.desk.loading.load import load_campaign

SAMPLES = "time [s],load [div]\n" + "".join(
    f"{0.01 * n:.2f},{0 if n < 50 else 90 + n % 3}\n" for n in range(200)
)


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """Two runs whose logs differ in what stands above the samples, and in nothing else."""
    folder = write_folder(tmp_path / "campaign", Bench())
    (folder / "runs.csv").write_text(
        "run,log,tool,article,block\na,a.csv,wrench,plain,1\nb,b.csv,wrench,ring-a,1\n"
    )
    (folder / "logs").mkdir()
    for name in "ab":
        (folder / "logs" / f"{name}.csv").write_text(f"# of run {name}\n{SAMPLES}")
    text = (folder / "campaign.toml").read_text()
    (folder / "campaign.toml").write_text(text.replace("[runs]", '[runs]\nlogs = "logs"'))
    return folder


def store_of(workspace: Path) -> tuple[Store, int]:
    store = open_store(workspace)
    return store, store.campaign(None)[0]


def test_each_run_has_its_own_log(folder: Path, tmp_path: Path) -> None:
    assert load_campaign(folder, tmp_path / "lab").problems == ()
    store, key = store_of(tmp_path / "lab")
    names = [run.trace.original_name for run in store.runs(key) if run.trace]
    assert names == ["a.csv", "b.csv"]


def test_loaded_again_nothing_changes(folder: Path, tmp_path: Path) -> None:
    load_campaign(folder, tmp_path / "lab")
    again = load_campaign(folder, tmp_path / "lab")
    assert (again.problems, again.runs_unchanged) == ((), 2)


def test_the_other_run_keeps_its_trace_when_one_is_set_aside(folder: Path, tmp_path: Path) -> None:
    load_campaign(folder, tmp_path / "lab")
    store, key = store_of(tmp_path / "lab")
    store.set_aside(store.find_run(key, "a"), "the socket slipped")
    other = store.find_run(key, "b")
    assert other.set_aside is None and other.trace is not None
    time, load = store.samples(other.trace, "load")
    assert (time.size, load.max()) == (200, 92.0)
