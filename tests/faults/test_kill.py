"""A load that is killed at any instant leaves a store that opens and holds all that was acknowledged."""

import os
import secrets
import shutil
import signal
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from tests.faults.bench import RUNS, acknowledged, content, processes, run_command, write_campaign

from strikeproof.campaign.database_server import ADDRESS, holds_store
from strikeproof.campaign.store import open_store
from strikeproof.desk.loading.load import load_campaign
from strikeproof.desk.workspace.check import check_workspace

KILLS = int(os.environ.get("STRIKEPROOF_KILLS", "10"))
CHAINS = 1


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return write_campaign(tmp_path_factory.mktemp("campaign") / "folder")


@pytest.fixture(scope="module")
def undisturbed(folder: Path, tmp_path_factory: pytest.TempPathFactory) -> dict[str, Any]:
    workspace = tmp_path_factory.mktemp("undisturbed")
    assert load_campaign(folder, workspace).exit_code == 0
    found = content(workspace)
    assert len(found["files"]) == 2 * RUNS + 1
    return found


@pytest.fixture
def rng() -> np.random.Generator:
    seed = int(os.environ.get("STRIKEPROOF_SEED") or secrets.randbelow(2**32))
    print(f"seed {seed}: to have the same moments again, set STRIKEPROOF_SEED")
    return np.random.default_rng(seed)


def load_for(seconds: float, folder: Path, workspace: Path, *, runs: int = RUNS + 1) -> tuple[str, float]:
    """What a load said in the seconds it was given, or until it kept so many runs, before it was killed."""
    said = workspace.parent / "said"
    context = processes()
    ours, theirs = context.Pipe()
    words = ["load", str(folder), "-w", str(workspace)]
    child = context.Process(target=run_command, args=(words, said, theirs))
    child.start()
    assert ours.poll(60)
    begun = time.monotonic()
    while child.is_alive() and time.monotonic() - begun < seconds and len(_kept(said)) < runs:
        child.join(0.001 if runs <= RUNS else seconds)
    lived = time.monotonic() - begun
    child.kill()
    child.join()
    return said.read_text(), lived


def _kept(said: Path) -> list[str]:
    return acknowledged(said.read_text()) if said.is_file() else []


def must_be_whole(workspace: Path, said: str, undisturbed: dict[str, Any]) -> None:
    """Whatever was killed: it opens, nothing is wrong, and what was acknowledged is there as it should be."""
    told = acknowledged(said)
    if not holds_store(workspace):
        assert told == []
        return
    found = check_workspace(workspace)
    assert found.problems == ()
    assert found.runs >= len(told)
    wanted = {run[0]["run"]: run for run in undisturbed["campaigns"]["drum rollers"][1]}
    kept = content(workspace)["campaigns"].get("drum rollers", (None, []))[1]
    assert {run[0]["run"] for run in kept} >= set(told)
    for run in kept:
        assert run == wanted[run[0]["run"]]
        assert f"traces/{run[3].sha256}.parquet" in undisturbed["files"]


def must_complete(folder: Path, workspace: Path, undisturbed: dict[str, Any]) -> None:
    outcome = load_campaign(folder, workspace)
    assert outcome.problems == ()
    assert outcome.runs_loaded + outcome.runs_unchanged == RUNS
    assert content(workspace) == undisturbed


def test_killed_at_many_random_moments(
    folder: Path,
    undisturbed: dict[str, Any],
    rng: np.random.Generator,
    place: Callable[[Path], Path],
    tmp_path: Path,
) -> None:
    timing = place(tmp_path / "timing")
    kills = KILLS // 2 if (timing / ADDRESS).is_file() else KILLS
    _said, whole = load_for(60, folder, timing)
    half_way = 0
    for number in range(kills):
        workspace = place(tmp_path / "lab")
        after = whole * float(np.sqrt(rng.uniform()))  # more of them late, where runs are kept
        if number % 2:  # keeping takes a few hundredths of a second: half of the kills wait for it
            said, _lived = load_for(60, folder, workspace, runs=int(rng.integers(1, RUNS)))
        else:
            said, _lived = load_for(after, folder, workspace)
        print(f"kill {number} after {after:.4f} s: {len(acknowledged(said))} runs were acknowledged")
        must_be_whole(workspace, said, undisturbed)
        must_complete(folder, workspace, undisturbed)
        kept = len(acknowledged(said))
        half_way += 0 < kept < RUNS
        if number % 2 == 0:  # other work comes and goes meanwhile
            whole *= 1.15 if kept == 0 else 0.9 if kept == RUNS else 1.0
        shutil.rmtree(workspace)
    assert half_way >= kills // 10, "the kills did not hit the loading"


def test_killed_again_and_again_it_gets_there(
    folder: Path,
    undisturbed: dict[str, Any],
    rng: np.random.Generator,
    place: Callable[[Path], Path],
    tmp_path: Path,
) -> None:
    _said, whole = load_for(60, folder, place(tmp_path / "timing"))
    for _chain in range(CHAINS):
        workspace = place(tmp_path / "lab")
        for _number in range(5):
            said, _lived = load_for(float(rng.uniform(0, whole / 2)), folder, workspace)
            must_be_whole(workspace, said, undisturbed)
        must_complete(folder, workspace, undisturbed)
        shutil.rmtree(workspace)


def test_killed_with_all_its_workers(
    folder: Path,
    undisturbed: dict[str, Any],
    rng: np.random.Generator,
    place: Callable[[Path], Path],
    tmp_path: Path,
) -> None:
    """The command itself, reading logs in several processes, killed as a group once it has kept some runs."""
    for _number in range(2):
        workspace, wanted = place(tmp_path / "lab"), int(rng.integers(1, RUNS))
        said = ""
        command = [sys.executable, "-m", "strikeproof", "load", str(folder), "-w", str(workspace)]
        with subprocess.Popen(
            command, stderr=subprocess.PIPE, stdout=subprocess.DEVNULL, text=True, start_new_session=True
        ) as child:
            assert child.stderr is not None
            for line in child.stderr:
                said += line
                if len(acknowledged(said)) >= wanted:
                    os.killpg(child.pid, signal.SIGKILL)
                    break
            said += child.stderr.read()
        assert child.returncode in (-signal.SIGKILL, 0)
        must_be_whole(workspace, said, undisturbed)
        must_complete(folder, workspace, undisturbed)
        shutil.rmtree(workspace)


def test_killed_while_a_new_workspace_is_set_up(tmp_path: Path, rng: np.random.Generator) -> None:
    """The schema is there as a whole or not at all."""
    context = processes()
    for _number in range(8):
        child = context.Process(target=open_store, args=(tmp_path / "lab",), kwargs={"make": True})
        child.start()
        child.join(float(rng.uniform(0, 0.08)))
        child.kill()
        child.join()
        assert open_store(tmp_path / "lab", make=True).campaigns() == ()
        shutil.rmtree(tmp_path / "lab")
