"""A whole workspace is copied, also while others write, and comes back equal; no good copy is lost."""

from __future__ import annotations

import json
import os
import shutil
import sqlite3
import zipfile
from pathlib import Path

import pytest
import sqlalchemy as sa
from tests.commands import strikeproof
from tests.faults.bench import content, write_campaign
from tests.unit.desk.logged import write_logged

from strikeproof.campaign import database
from strikeproof.campaign.database import writing
from strikeproof.campaign.store import open_store
from strikeproof.desk.loading.load import load_campaign
from strikeproof.desk.runs.judged import judge_runs
from strikeproof.desk.workspace.backup import back_up, restore
from strikeproof.desk.workspace.check import check_workspace
from strikeproof.desk.workspace.opening import open_campaign
from strikeproof.errors import StoreError

RUNS = 8


def scores(lab: Path) -> dict[str, float | None]:
    """The score of every run, to the last digit."""
    return {run.stored.row.run: run.score for run in judge_runs(*open_campaign(lab, None)).runs}


def drop_facts(lab: Path) -> None:
    """Forget all that was worked out."""
    store = open_store(lab)
    with writing(store.engine) as db:
        db.execute(sa.text("DELETE FROM fact"))
    store.engine.dispose()


@pytest.fixture(scope="module")
def whole(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A workspace with a campaign in its own folder, and other files of a person."""
    place = tmp_path_factory.mktemp("whole")
    lab = place / "lab"
    folder = write_logged(lab / "campaigns" / "drum-rollers")
    (lab / "prices.csv").write_text("stock,price\n")
    assert load_campaign(folder, lab).exit_code == 0
    assert None not in scores(lab).values()
    with sqlite3.connect(lab / "strikeproof.db") as raw:
        raw.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    return lab


@pytest.fixture
def lab(whole: Path, tmp_path: Path) -> Path:
    return shutil.copytree(whole, tmp_path / "lab")


@pytest.mark.parametrize("name", ["copy", "copy.zip"])
def test_what_is_restored_is_equal_to_what_was_backed_up(lab: Path, tmp_path: Path, name: str) -> None:
    wanted, judged = content(lab), scores(lab)
    made = back_up(lab, tmp_path / "disk" / name)
    assert (made.runs, made.problems) == (RUNS, ())
    shutil.rmtree(lab)
    back = restore(tmp_path / "disk" / name, tmp_path / "new" / "lab")
    assert (back.runs, back.problems, back.files) == (RUNS, (), made.files)
    new = tmp_path / "new" / "lab"
    assert content(new) == wanted and check_workspace(new).problems == ()
    drop_facts(new)
    assert scores(new) == judged
    assert (new / "prices.csv").read_text() == "stock,price\n"
    assert load_campaign(new / "campaigns" / "drum-rollers", new).runs_unchanged == RUNS
    assert sorted(each.name for each in (tmp_path / "disk").iterdir()) == [name]


def test_facts_are_disposable(lab: Path) -> None:
    before, said = scores(lab), strikeproof("compare", "-w", lab, "--json")[0]
    for _ in range(2):
        drop_facts(lab)
        assert scores(lab) == before
        assert strikeproof("compare", "-w", lab, "--json")[0] == said
    store = open_store(lab)
    with writing(store.engine) as db:  # those that cannot be read are worked out again too
        db.execute(sa.text("UPDATE fact SET value = CASE rowid % 2 WHEN 0 THEN '{' ELSE '' END"))
    store.engine.dispose()
    assert scores(lab) == before
    assert scores(lab) == before


def test_the_next_backup_shares_what_did_not_change(lab: Path, tmp_path: Path) -> None:
    place = tmp_path / "copy"
    back_up(lab, place)
    traces = {path.name: path.stat().st_ino for path in (place / "traces").iterdir()}
    (lab / "prices.csv").write_text("stock,price\nbar,2\n")
    back_up(lab, place)
    assert {path.name: path.stat().st_ino for path in (place / "traces").iterdir()} == traces
    assert (place / "prices.csv").read_text().endswith("bar,2\n")


def test_what_is_damaged_here_is_taken_from_the_backup_before(lab: Path, tmp_path: Path) -> None:
    first, second = sorted((lab / "traces").iterdir())[:2]
    place = tmp_path / "copy"
    back_up(lab, place)
    first.write_bytes(b"PAR1")
    second.unlink()
    assert back_up(lab, place).problems == ()
    found = back_up(lab, tmp_path / "other")
    said = {each.file: each.problem for each in found.problems}
    assert said.keys() == {str(first), str(second)}
    assert "damaged" in said[str(first)] and said[str(second)] == "this trace is missing"
    out, said = strikeproof("backup", "-w", lab, "--to", tmp_path / "other", "--quiet", code=1)
    assert out == "" and str(first) in said


@pytest.mark.parametrize("name", ["copy", "copy.zip"])
def test_nothing_else_is_written_over(lab: Path, tmp_path: Path, name: str) -> None:
    place = tmp_path / name
    if name.endswith(".zip"):
        with zipfile.ZipFile(place, "w") as archive:
            archive.writestr("thesis.txt", "years of work")
    else:
        place.mkdir()
        (place / "thesis.txt").write_text("years of work")
    with pytest.raises(StoreError, match="no backup is there; move it away"):
        back_up(lab, place)
    assert place.exists() and len(list(tmp_path.iterdir())) == 2
    for inside in (lab / "backup", tmp_path):
        with pytest.raises(StoreError, match="within the workspace, or around it"):
            back_up(lab, inside)


def test_a_lost_workspace_takes_no_place_of_a_good_backup(lab: Path, tmp_path: Path) -> None:
    place = tmp_path / "copy"
    back_up(lab, place)
    kept = content(place)
    other = tmp_path / "other"
    load_campaign(write_campaign(tmp_path / "folder", rows=50), other)
    with pytest.raises(StoreError, match="another workspace"):
        back_up(other, place)
    open_store(tmp_path / "empty", make=True).engine.dispose()
    with pytest.raises(StoreError, match="another workspace"):
        back_up(tmp_path / "empty", place)
    with sqlite3.connect(lab / "strikeproof.db") as raw:
        raw.execute("DELETE FROM event WHERE run_id = 1")
        raw.execute("DELETE FROM run WHERE id = 1")
    with pytest.raises(StoreError, match=f"{RUNS} runs, and the workspace has only {RUNS - 1}"):
        back_up(lab, place)
    (lab / "strikeproof.db").write_bytes(b"SQLite format 3\0" + b"\xa5" * 9000)
    with pytest.raises(StoreError):
        back_up(lab, place)
    assert content(place) == kept
    assert not [each for each in tmp_path.iterdir() if each.name.startswith(".")]


def test_a_restore_refuses_a_folder_with_something_in_it(lab: Path, tmp_path: Path) -> None:
    back_up(lab, tmp_path / "copy")
    for there in (lab, lab / "prices.csv"):
        _, said = strikeproof("restore", tmp_path / "copy", "-w", there, code=2)
        assert "something is there already" in said
    (tmp_path / "new").mkdir()
    strikeproof("restore", tmp_path / "copy", "-w", tmp_path / "new")
    strikeproof("restore", tmp_path / "gone", "-w", tmp_path / "newer", code=2)
    assert not (tmp_path / "newer").exists()


@pytest.mark.parametrize("name", ["copy", "copy.zip"])
def test_a_damaged_backup_gives_back_what_is_whole_and_names_the_rest(
    lab: Path, tmp_path: Path, name: str
) -> None:
    place = tmp_path / name
    trace = min((lab / "traces").iterdir())
    body = trace.read_bytes()
    back_up(lab, place)
    file = place if name.endswith(".zip") else place / "traces" / trace.name
    raw = file.read_bytes()
    at = raw.index(body) + len(body) // 2
    file.write_bytes(raw[:at] + bytes([raw[at] ^ 1]) + raw[at + 1 :])
    found = restore(place, tmp_path / "new")
    assert f"traces/{trace.name}" in found.problems[0].file and "damaged" in found.problems[0].problem
    assert found.runs == RUNS and not (tmp_path / "new" / "traces" / trace.name).exists()
    assert load_campaign(tmp_path / "new" / "campaigns" / "drum-rollers", tmp_path / "new").exit_code == 0
    assert check_workspace(tmp_path / "new").problems == ()


def test_a_damaged_list_or_database_is_refused(lab: Path, tmp_path: Path) -> None:
    place = tmp_path / "copy"
    back_up(lab, place)
    listed = (place / "backup.json").read_text()
    for wrong in (
        listed.replace("prices.csv", "prices.csw"),
        listed.replace("prices.csv", "../prices.csv"),
        listed[:-9],
        "[]",
        "5",
        "{}",
    ):
        (place / "backup.json").write_text(wrong)
        with pytest.raises(StoreError, match="is damaged"):
            restore(place, tmp_path / "new")
    (place / "backup.json").write_text(listed)
    (place / "strikeproof.db").write_bytes(b"no database")
    with pytest.raises(StoreError, match="the database in it is missing or damaged"):
        restore(place, tmp_path / "new")
    assert not (tmp_path / "new").exists()


def test_a_link_is_named_and_not_followed(lab: Path, tmp_path: Path) -> None:
    (tmp_path / "secret").write_text("of another person")
    (lab / "campaigns" / "link.csv").symlink_to(tmp_path / "secret")
    os.mkfifo(lab / "campaigns" / "pipe")
    found = back_up(lab, tmp_path / "copy")
    assert [Path(each.file).name for each in found.problems] == ["link.csv", "pipe"]
    assert not (tmp_path / "copy" / "campaigns" / "link.csv").exists()


def test_check_says_how_old_the_last_backup_is(lab: Path, tmp_path: Path) -> None:
    assert "no backup yet" in strikeproof("check", "-w", lab)[0]
    assert json.loads(strikeproof("check", "-w", lab, "--json")[0])["last_backup"] is None
    assert strikeproof("backup", "-w", lab, "--to", tmp_path / "copy", "--quiet") == ("", "")
    place = str(tmp_path / "copy")
    assert f"last backup: a minute or less ago, in {place}\n" in strikeproof("check", "-w", lab)[0]
    made = json.loads((lab / "last-backup.json").read_text())
    (lab / "last-backup.json").write_text(json.dumps({**made, "made_at": "2020-02-29T12:00:00+00:00"}))
    shutil.rmtree(place)
    said = json.loads(strikeproof("check", "-w", lab, "--json")[0])["last_backup"]
    assert said["age_s"] > 5 * 365 * 86_400 and not said["is_there"]
    assert "days ago" in strikeproof("check", "-w", lab)[0]
    for wrong in ("{", "[]", '{"made_at": "yesterday", "place": "x"}', '{"made_at": 5, "place": 5}', ""):
        (lab / "last-backup.json").write_text(wrong)
        assert "no backup yet" in strikeproof("check", "-w", lab)[0]


def test_a_workspace_that_was_moved_and_renamed_is_the_same(lab: Path, tmp_path: Path) -> None:
    wanted, judged = content(lab), scores(lab)
    back_up(lab, tmp_path / "copy")
    moved = lab.rename(tmp_path / "Lab 2 (100%) ?#")
    assert content(moved) == wanted and check_workspace(moved).problems == ()
    assert load_campaign(moved / "campaigns" / "drum-rollers", moved).runs_unchanged == RUNS
    assert back_up(moved, tmp_path / "copy").problems == ()
    drop_facts(moved)
    assert scores(moved) == judged


def test_a_workspace_that_may_not_be_written_is_read_and_backed_up(
    lab: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    wanted, judged = content(lab), scores(lab)
    drop_facts(lab)
    with sqlite3.connect(lab / "strikeproof.db") as raw:
        raw.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    before = {path: path.stat().st_mtime_ns for path in lab.glob("strikeproof*")}
    monkeypatch.setattr(database, "may_write", lambda folder: folder != lab)
    assert scores(lab) == judged and content(lab) == wanted and check_workspace(lab).problems == ()
    with pytest.raises(StoreError, match="check the permissions of the workspace"):
        load_campaign(write_campaign(tmp_path / "folder", "other", rows=50), lab)
    assert {path: path.stat().st_mtime_ns for path in lab.glob("strikeproof*")} == before
    assert back_up(lab, tmp_path / "copy").runs == RUNS
    (lab / "strikeproof.db-wal").write_bytes(b"what was not closed")
    with pytest.raises(StoreError, match="was not closed"):
        open_store(lab)


@pytest.mark.parametrize("schema", ["0001", "0002", "0003"])
def test_an_older_schema_is_backed_up_and_restored_as_the_newest(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, schema: str
) -> None:
    monkeypatch.setattr(database, "NEWEST", schema)
    store = open_store(tmp_path / "lab", make=True)
    with writing(store.engine) as db:
        db.execute(sa.text("INSERT INTO original VALUES ('none', '1.csv', 5)"))
    store.engine.dispose()
    shutil.copytree(tmp_path / "lab", tmp_path / "read-only")
    monkeypatch.undo()
    found = back_up(tmp_path / "lab", tmp_path / "copy")
    assert [each.problem for each in found.problems] == ["the original of '1.csv' is missing"]
    assert restore(tmp_path / "copy", tmp_path / "new").problems
    store = open_store(tmp_path / "new")
    with store.engine.connect() as db:
        version = db.scalar(sa.text("SELECT version_num FROM alembic_version"))
    store.engine.dispose()
    assert version == database.NEWEST
    monkeypatch.setattr(database, "may_write", lambda _folder: False)
    with pytest.raises(StoreError, match="of an earlier version, and may not be written"):
        open_store(tmp_path / "read-only")


def test_a_newer_schema_is_refused_and_nothing_is_left(lab: Path, tmp_path: Path) -> None:
    newer = "UPDATE alembic_version SET version_num = '0999'"
    back_up(lab, tmp_path / "copy")
    with sqlite3.connect(lab / "strikeproof.db") as raw:
        raw.execute(newer)
    with pytest.raises(StoreError, match="update Strikeproof"):
        back_up(lab, tmp_path / "copy")
    with pytest.MonkeyPatch.context() as patch:  # as the newer program would make it
        patch.setattr(database, "NEWEST", "0999")
        back_up(lab, tmp_path / "newer")
    _, said = strikeproof("restore", tmp_path / "newer", "-w", tmp_path / "new", code=2)
    assert "update Strikeproof" in said and not (tmp_path / "new").exists()


def test_a_kill_between_the_two_renames_loses_no_backup(lab: Path, tmp_path: Path) -> None:
    place = tmp_path / "co*py"
    for use in (lambda: restore(place, tmp_path / "new"), lambda: back_up(lab, place)):
        back_up(lab, place)
        place.rename(tmp_path / ".co*py.0123abcd.old")
        assert use().problems == ()
        assert sorted(each.name for each in tmp_path.iterdir() if "py" in each.name) == ["co*py"]


def test_a_backup_whose_list_cannot_be_unpacked_is_said(lab: Path, tmp_path: Path) -> None:
    place = tmp_path / "b.zip"
    back_up(lab, place)
    with zipfile.ZipFile(place) as archive:
        entry = archive.getinfo("backup.json")
    raw = bytearray(place.read_bytes())
    begin = entry.header_offset + 30 + len(entry.filename)
    raw[begin : begin + 40] = b"\xff" * 40
    place.write_bytes(raw)
    with pytest.raises(StoreError, match="its list is damaged"):
        restore(place, tmp_path / "new")
