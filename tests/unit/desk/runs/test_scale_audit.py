"""Runs on another scale are named before any result, wherever results are shown."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from tests.commands import strikeproof
from tests.unit.desk.logged import times, write_logged

from strikeproof.desk.loading.load import load_campaign
from strikeproof.desk.publishing.parts import compare_to_show
from strikeproof.desk.runs.one_run import look_at_run
from strikeproof.desk.runs.run_list import make_run_list

SAID = "1 run is on another scale than the others of the rig: 6 (range about"


@pytest.fixture(scope="module")
def volts(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A workspace in which run 6 was logged in volts, ten thousand times smaller."""
    place = tmp_path_factory.mktemp("volts")
    assert load_campaign(write_logged(place / "campaign", {6: times(1e-4)}), place / "lab").exit_code == 0
    return place / "lab"


def test_the_comparison_says_it_first(volts: Path) -> None:
    out, _ = strikeproof("compare", "-w", volts)
    assert out.startswith(f"IN DOUBT: {SAID}")
    (doubt,) = json.loads(strikeproof("compare", "-w", volts, "--json")[0])["in_doubt"]
    assert doubt["run"] == "6" and "times smaller" in doubt["reason"] and "noise" in doubt["reason"]


def test_the_list_of_runs_says_it_first(volts: Path) -> None:
    out, _ = strikeproof("runs", "-w", volts)
    assert out.startswith(f"IN DOUBT: {SAID}")
    runs = json.loads(strikeproof("runs", "-w", volts, "--json")[0])
    assert [each["run"] for each in runs if "scale" in each["flags"]] == ["6"]


def test_page_and_browser_say_it_first(volts: Path, tmp_path: Path) -> None:
    strikeproof("report", "-w", volts, "--out", tmp_path / "page.html")
    page = (tmp_path / "page.html").read_text().replace("\u00a0", " ")
    assert page.index("on another scale") < page.index('id="found"')
    assert SAID in compare_to_show(volts, None, {}).alarms[0]
    made = make_run_list(volts, None)
    assert made.warnings[0].startswith(SAID)
    assert [line.row.run for line in made.lines if "scale" in line.flags] == ["6"]
    assert look_at_run(volts, None, "6").flags[0].kind == "scale"


def test_set_aside_it_is_flagged_and_nothing_is_in_doubt(volts: Path) -> None:
    strikeproof("set-aside", "6", "--because", "logged in volts", "-w", volts)
    try:
        out, _ = strikeproof("compare", "-w", volts)
        assert "IN DOUBT" not in out
    finally:
        strikeproof("put-back", "6", "-w", volts)


def test_runs_as_they_should_be_raise_no_doubt(tmp_path: Path) -> None:
    load_campaign(write_logged(tmp_path / "campaign"), tmp_path / "lab")
    out, _ = strikeproof("compare", "-w", tmp_path / "lab")
    assert "IN DOUBT" not in out


def test_a_run_whose_channel_shows_no_hammering_is_said_first(tmp_path: Path) -> None:
    load_campaign(write_logged(tmp_path / "campaign", {6: times(0.0)}), tmp_path / "lab")
    out, _ = strikeproof("compare", "-w", tmp_path / "lab")
    assert out.startswith("IN DOUBT: no hammering in the judged channel")
    assert "load: 6." in out.splitlines()[0]
