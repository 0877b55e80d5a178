"""Whatever is damaged in a workspace, `check` names the file and the fix, and the fix works."""

import json
import shutil
import sqlite3
import subprocess
import sys
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from tests.faults.bench import RUNS, content, write_campaign

from strikeproof.campaign.store import open_store
from strikeproof.desk.loading.load import load_campaign
from strikeproof.desk.workspace.check import check_workspace, tidy_workspace
from strikeproof.errors import StoreError


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return write_campaign(tmp_path_factory.mktemp("campaign") / "folder")


@pytest.fixture(scope="module")
def whole(folder: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    workspace = tmp_path_factory.mktemp("whole") / "lab"
    assert load_campaign(folder, workspace).exit_code == 0
    open_store(workspace).engine.dispose()
    return workspace


@pytest.fixture
def lab(whole: Path, tmp_path: Path) -> Path:
    return shutil.copytree(whole, tmp_path / "lab")


def flip(path: Path, at: int) -> None:
    damaged = bytearray(path.read_bytes())
    damaged[at] ^= 0x10
    path.write_bytes(damaged)


def edit(lab: Path, *statements: str) -> None:
    raw = sqlite3.connect(lab / "strikeproof.db")
    for statement in statements:
        raw.execute(statement)
    raw.commit()
    raw.close()


def test_a_whole_workspace_has_no_problems(lab: Path) -> None:
    found = check_workspace(lab)
    assert (found.runs, found.traces, found.originals) == (RUNS, RUNS, RUNS + 1)
    assert (found.problems, found.leftovers) == ((), ())


def test_any_flipped_byte_of_any_file_is_named(lab: Path) -> None:
    rng = np.random.default_rng(3)
    files = sorted([*(lab / "traces").iterdir(), *(lab / "originals").iterdir()])
    for path in files:
        at = int(rng.integers(path.stat().st_size))
        flip(path, at)
        (problem,) = check_workspace(lab).problems
        assert problem.file == str(path)
        assert "damaged" in problem.problem
        flip(path, at)
    assert check_workspace(lab).problems == ()


@pytest.mark.parametrize("damage", ["deleted", "emptied", "cut off", "a byte flipped"])
def test_a_damaged_trace_is_made_anew_from_its_log(lab: Path, whole: Path, folder: Path, damage: str) -> None:
    path = min((lab / "traces").iterdir())
    kept = path.read_bytes()
    match damage:
        case "deleted":
            path.unlink()
        case "emptied":
            path.write_bytes(b"")
        case "cut off":
            path.write_bytes(kept[:-100])
        case _:
            flip(path, 50)
    (problem,) = check_workspace(lab).problems
    assert problem.file == str(path)
    assert problem.fix == "load the campaign again: that makes it again from its log"
    assert load_campaign(folder, lab).runs_unchanged == RUNS
    assert check_workspace(lab).problems == ()
    assert content(lab) == content(whole)


def test_a_lost_original_is_named_by_the_name_it_had(lab: Path) -> None:
    path = next(each for each in (lab / "originals").iterdir() if each.read_bytes().startswith(b"applied"))
    kept = path.read_bytes()
    path.unlink()
    (problem,) = check_workspace(lab).problems
    assert (problem.file, problem.problem) == (str(path), "the original of 'calibration.csv' is missing")
    assert "put a copy of it here under this name" in problem.fix
    path.write_bytes(kept)
    assert check_workspace(lab).problems == ()


def test_damaged_originals_come_back_with_the_next_load(lab: Path, whole: Path, folder: Path) -> None:
    originals = sorted((lab / "originals").iterdir())
    for path in originals[::2]:
        flip(path, 5)
    for path in originals[1::2]:
        path.unlink()
    assert len(check_workspace(lab).problems) == RUNS + 1
    assert load_campaign(folder, lab).runs_unchanged == RUNS
    assert check_workspace(lab).problems == ()
    assert content(lab) == content(whole)


def test_several_are_named_at_once(lab: Path) -> None:
    traces, originals = sorted((lab / "traces").iterdir()), sorted((lab / "originals").iterdir())
    traces[0].unlink()
    flip(traces[1], 0)
    flip(originals[2], 0)
    assert {problem.file for problem in check_workspace(lab).problems} == {
        str(each) for each in (traces[0], traces[1], originals[2])
    }


def test_what_nothing_refers_to_is_a_leftover_and_no_problem(lab: Path) -> None:
    (lab / "traces" / ".half.part").write_bytes(b"PAR1")
    (lab / "originals" / "stray").write_bytes(b"")
    found = check_workspace(lab)
    assert found.problems == ()
    assert found.leftovers == ("originals/stray", "traces/.half.part")


@pytest.mark.parametrize(
    ("statement", "says"),
    [
        ("DELETE FROM trace WHERE rowid = 3", "refers to a trace that is not there"),
        ("DELETE FROM campaign", "refers to a campaign that is not there"),
        ("UPDATE run SET trace_sha256 = 'none' WHERE name = 'run-2'", "refers to a trace that is not there"),
        (
            'UPDATE campaign SET record = replace(record, \'"name": "ring"\', \'"name": "rung"\')',
            "run 'run-2' of 'drum rollers' has article 'ring', which the campaign lost",
        ),
        ("UPDATE run SET row = '{' WHERE name = 'run-2'", "cannot be read"),
        ("UPDATE run SET row = '{\"run\": 1}' WHERE name = 'run-2'", "cannot be read"),
        ("UPDATE campaign SET record = '{}'", "cannot be read"),
    ],
)
def test_an_edited_database_is_told(lab: Path, statement: str, says: str) -> None:
    edit(lab, statement)
    problems = check_workspace(lab).problems
    assert problems
    assert any(says in problem.problem for problem in problems), problems
    assert {problem.file for problem in problems} == {str(lab / "strikeproof.db")}
    assert all(problem.fix for problem in problems)


def test_a_damaged_result_is_named_and_never_used(lab: Path) -> None:
    """One digit of a score changed on the disk: the JSON is sound, and the database finds nothing wrong."""
    store = open_store(lab)
    store.keep_facts({"a": {"score": 41.25}, "b": [1.5, None]})
    edit(lab, "UPDATE fact SET value = replace(value, '41.25', '47.25') WHERE key = 'a'")
    edit(lab, "INSERT INTO fact (key, value) VALUES ('kept by an earlier version', '{\"score\": 1.0}')")
    assert store.facts(["a", "b", "kept by an earlier version"]) == {"b": [1.5, None]}
    (problem,) = check_workspace(lab).problems
    assert "saved results are damaged (1)" in problem.problem and f"check -w {lab} --tidy`" in problem.fix
    tidy_workspace(lab)
    assert check_workspace(lab).problems == ()
    store.keep_facts({"a": {"score": 41.25}})
    assert store.facts(["a"]) == {"a": {"score": 41.25}}
    store.engine.dispose()


def test_a_damaged_database_is_told_wherever_it_is_hit(lab: Path) -> None:
    """Each page overwritten in turn: either the store does not open and says so, or `check` tells."""
    edit(lab, "PRAGMA wal_checkpoint(TRUNCATE)")
    path = lab / "strikeproof.db"
    kept = path.read_bytes()
    told = 0
    pages = range(0, len(kept), 4096)
    for at in pages:
        path.write_bytes(kept[:at] + b"\xa5" * 4096 + kept[at + 4096 :])
        try:
            told += bool(check_workspace(lab).problems)
        except StoreError as wrong:
            told += bool(wrong.fix)
        for beside in lab.glob("strikeproof.db-*"):
            beside.unlink(missing_ok=True)  # a connection that is let go of takes its own away
    assert told == len(pages)
    path.write_bytes(kept)
    assert check_workspace(lab).problems == ()


def command(*words: str | Path) -> tuple[int, Any, str]:
    done = subprocess.run(
        [sys.executable, "-m", "strikeproof", *map(str, words)], capture_output=True, text=True, check=False
    )
    return done.returncode, done.stdout, done.stderr


def test_the_command_ends_with_1_and_tells_each_file(lab: Path) -> None:
    trace = min((lab / "traces").iterdir())
    flip(trace, 7)
    code, out, said = command("check", "-w", lab, "--json")
    assert code == 1
    (problem,) = json.loads(out)["problems"]
    assert problem["file"] == str(trace)
    assert str(trace) in said


def test_a_log_that_changed_is_told_and_the_kept_one_stays(lab: Path, folder: Path, tmp_path: Path) -> None:
    changed = shutil.copytree(folder, tmp_path / "changed")
    before = content(lab)
    with (changed / "logs" / "3.csv").open("a") as log:
        log.write("12.00,0.0\n")
    outcome = load_campaign(changed, lab)
    (problem,) = outcome.problems
    assert (Path(problem.file).name, problem.line) == ("runs.csv", 4)
    assert "run 'run-3' is saved already, from another log" in problem.problem
    assert outcome.exit_code == 1
    assert content(lab) == before
    assert check_workspace(lab).leftovers == ()


def test_a_sample_rate_fixed_later_is_taken_up(tmp_path: Path) -> None:
    folder = write_campaign(tmp_path / "folder")
    for log in (folder / "logs").iterdir():
        values = [line.split(",")[1] for line in log.read_text().splitlines()]
        log.write_text("\n".join(values) + "\n")
    toml = (folder / "campaign.toml").read_text()
    for rate, amended in ((80, 0), (50, RUNS), (50, 0)):
        fixed = toml.replace('unit = "kN"', f'unit = "kN"\nsample_rate_hz = {rate}')
        (folder / "campaign.toml").write_text(fixed)
        outcome = load_campaign(folder, tmp_path / "lab")
        assert (outcome.problems, outcome.runs_amended) == ((), amended)
        store = open_store(tmp_path / "lab")
        run = store.find_run(store.campaign(None)[0], "run-1")
        assert run.trace is not None
        time, _load = store.samples(run.trace, "load")
        assert time[-1] == pytest.approx(599 / rate)
    assert check_workspace(tmp_path / "lab").problems == ()
