"""The database opens at the newest schema, from nothing or not at all, for two at once too."""

import json
import multiprocessing
import sqlite3
from pathlib import Path
from typing import Any

import pytest
import sqlalchemy as sa
from alembic.autogenerate import compare_metadata
from alembic.migration import MigrationContext
from alembic.script import ScriptDirectory
from sqlalchemy.dialects import postgresql
from sqlalchemy.schema import CreateIndex, CreateTable

import strikeproof.campaign.database
import strikeproof.campaign.migrations
from strikeproof.campaign import schema as tables
from strikeproof.campaign.database import NEWEST, _fix, open_database, reading, writing
from strikeproof.campaign.records import RunRow
from strikeproof.campaign.run_rows import Saved
from strikeproof.campaign.store import Store
from strikeproof.errors import StoreError


def open_at(folder: Path) -> sa.Engine:
    return open_database(f"sqlite:///{folder / 'strikeproof.db'}", folder)


def test_an_empty_file_is_brought_to_the_newest_schema(tmp_path: Path) -> None:
    (tmp_path / "strikeproof.db").touch()
    engine = open_at(tmp_path)
    assert set(sa.inspect(engine).get_table_names()) == {*tables.metadata.tables, "alembic_version"}
    with reading(engine) as db:
        assert db.scalar(sa.text("SELECT version_num FROM alembic_version")) == NEWEST
        assert db.scalar(sa.text("PRAGMA journal_mode")) == "wal"
        assert db.scalar(sa.text("PRAGMA synchronous")) == 2  # FULL
        assert db.scalar(sa.text("PRAGMA foreign_keys")) == 1


def test_a_percent_sign_in_the_programs_own_path_is_no_reference(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    place = tmp_path / "100%s sure"
    place.mkdir()
    (place / "migrations").symlink_to(Path(strikeproof.campaign.migrations.__file__).parent)
    monkeypatch.setattr(strikeproof.campaign.database, "__file__", str(place / "database.py"))
    assert "alembic_version" in sa.inspect(open_at(tmp_path)).get_table_names()


def test_the_schema_is_what_the_migrations_make(tmp_path: Path) -> None:
    engine = open_at(tmp_path)
    with engine.connect() as connection:
        context = MigrationContext.configure(connection, opts={"compare_type": True})
        assert compare_metadata(context, tables.metadata) == []


def test_the_comparison_above_would_see_a_difference(tmp_path: Path) -> None:
    with sqlite3.connect(tmp_path / "strikeproof.db") as raw:
        raw.execute("CREATE TABLE stray (id INTEGER)")
    engine = open_at(tmp_path)
    with engine.connect() as connection:
        found = compare_metadata(MigrationContext.configure(connection), tables.metadata)
    assert [(kind, table.name) for kind, table in found] == [("remove_table", "stray")]


def test_a_workspace_of_the_first_schema_keeps_its_decisions(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Whether a run is set aside was in its row too; now only its history says so, and its sheet did."""
    monkeypatch.setattr(strikeproof.campaign.database, "NEWEST", "0001")
    engine = open_at(tmp_path)
    row = {"run": "1", "article": "plain", "tool": "air", "block": "a", "score": 5.0, "set_aside": "spoiled"}
    with writing(engine) as db:
        for statement, values in (
            ("INSERT INTO campaign VALUES (1, 'c', :record, '/bench', 'now')", {"record": "{}"}),
            ("INSERT INTO run VALUES (1, 1, '1', 0, :row, NULL)", {"row": json.dumps(row)}),
            ("INSERT INTO event VALUES (1, 1, 'now', 'set aside', 'spoiled', 'sheet')", {}),
        ):
            db.execute(sa.text(statement), values)
    engine.dispose()
    monkeypatch.undo()
    store = Store(tmp_path)
    (run,) = store.runs(1)
    assert (run.set_aside, run.row.set_aside, run.row.score) == ("spoiled", None, 5.0)
    store.put_back(run)
    said = RunRow(**row)
    assert store.keep_run(1, 0, said, None, "/bench/runs.csv") == Saved.UNCHANGED
    assert store.find_run(1, "1").set_aside is None


def test_the_steps_are_one_line_that_ends_at_the_newest() -> None:
    steps = ScriptDirectory(str(Path(strikeproof.campaign.migrations.__file__).parent))
    assert steps.get_heads() == [NEWEST]
    revisions = [step.revision for step in steps.walk_revisions()]
    assert revisions == sorted(revisions, reverse=True)  # so that "newer" can be told by order


def test_nothing_in_the_schema_is_of_one_database_only() -> None:
    """The same tables in the SQL of PostgreSQL."""
    dialect = postgresql.dialect()  # type: ignore[no-untyped-call]  # the library has no types there
    for table in tables.metadata.sorted_tables:
        text = str(CreateTable(table).compile(dialect=dialect))
        assert f"CREATE TABLE {table.name}" in text
        assert "AUTOINCREMENT" not in text
        for index in table.indexes:
            assert "CREATE INDEX" in str(CreateIndex(index).compile(dialect=dialect))
    assert "id SERIAL NOT NULL" in str(CreateTable(tables.run).compile(dialect=dialect))


def test_a_newer_schema_is_refused_with_the_fix(tmp_path: Path) -> None:
    engine = open_at(tmp_path)
    with writing(engine) as db:
        db.execute(sa.text("UPDATE alembic_version SET version_num = '0999'"))
    before = (tmp_path / "strikeproof.db").stat().st_mtime_ns
    with pytest.raises(StoreError, match=r"written by a newer Strikeproof .*; update Strikeproof"):
        open_at(tmp_path)
    assert (tmp_path / "strikeproof.db").stat().st_mtime_ns == before


@pytest.mark.parametrize(
    "content", [b"run,log,article\n1,1.csv,plain\n" * 50, b"SQLite format 3\x00" + b"\xff" * 5000]
)
def test_what_is_no_database_is_told(tmp_path: Path, content: bytes) -> None:
    (tmp_path / "strikeproof.db").write_bytes(content)
    with pytest.raises(StoreError, match=r"cannot be opened: .*; restore it from a copy"):
        open_at(tmp_path)
    assert (tmp_path / "strikeproof.db").read_bytes() == content


def test_a_transaction_is_kept_whole_or_not_at_all(tmp_path: Path) -> None:
    engine = open_at(tmp_path)

    def count() -> int:
        with reading(engine) as db:
            return db.scalar(sa.select(sa.func.count()).select_from(tables.fact)) or 0

    def keep_twice(then: type[Exception] | None = None) -> None:
        with writing(engine) as db:
            db.execute(tables.fact.insert().values(key="a", value=1))
            if then:
                raise then
            db.execute(tables.fact.insert().values(key="a", value=2))

    with pytest.raises(ZeroDivisionError):
        keep_twice(ZeroDivisionError)
    assert count() == 0
    with pytest.raises(StoreError, match="UNIQUE"):
        keep_twice()
    assert count() == 0


def test_a_reference_to_nothing_is_refused(tmp_path: Path) -> None:
    engine = open_at(tmp_path)
    with pytest.raises(StoreError, match="FOREIGN KEY"), writing(engine) as db:
        db.execute(tables.event.insert().values(run_id=7, at="", kind="loaded", by="sheet"))


def _open_together(folder: Path, start: Any, told: Any) -> None:
    start.wait()
    try:
        engine = open_at(folder)
        with writing(engine) as db:
            db.execute(tables.fact.insert().values(key=multiprocessing.current_process().name, value=1))
        told.put("")
    except BaseException as wrong:
        told.put(repr(wrong))


def test_several_processes_open_a_new_workspace_at_once(tmp_path: Path) -> None:
    process = multiprocessing.get_context("forkserver")
    process.set_forkserver_preload(["strikeproof.campaign.database", "alembic.command"])
    for attempt in range(6):
        folder = tmp_path / str(attempt)
        folder.mkdir()
        start, told = process.Barrier(4), process.Queue()
        workers = [process.Process(target=_open_together, args=(folder, start, told)) for _ in range(4)]
        for worker in workers:
            worker.start()
        answers = [told.get(timeout=60) for _ in workers]
        for worker in workers:
            worker.join()
        assert answers == [""] * 4
        with reading(open_at(folder)) as db:
            assert db.scalar(sa.select(sa.func.count()).select_from(tables.fact)) == 4


def test_a_workspace_that_holds_odd_characters_is_cleaned_once(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """They came in before texts were judged; no run and no reason is lost with them."""
    monkeypatch.setattr(strikeproof.campaign.database, "NEWEST", "0004")
    engine = open_at(tmp_path)
    row = {"run": "r\x1b1", "article": "pl\x07ain", "tool": "air", "block": "a", "log": "r\x1b1.csv"}
    sheets = {"/bench/runs.csv": {**row, "note": "half \ud800"}}
    with writing(engine) as db:
        db.execute(
            sa.text("INSERT INTO campaign VALUES (1, :name, :record, '/bench', 'now', 'x')"),
            {"name": "c\x1b", "record": json.dumps({"name": "c\x1b", "reference": "pl\x07ain"})},
        )
        for key, name in ((1, "r\x1b1"), (2, "r\x021"), (3, "r3")):
            said = {**row, "run": name, "note": "sl\0ipped"}
            db.execute(
                sa.text("INSERT INTO run VALUES (:key, 1, :name, 0, :row, NULL, :sheets)"),
                {"key": key, "name": name, "row": json.dumps(said), "sheets": json.dumps(sheets)},
            )
        db.execute(
            sa.text("INSERT INTO event VALUES (1, 3, 'now', 'set aside', :why, 'sheet', NULL)"),
            {"why": "\x1b[2J"},
        )
    engine.dispose()
    monkeypatch.undo()
    store, mark = Store(tmp_path), "\N{REPLACEMENT CHARACTER}"
    runs = {run.row.run: run for run in store.runs(1)}
    assert list(runs) == [f"r{mark}1", f"r{mark}1 2", "r3"]
    assert {(run.row.article, run.row.note, run.row.log) for run in runs.values()} == {
        (f"pl{mark}ain", f"sl{mark}ipped", "r\x1b1.csv")
    }
    assert runs["r3"].set_aside == f"{mark}[2J"
    assert [each.because for each in store.history(runs[f"r{mark}1"])] == ["run"]
    assert store.campaigns() == (f"c{mark}",)


@pytest.mark.parametrize(
    ("code", "says"),
    [
        (sqlite3.SQLITE_FULL, "free some disk space"),
        (sqlite3.SQLITE_IOERR | 19 << 8, "check that the disk has room"),
        (sqlite3.SQLITE_BUSY, "other work"),
    ],
)
def test_what_to_do_follows_from_the_code_whatever_the_words(code: int, says: str) -> None:
    wrong = sqlite3.OperationalError("das geht nicht")
    wrong.sqlite_errorcode = code
    assert says in _fix(wrong)


def test_a_disk_that_takes_no_lock_is_reported_as_that(tmp_path: Path) -> None:
    (tmp_path / ".schema.lock").mkdir()  # opening it for writing fails, as it does on a failing disk
    with pytest.raises(StoreError, match=r"the workspace cannot be opened: .*; check that the disk"):
        open_at(tmp_path)
