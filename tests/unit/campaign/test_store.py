"""The store: kept is kept, twice is once, and nothing said of a run is ever lost."""

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import sqlalchemy as sa
from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, invariant, rule

from strikeproof.campaign import schema as tables
from strikeproof.campaign import store as store_module
from strikeproof.campaign.database import reading
from strikeproof.campaign.kept import KeptTrace
from strikeproof.campaign.records import (
    Article,
    Bolt,
    CalibrationSource,
    Campaign,
    Protocol,
    Rig,
    RunRow,
    ScoreRule,
    Tool,
)
from strikeproof.campaign.run_rows import Saved
from strikeproof.campaign.store import Store, open_store
from strikeproof.errors import BadInput, NotFound, StoreError

CAMPAIGN = Campaign(
    name="drum rollers",
    reference="plain",
    margin_percent=3.0,
    currency="SEK",
    protocol=Protocol(score=ScoreRule("time to", level=400.0, level_unit="N m"), cool_down_s=60.0),
    rig=Rig("bench", unit="kN", full_scale=250.0),
    bolt=Bolt(thread="M20", property_class="10.9"),
    tools=(Tool("air", mechanism="air"),),
    articles=(Article("plain", price=12.0), Article("ring", geometry='{"part": []}')),
    calibration=CalibrationSource("c.csv", "N m", degree=2),
    simulated=True,
)
ROW = RunRow("1", "plain", "air", "a", log="1.csv", line=2)


@pytest.fixture(params=["file", "server"])
def store(request: pytest.FixtureRequest, tmp_path: Path) -> Store:
    """An empty workspace, its database a file in it or on a server: all holds for both."""
    if request.param == "server":
        request.getfixturevalue("server").new_workspace(tmp_path / "lab")
    return open_store(tmp_path / "lab", make=True)


def keep_trace(store: Store, level: float, *, rate: float = 100.0, log: str | None = None) -> KeptTrace:
    """A trace on disk, as a load leaves it: its original first, then its samples."""
    original = (log or f"log of {level}").encode()
    time = np.arange(50) / rate
    return KeptTrace(
        sha256=store.keep_trace(time, {"load": np.full(50, level), "temp": time}),
        original_sha256=store.keep_original(original),
        original_name="1.csv",
        original_bytes=len(original),
        samples=50,
        sample_rate_hz=rate,
        started="2026-05-04T09:30:00",
        channels=(("load", "kN"), ("temp", None)),
        findings=({"kind": "gap", "channel": None, "first_line": 3, "count": 1, "detail": "late"},),
    )


def everything(store: Store) -> dict[str, list[tuple[Any, ...]]]:
    """All rows of all tables."""
    with reading(store.engine) as db:
        return {
            table.name: [tuple(row) for row in db.execute(sa.select(table))]
            for table in tables.metadata.sorted_tables
        }


def test_a_campaign_and_a_run_come_back_as_they_were_kept(store: Store, tmp_path: Path) -> None:
    key = store.keep_campaign(CAMPAIGN, tmp_path)
    trace = keep_trace(store, 100.0)
    assert store.keep_run(key, 0, ROW, trace) == Saved.LOADED
    later = open_store(store.folder)
    assert later.campaign(None) == (key, CAMPAIGN)
    (run,) = later.runs(key)
    assert run.row == replace(ROW, line=None)
    assert (run.trace, run.set_aside, run.ordinal) == (trace, None, 0)
    time, load = later.samples(trace, "load")
    np.testing.assert_array_equal(time, np.arange(50) / 100.0)
    np.testing.assert_array_equal(load, np.full(50, 100.0))


def test_twice_changes_nothing(store: Store, tmp_path: Path) -> None:
    def load() -> str:
        key = store.keep_campaign(CAMPAIGN, tmp_path)
        content = (store.keep_original(b"applied,reading"), "c.csv", 15)
        store.keep_calibration(key, content, [{"applied": 1.0, "reading": 2.0, "line": 2}])
        return store.keep_run(key, 0, ROW, keep_trace(store, 100.0))

    assert load() == Saved.LOADED
    before, files = everything(store), sorted(store.folder.rglob("*"))
    assert load() == Saved.UNCHANGED
    assert store.keep_run(1, 0, replace(ROW, line=99), keep_trace(store, 100.0)) == Saved.UNCHANGED
    assert everything(store) == before
    assert sorted(store.folder.rglob("*")) == files


def test_what_the_sheet_says_anew_is_taken_up_and_noted(store: Store, tmp_path: Path) -> None:
    key = store.keep_campaign(CAMPAIGN, tmp_path)
    trace = keep_trace(store, 100.0)
    store.keep_run(key, 0, ROW, trace)
    assert store.keep_run(key, 3, replace(ROW, note="oiled", article="ring"), trace) == Saved.AMENDED
    run = store.find_run(key, "1")
    assert (run.row.note, run.row.article, run.ordinal) == ("oiled", "ring", 3)
    assert [(event.kind, event.because) for event in store.history(run)] == [
        ("loaded", None),
        ("amended", "article: plain -> ring; note: none -> oiled"),
    ]


def test_the_history_keeps_the_score_that_a_sheet_changed(store: Store, tmp_path: Path) -> None:
    key = store.keep_campaign(CAMPAIGN, tmp_path)
    store.keep_run(key, 0, replace(ROW, log=None, score=66.6), None)
    store.keep_run(key, 0, replace(ROW, log=None, score=67.0), None)
    assert store.history(store.find_run(key, "1"))[-1].because == "score: 66.6 -> 67"


def test_a_run_is_set_aside_and_put_back_and_both_are_remembered(store: Store, tmp_path: Path) -> None:
    key = store.keep_campaign(CAMPAIGN, tmp_path)
    store.keep_run(key, 0, ROW, keep_trace(store, 100.0))
    store.set_aside(store.find_run(key, "1"), "jaw slipped")
    assert store.find_run(key, "1").set_aside == "jaw slipped"
    store.put_back(store.find_run(key, "1"))
    run = store.find_run(key, "1")
    assert run.set_aside is None
    told = [(event.kind, event.because, event.by) for event in store.history(run)]
    assert told == [
        ("loaded", None, "sheet"),
        ("set aside", "jaw slipped", "person"),
        ("put back", None, "person"),
    ]
    instants = [event.at for event in store.history(run)]
    assert instants == sorted(instants)


def test_a_persons_word_holds_until_the_sheet_says_something_new(store: Store, tmp_path: Path) -> None:
    key = store.keep_campaign(CAMPAIGN, tmp_path)
    trace = keep_trace(store, 100.0)
    spoiled = replace(ROW, set_aside="spoiled")

    def load(row: RunRow) -> str | None:
        store.keep_run(key, 0, row, trace)
        return store.find_run(key, "1").set_aside

    assert load(spoiled) == "spoiled"
    store.put_back(store.find_run(key, "1"))
    assert load(spoiled) is None
    assert load(replace(spoiled, note="oiled")) is None
    assert load(replace(spoiled, set_aside="bolt yielded")) == "bolt yielded"
    store.set_aside(store.find_run(key, "1"), "seen on film")
    assert load(replace(spoiled, set_aside="bolt yielded")) == "seen on film"
    assert load(ROW) is None


def test_a_patch_changes_what_it_names_and_nothing_else(store: Store, tmp_path: Path) -> None:
    key = store.keep_campaign(CAMPAIGN, tmp_path)
    store.keep_run(key, 0, replace(ROW, log=None, score=5.0), None)
    store.set_aside(store.find_run(key, "1"), "jaw slipped")
    store.amend_run(store.find_run(key, "1"), {"note": "loud"})
    store.amend_run(store.find_run(key, "1"), {"note": "loud"})  # says nothing that is not known
    run = store.find_run(key, "1")
    assert (run.row.note, run.row.score, run.set_aside) == ("loud", 5.0, "jaw slipped")
    assert [(event.kind, event.because, event.by) for event in store.history(run)][1:] == [
        ("set aside", "jaw slipped", "person"),
        ("amended", "note: none -> loud", "person"),
    ]
    with pytest.raises(ValueError, match="set_aside"):
        store.amend_run(run, {"set_aside": None})


def test_a_sheet_that_lags_behind_undoes_nothing(store: Store, tmp_path: Path) -> None:
    """Two sheets of one campaign: that of its folder, and the copy in which runs are recorded."""
    key = store.keep_campaign(CAMPAIGN, tmp_path)
    trace = keep_trace(store, 100.0)
    store.keep_run(key, 0, ROW, trace, "folder")
    said = replace(ROW, note="loud", set_aside="jaw slipped")
    assert store.keep_run(key, 0, said, trace, "copy") == Saved.AMENDED  # another sheet, and new words
    for sheet, row in (("folder", ROW), ("moved folder", ROW), ("copy", said)):
        assert store.keep_run(key, 0, row, trace, sheet) == Saved.UNCHANGED
    run = store.find_run(key, "1")
    assert (run.row.note, run.set_aside) == ("loud", "jaw slipped")
    assert store.keep_run(key, 0, ROW, trace, "copy") == Saved.AMENDED  # erased by hand
    run = store.find_run(key, "1")
    assert (run.row.note, run.set_aside) == (None, None)


def test_an_older_copy_includes_no_run_again(store: Store, tmp_path: Path) -> None:
    """The only known sheet says the reason by now; a copy from before at another path does not know it."""
    key = store.keep_campaign(CAMPAIGN, tmp_path)
    trace = keep_trace(store, 100.0)
    store.keep_run(key, 0, ROW, trace, "folder")
    store.keep_run(key, 0, replace(ROW, set_aside="jaw slipped"), trace, "folder")
    assert store.keep_run(key, 0, ROW, trace, "older copy") == Saved.UNCHANGED
    assert store.find_run(key, "1").set_aside == "jaw slipped"
    assert store.keep_run(key, 0, replace(ROW, note="oiled"), trace, "another") == Saved.AMENDED
    run = store.find_run(key, "1")
    assert (run.row.note, run.set_aside) == ("oiled", "jaw slipped")
    store.keep_run(key, 0, ROW, trace, "folder")
    store.keep_run(key, 0, ROW, trace, "older copy")
    assert store.find_run(key, "1").set_aside is None  # the known sheet may
    assert store.keep_run(key, 0, replace(ROW, set_aside="cold"), trace, "third") == Saved.AMENDED
    assert store.find_run(key, "1").set_aside == "cold"


def test_what_the_program_writes_on_a_sheet_is_no_new_word_of_a_person(store: Store, tmp_path: Path) -> None:
    key = store.keep_campaign(CAMPAIGN, tmp_path)
    trace = keep_trace(store, 100.0)
    store.keep_run(key, 0, ROW, trace, "sheet")
    store.set_aside(store.find_run(key, "1"), "jaw slipped")
    store.know_sheet("sheet", [store.find_run(key, "1")])
    store.put_back(store.find_run(key, "1"))
    assert store.keep_run(key, 0, replace(ROW, set_aside="jaw slipped"), trace, "sheet") == Saved.UNCHANGED
    assert store.find_run(key, "1").set_aside is None


def test_another_log_is_refused_and_leaves_nothing_behind(store: Store, tmp_path: Path) -> None:
    key = store.keep_campaign(CAMPAIGN, tmp_path)
    store.keep_run(key, 0, ROW, keep_trace(store, 100.0))
    before = everything(store)
    assert store.keep_run(key, 0, replace(ROW, note="new"), keep_trace(store, 90.0)) == Saved.OTHER_LOG
    assert store.keep_run(key, 0, replace(ROW, log=None, score=5.0), None) == Saved.OTHER_LOG
    assert everything(store) == before
    store.keep_run(key, 1, RunRow("2", "ring", "air", "a", score=5.0), None)
    assert store.keep_run(key, 1, replace(ROW, run="2"), keep_trace(store, 90.0)) == Saved.OTHER_LOG
    assert store.find_run(key, "2").trace is None


def test_a_log_read_anew_at_another_rate_renews_the_trace(store: Store, tmp_path: Path) -> None:
    key = store.keep_campaign(CAMPAIGN, tmp_path)
    other = store.keep_campaign(replace(CAMPAIGN, name="other"), tmp_path)
    slow = keep_trace(store, 100.0, log="same")
    fast = keep_trace(store, 100.0, rate=200.0, log="same")
    for campaign in (key, other):
        store.keep_run(campaign, 0, ROW, slow)
    assert store.keep_run(key, 0, ROW, fast) == Saved.AMENDED
    assert store.find_run(key, "1").trace == fast
    assert store.find_run(other, "1").trace == slow
    assert store.history(store.find_run(key, "1"))[-1].because == "trace"
    store.keep_run(other, 0, ROW, fast)
    assert [row[0] for row in everything(store)["trace"]] == [fast.sha256]


def test_two_runs_may_share_a_log_and_two_campaigns_a_run_name(store: Store, tmp_path: Path) -> None:
    keys = [store.keep_campaign(replace(CAMPAIGN, name=name), tmp_path) for name in ("one", "two")]
    for key in keys:
        for ordinal, name in enumerate("ab"):
            assert (
                store.keep_run(key, ordinal, replace(ROW, run=name), keep_trace(store, 1.0)) == Saved.LOADED
            )
    assert store.campaigns() == ("one", "two")
    assert store.campaign("two")[1].name == "two"
    assert len(everything(store)["trace"]) == 1
    store.set_aside(store.find_run(keys[1], "a"), "only here")
    assert store.find_run(keys[0], "a").set_aside is None


def test_a_run_set_aside_leaves_the_trace_to_the_run_that_shares_it(store: Store) -> None:
    key = store.keep_campaign(CAMPAIGN, Path("/c"))
    for ordinal, name in enumerate(("a", "b")):
        store.keep_run(key, ordinal, replace(ROW, run=name), keep_trace(store, 1.0))
    store.set_aside(store.find_run(key, "a"), "slipped")
    other = store.find_run(key, "b")
    assert other.set_aside is None and other.trace is not None
    assert store.samples(other.trace, "load")[1].tolist() == [1.0] * 50


def test_a_trace_renewed_for_one_run_stays_for_the_other_until_that_is_renewed_too(store: Store) -> None:
    key = store.keep_campaign(CAMPAIGN, Path("/c"))
    slow, fast = (keep_trace(store, 1.0, rate=rate, log="same") for rate in (100.0, 200.0))
    for ordinal, name in enumerate(("a", "b")):
        store.keep_run(key, ordinal, replace(ROW, run=name), slow)
    assert store.keep_run(key, 0, replace(ROW, run="a"), fast) == Saved.AMENDED
    assert [store.find_run(key, name).trace for name in ("a", "b")] == [fast, slow]
    assert store.keep_run(key, 1, replace(ROW, run="b"), fast) == Saved.AMENDED
    assert len(everything(store)["trace"]) == 1


def test_which_campaign_must_be_said_when_there_are_several(store: Store, tmp_path: Path) -> None:
    with pytest.raises(StoreError, match="holds no campaign yet"):
        store.campaign(None)
    store.keep_campaign(replace(CAMPAIGN, name="spring 2026"), tmp_path)
    assert store.campaign(None)[1].name == "spring 2026"
    store.keep_campaign(replace(CAMPAIGN, name="autumn 2026"), tmp_path)
    with pytest.raises(BadInput, match="name one with --campaign"):
        store.campaign(None)
    with pytest.raises(NotFound, match="did you mean 'autumn 2026'"):
        store.campaign("autum 2026")


def test_a_run_that_is_not_there_is_told_with_the_nearest(store: Store, tmp_path: Path) -> None:
    key = store.keep_campaign(CAMPAIGN, tmp_path)
    store.keep_run(key, 0, replace(ROW, run="plain-07"), keep_trace(store, 1.0))
    with pytest.raises(NotFound, match="no run 'plain-7'; did you mean 'plain-07'"):
        store.find_run(key, "plain-7")


def test_a_renewed_campaign_keeps_its_key_and_its_runs(store: Store, tmp_path: Path) -> None:
    key = store.keep_campaign(CAMPAIGN, tmp_path)
    store.keep_run(key, 0, ROW, keep_trace(store, 1.0))
    assert store.keep_campaign(replace(CAMPAIGN, margin_percent=5.0), tmp_path) == key
    assert store.campaign(None)[1].margin_percent == 5.0
    assert len(store.runs(key)) == 1


def test_calibration_rows_are_renewed_as_a_whole(store: Store, tmp_path: Path) -> None:
    key = store.keep_campaign(CAMPAIGN, tmp_path)
    assert store.calibration_rows(key) is None
    for count in (3, 2):
        original = (store.keep_original(b"x" * count), "c.csv", count)
        store.keep_calibration(key, original, [{"applied": float(i)} for i in range(count)])
        kept = store.calibration_rows(key)
        assert kept is not None
        assert (kept.original_sha256, len(kept.rows)) == (original[0], count)


def test_facts_are_kept_once_however_many(store: Store) -> None:
    many = {f"{i:064d}": {"score": i, "growth": [0.1, None]} for i in range(1200)}
    store.keep_facts(many)
    store.keep_facts(many | {"new": 1})
    store.keep_facts({})
    assert store.facts([*many, "unknown"]) == many
    assert store.facts([]) == {}
    assert store.facts(["new"]) == {"new": 1}


def test_a_workspace_is_only_made_when_told_to(tmp_path: Path) -> None:
    with pytest.raises(StoreError, match="no workspace there"):
        open_store(tmp_path / "lab")
    assert not (tmp_path / "lab").exists()
    (tmp_path / "file").write_text("x")
    with pytest.raises(StoreError, match="cannot be made"):
        open_store(tmp_path / "file", make=True)


class RunLife(RuleBasedStateMachine):
    """Sheet and person speak in any order; the last new word counts and every word is remembered."""

    def __init__(self) -> None:
        super().__init__()
        import tempfile

        self.folder = tempfile.TemporaryDirectory()
        self.store = open_store(Path(self.folder.name), make=True)
        self.key = self.store.keep_campaign(CAMPAIGN, Path())
        self.row = RunRow("1", "plain", "air", "a", score=1.0)
        self.store.keep_run(self.key, 0, self.row, None)
        self.counts: str | None = None
        self.words = 1

    @rule(reason=st.none() | st.sampled_from(["slipped", "yielded"]), note=st.none() | st.just("oiled"))
    def sheet(self, reason: str | None, note: str | None) -> None:
        new = replace(self.row, set_aside=reason, note=note)
        outcome = self.store.keep_run(self.key, 0, new, None)
        decides = reason not in (self.row.set_aside, self.counts)
        if reason != self.row.set_aside:
            self.counts = reason
        words = decides + (note != self.row.note)
        assert outcome == (Saved.AMENDED if words else Saved.UNCHANGED)
        self.words += words
        self.row = new

    @rule(reason=st.none() | st.sampled_from(["seen on film", "slipped"]))
    def person(self, reason: str | None) -> None:
        run = self.store.find_run(self.key, "1")
        self.store.put_back(run) if reason is None else self.store.set_aside(run, reason)
        self.counts = reason
        self.words += 1

    @invariant()
    def the_last_new_word_counts(self) -> None:
        run = self.store.find_run(self.key, "1")
        assert run.set_aside == self.counts
        assert len(self.store.history(run)) == self.words

    def teardown(self) -> None:
        self.store.engine.dispose()
        self.folder.cleanup()


TestRunLife = RunLife.TestCase
TestRunLife.settings = settings(max_examples=15, stateful_step_count=12, deadline=None)


def test_results_that_cannot_be_saved_are_no_error(store: Store, monkeypatch: pytest.MonkeyPatch) -> None:
    """They are worked out again; nothing that a person gave is among them."""

    @contextmanager
    def full(_engine: object) -> Iterator[None]:
        raise StoreError("the store: database or disk is full", "free some disk space")
        yield

    assert store.keep_facts({"one": 1})
    monkeypatch.setattr(store_module, "writing", full)
    assert not store.keep_facts({"two": 2})
    assert store.facts(["one", "two"]) == {"one": 1}


@pytest.mark.parametrize(
    "folder", ["lab?mode=ro", "lab %41 100%", "lab#2", "a lab", "läb ½", "file:lab?uri=true"]
)
def test_a_workspace_is_where_its_path_says_whatever_letters_are_in_it(tmp_path: Path, folder: str) -> None:
    """What a run was acknowledged into is found there again, and nothing appears beside it."""
    place = tmp_path / folder
    store = open_store(place, make=True)
    key = store.keep_campaign(CAMPAIGN, place)
    assert store.keep_run(key, 0, ROW, keep_trace(store, 1.0)) == Saved.LOADED
    store.engine.dispose()
    assert [each.name for each in tmp_path.iterdir()] == [folder]
    assert (place / "strikeproof.db").is_file()
    again = open_store(place)
    key, _campaign = again.campaign(None)
    (kept,) = again.runs(key)
    assert kept.row.run == "1"
    assert kept.trace is not None
    assert again.samples(kept.trace, "load")[1].tolist() == [1.0] * 50
