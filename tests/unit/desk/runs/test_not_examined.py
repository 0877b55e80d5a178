"""A run that cannot be examined is named and left out, and stands in the way of nothing."""

from __future__ import annotations

import json
import shutil
from dataclasses import replace
from pathlib import Path

import pytest
from tests.commands import strikeproof
from tests.unit.desk.logged import jumped, write_logged

import strikeproof.desk.runs.facts as facts_of_runs
from strikeproof.campaign import schema as tables
from strikeproof.campaign.database import writing
from strikeproof.campaign.store import Store
from strikeproof.desk.comparing.compare import compare_campaign
from strikeproof.desk.loading.load import load_campaign
from strikeproof.desk.recording.recorder import open_recorder
from strikeproof.desk.runs.judged import judge_runs
from strikeproof.desk.runs.one_run import look_at_run
from strikeproof.desk.runs.run_list import make_run_list
from strikeproof.desk.runs.trace_window import find_trace, trace_csv
from strikeproof.desk.workspace.opening import open_campaign
from strikeproof.errors import StoreError, StrikeproofError


def trace_path(store: Store, key: int, run: str) -> Path:
    """The file of a run's trace."""
    trace = store.find_run(key, run).trace
    assert trace is not None
    return store.traces / f"{trace.sha256}.parquet"


def drop_all_facts(store: Store) -> None:
    """Forget everything that was worked out."""
    with writing(store.engine) as db:
        db.execute(tables.fact.delete())


@pytest.fixture(scope="module")
def jumpy(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A workspace in which the clock of run 3 jumped by 1e9 s."""
    place = tmp_path_factory.mktemp("jumpy")
    outcome = load_campaign(write_logged(place / "campaign", {3: jumped}), place / "lab")
    assert outcome.runs_loaded == 8
    return place / "lab"


def test_runs_names_it_and_lists_all(jumpy: Path) -> None:
    out, _ = strikeproof("runs", "-w", jumpy, "--json")
    runs = {each["run"]: each for each in json.loads(out)}
    assert runs["3"]["score"] is None and "not-examined" in runs["3"]["flags"]
    told = next(each for each in runs["3"]["flag_details"] if each.startswith("not-examined"))
    assert "jumps by 1e+09 s" in told
    assert all(each["score"] > 0 for name, each in runs.items() if name != "3")


def test_the_comparison_is_made_without_it_and_says_so(jumpy: Path) -> None:
    found = compare_campaign(jumpy)
    assert {each.article: each.runs for each in found.comparison.results} == {"plain": 3, "ring": 4}
    (said,) = [each for each in found.warnings if "run 3 " in each]
    assert "left out" in said and "jumps" in said


def test_page_and_browser_come_all_the_same(jumpy: Path, tmp_path: Path) -> None:
    strikeproof("report", "-w", jumpy, "--out", tmp_path / "page.html")
    page = (tmp_path / "page.html").read_text()
    assert "is left out (could not be examined: time: 2500 samples reach over" in page.replace("\u00a0", " ")
    lines = {line.row.run: line for line in make_run_list(jumpy, None).lines}
    assert lines["3"].score is None and "not-examined" in lines["3"].flags
    assert look_at_run(jumpy, None, "3").row.run == "3"


def test_it_can_be_set_aside(jumpy: Path) -> None:
    strikeproof("set-aside", "3", "--because", "clock jumped", "-w", jumpy)
    try:
        assert not [each for each in compare_campaign(jumpy).warnings if "run 3 " in each]
    finally:
        strikeproof("put-back", "3", "-w", jumpy)


@pytest.mark.parametrize("wrong", [MemoryError(), ValueError("bug"), StrikeproofError("no", "do")])
def test_whatever_the_reason_is(jumpy: Path, monkeypatch: pytest.MonkeyPatch, wrong: Exception) -> None:
    """Facts are kept, so only run 3 is examined again."""
    judge_runs(*open_campaign(jumpy, None))

    def fail(*_words: object, **_named: object) -> None:
        raise wrong

    monkeypatch.setattr(facts_of_runs, "examine_trace", fail)
    judged = judge_runs(*open_campaign(jumpy, None))
    flags = {run.stored.row.run: run.flags for run in judged.runs}
    assert [name for name, found in flags.items() if found and found[0].kind == "not-examined"] == ["3"]


def test_a_trace_that_is_gone_is_named_until_it_is_back(tmp_path: Path) -> None:
    folder, lab = write_logged(tmp_path / "campaign"), tmp_path / "lab"
    load_campaign(folder, lab)
    store, key, _campaign = open_campaign(lab, None)
    trace_path(store, key, "5").unlink()
    assert "not-examined" in {line.row.run: line for line in make_run_list(lab, None).lines}["5"].flags
    load_campaign(folder, lab)
    assert "not-examined" not in {line.row.run: line for line in make_run_list(lab, None).lines}["5"].flags


def test_a_damaged_trace_gives_no_other_score_and_comes_back_with_a_load(tmp_path: Path) -> None:
    folder, lab = write_logged(tmp_path / "campaign"), tmp_path / "lab"
    load_campaign(folder, lab)
    store, key, _campaign = open_campaign(lab, None)
    before = {line.row.run: line.score for line in make_run_list(lab, None).lines}
    path = trace_path(store, key, "5")
    raw = bytearray(path.read_bytes())
    raw[len(raw) // 3] ^= 0x10
    path.write_bytes(raw)
    assert {line.row.run: line.score for line in make_run_list(lab, None).lines} == before  # known already
    drop_all_facts(store)
    lines = {line.row.run: line for line in make_run_list(lab, None).lines}
    assert lines["5"].score is None and "not-examined" in lines["5"].flags
    assert {name: line.score for name, line in lines.items() if name != "5"} == {
        name: score for name, score in before.items() if name != "5"
    }
    assert look_at_run(lab, None, "5").row.run == "5"
    with pytest.raises(StoreError, match="load the campaign again"):
        trace_csv(find_trace(lab, None, "5"), None, None, scale=1.0, unit="kN")
    load_campaign(folder, lab)
    assert {line.row.run: line.score for line in make_run_list(lab, None).lines} == before


def test_a_wrong_channel_names_the_key_to_set_and_the_channels_there_are(tmp_path: Path) -> None:
    folder = write_logged(tmp_path / "campaign")
    load_campaign(folder, tmp_path / "lab")
    store, _key, campaign = open_campaign(tmp_path / "lab", None)
    store.keep_campaign(replace(campaign, rig=replace(campaign.rig, channel="torque")), folder)
    out, _ = strikeproof("runs", "-w", tmp_path / "lab", "--json")
    told = [next(each for each in run["flag_details"] if "not-examined" in each) for run in json.loads(out)]
    assert len(told) == 8
    said = (
        "no channel 'torque'; for this run alone, write one of its own in the column channel of the run "
        "sheet: load; for all logs, set channel in [rig] of campaign.toml to a list such as 'torque | load'"
    )
    assert all(said in each for each in told)
    assert look_at_run(tmp_path / "lab", None, "3").row.run == "3"
    with pytest.raises(StrikeproofError, match=r"\[rig\]"):
        compare_campaign(tmp_path / "lab")


def test_one_log_without_the_channel_is_that_runs_problem_alone(tmp_path: Path) -> None:
    folder = write_logged(tmp_path / "campaign")
    plan, log = folder / "campaign.toml", folder / "logs" / "5.csv"
    plan.write_text(plan.read_text().replace('channel = "load"\n', ""))
    log.write_text(log.read_text().replace("load [kN]", "force [kN]", 1))
    load_campaign(folder, tmp_path / "lab")
    store, _key, campaign = open_campaign(tmp_path / "lab", None)
    store.keep_campaign(replace(campaign, rig=replace(campaign.rig, channel="load")), folder)
    flags = {run.stored.row.run: run.flags for run in judge_runs(*open_campaign(tmp_path / "lab", None)).runs}
    assert [name for name, found in flags.items() if found and found[0].kind == "not-examined"] == ["5"]
    offered = flags["5"][0].detail
    assert "in the column channel of the run sheet: force; for all logs" in offered
    assert "set channel in [rig] of campaign.toml to a list such as 'load | force'" in offered


def test_a_damaged_original_stops_no_recorder_and_is_never_copied(jumpy: Path, tmp_path: Path) -> None:
    lab = shutil.copytree(jumpy, tmp_path / "lab")
    store, key, _campaign = open_campaign(lab, None)
    trace = store.find_run(key, "5").trace
    assert trace is not None
    path = store.originals / trace.original_sha256
    path.write_bytes(path.read_bytes().replace(b"0.1", b"0.2", 1))
    with open_recorder(lab) as recorder:
        said = " ".join(recorder.view().messages)
    assert str(path) in said and "load the campaign again with its '5.csv'" in said
    logs = lab / "campaigns" / "drum-rollers" / "logs"
    assert sorted(each.name for each in logs.glob("*.csv")) == [f"{n}.csv" for n in range(1, 9) if n != 5]
