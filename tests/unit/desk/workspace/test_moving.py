"""A workspace's database goes to a server whole, and its old file takes no more writing."""

from __future__ import annotations

import shutil
import sqlite3
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest
from tests.commands import strikeproof
from tests.database_server import Server
from tests.faults.bench import content, write_campaign
from tests.json_keys import printed

from strikeproof.campaign.database import open_database
from strikeproof.campaign.database_server import ADDRESS
from strikeproof.campaign.store import open_store
from strikeproof.desk.loading.load import load_campaign
from strikeproof.desk.workspace import moving
from strikeproof.desk.workspace.backup import back_up, restore
from strikeproof.desk.workspace.check import check_workspace
from strikeproof.desk.workspace.moving import move_workspace
from strikeproof.errors import BadInput, StoreError


@pytest.fixture(scope="module")
def whole(tmp_path_factory: pytest.TempPathFactory) -> Path:
    place = tmp_path_factory.mktemp("whole")
    assert load_campaign(write_campaign(place / "folder"), place / "lab").exit_code == 0
    store = open_store(place / "lab")
    store.keep_facts({"a": {"score": 1.5, "not a number": float("nan"), "läb": None}})
    store.engine.dispose()
    return place / "lab"


@pytest.fixture
def lab(whole: Path, tmp_path: Path) -> Path:
    return shutil.copytree(whole, tmp_path / "lab")


@pytest.fixture
def empty(server: Server, request: pytest.FixtureRequest) -> str:
    """The address of a database without tables."""
    return server.new_database(f"db_{abs(hash(request.node.nodeid))}", template="template0")


def test_all_arrives_and_goes_on_there(lab: Path, empty: str, tmp_path: Path) -> None:
    before, waiting = content(lab), open_store(lab)
    said, _errors = strikeproof("move", "-w", lab, "--to", empty)
    assert "run                12 rows, the same on the server" in said
    assert (lab / ADDRESS).read_text() == f"{empty}\n"
    assert content(lab) == before
    store = open_store(lab)
    assert store.facts(["a"])["a"]["score"] == 1.5
    key, campaign = store.campaign(None)
    store.keep_campaign(campaign, tmp_path)  # keys go on after those that were brought
    store.set_aside(store.find_run(key, "run-1"), "slipped")
    with pytest.raises(StoreError, match="have moved to a database server"):
        waiting.set_aside(waiting.find_run(key, "run-2"), "slipped")
    assert check_workspace(lab).problems == ()
    # A backup has the database as a file again, and comes back as a workspace of its own.
    now = content(lab)
    assert back_up(lab, tmp_path / "backup").problems == ()
    assert restore(tmp_path / "backup", tmp_path / "again").problems == ()
    assert not (tmp_path / "again" / ADDRESS).exists()
    assert content(tmp_path / "again") == now


def test_cut_off_before_the_end_it_can_be_repeated(
    lab: Path, empty: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(_path: Path, _content: str) -> None:
        raise StoreError("disk full", "free some")

    before = content(lab)
    with monkeypatch.context() as patch:
        patch.setattr(moving, "write_whole", full)
        with pytest.raises(StoreError, match="disk full"):
            move_workspace(lab, empty)
    with pytest.raises(StoreError, match="on a database server"):
        open_store(lab)
    move_workspace(lab, empty)
    assert content(lab) == before
    # With the address lost and a word spoken since, the old file is no longer all there is.
    store = open_store(lab)
    store.set_aside(store.find_run(store.campaign(None)[0], "run-1"), "slipped")
    (lab / ADDRESS).unlink()
    with pytest.raises(StoreError, match="something else") as wrong:
        move_workspace(lab, empty)
    assert empty in wrong.value.fix


def test_what_cannot_be_moved_stays_as_it_is(lab: Path, empty: str, server: Server, tmp_path: Path) -> None:
    other = server.new_workspace(tmp_path / "other")
    assert load_campaign(write_campaign(tmp_path / "folder", "autumn"), other).exit_code == 0
    port = int(server.address.rsplit(":", 1)[1])
    for address, kind, said in (
        ((other / ADDRESS).read_text(), StoreError, "something else"),
        (f"{server.address}/nowhere", StoreError, "does not exist"),
        (empty.replace(str(port), "1"), StoreError, "cannot be opened"),
        (empty.replace("bench@", "bench:secret@"), BadInput, "password"),
        ("sqlite:///x", BadInput, "no address"),
        (server.address, BadInput, "no address"),
        ("?", BadInput, "no address"),
    ):
        with pytest.raises(kind, match=said):
            move_workspace(lab, address)
        assert not (lab / ADDRESS).exists()
    trace = next((lab / "traces").iterdir())
    trace.write_bytes(b"spoiled")
    with pytest.raises(StoreError, match="not moved"):
        move_workspace(lab, empty)
    assert not (lab / ADDRESS).exists()
    open_store(lab)


def test_the_workspace_says_what_is_wrong_with_its_address(lab: Path, empty: str) -> None:
    assert printed("move", "-w", lab, "--to", empty)["tables"][0]["table"] == "campaign"
    (lab / ADDRESS).write_text("postgresql://bench@127.0.0.1:1/gone")
    with pytest.raises(StoreError, match="cannot be opened") as silent:
        open_store(lab)
    assert "check that the database server runs" in silent.value.fix
    (lab / ADDRESS).write_text("nonsense")
    with pytest.raises(StoreError, match="no address"):
        open_store(lab)


def test_the_file_that_was_left_says_so_to_an_open_program(lab: Path, empty: str) -> None:
    with sqlite3.connect(lab / "strikeproof.db") as raw:
        move_workspace(lab, empty)
        for act in ("DELETE FROM run", "UPDATE event SET kind = 'x'", "DELETE FROM fact"):
            with pytest.raises(sqlite3.IntegrityError, match="have moved"):
                raw.execute(act)


def test_steps_of_the_schema_are_the_same_on_a_server(server: Server, tmp_path: Path) -> None:
    from alembic.autogenerate import compare_metadata
    from alembic.migration import MigrationContext

    from strikeproof.campaign.database_server import parse_address
    from strikeproof.campaign.schema import metadata

    engine = open_database(parse_address(server.new_database("steps", template="template0")), tmp_path)
    with engine.connect() as db:
        assert compare_metadata(MigrationContext.configure(db, opts={"compare_type": True}), metadata) == []


def test_of_two_moves_at_once_one_is_refused(lab: Path, server: Server) -> None:
    addresses = [server.new_database(f"pair_{each}", template="template0") for each in "ab"]
    with ThreadPoolExecutor() as both:
        moves = [both.submit(move_workspace, lab, each) for each in addresses]
    failed = [each.exception() for each in moves if each.exception()]
    assert [str(each).count("on a server already") for each in failed] == [1]
    moved = next(each.result() for each in moves if not each.exception())
    assert (lab / ADDRESS).read_text().strip() == moved.server
