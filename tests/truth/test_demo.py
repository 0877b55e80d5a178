"""The whole job on the demo campaign, held against the truth that the simulation put in."""

from __future__ import annotations

import csv
import json
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest


def strikeproof(*words: str | Path) -> str:
    done = subprocess.run(
        [sys.executable, "-m", "strikeproof", *map(str, words)], capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stderr
    return done.stdout


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("demo") / "here"
    told = strikeproof("demo", "--into", folder)
    assert "SIMULATED" in told
    assert str(folder / "page.html") in told
    return folder


@pytest.fixture(scope="module")
def results(demo: Path) -> dict[tuple[str, str], Any]:
    found = json.loads(strikeproof("compare", "-w", demo / "workspace", "--json"))
    return {(each["tool"], each["article"]): each for each in found["articles"]}


def test_simultaneous_intervals_hold_every_true_gain(demo: Path, results: dict[tuple[str, str], Any]) -> None:
    with (demo / "campaign" / "truth.csv").open(encoding="utf-8") as stream:
        truth = {
            (row["tool"], row["article"]): float(row["true_gain_percent"]) for row in csv.DictReader(stream)
        }
    assert len(truth) == 16
    for pair, gain in truth.items():
        result = results[pair]
        if result["verdict"] != "reference":
            assert result["low_percent"] < gain < result["high_percent"], pair
        if result["verdict"] == "higher":
            assert gain > 0
        if result["verdict"] == "lower":
            assert gain < 0
        if result["verdict"] == "same":
            assert abs(gain) < 4


def test_one_run_is_set_aside_and_one_is_flagged_clipped(demo: Path) -> None:
    runs = json.loads(strikeproof("runs", "-w", demo / "workspace", "--json"))
    assert len(runs) == 108
    assert [run["article"] for run in runs if run["set_aside"]] == ["long-27"]
    assert [(run["tool"], run["article"]) for run in runs if "clipped" in run["flags"]] == [
        ("air-a", "ring-27")
    ]
    assert all(run["score"] is not None and run["unit"] == "N m" for run in runs)
    assert all(run["clamp_load_n"] < 319e3 for run in runs)  # the bolt's proof load


def test_the_page_and_charts_are_there(demo: Path) -> None:
    page = (demo / "page.html").read_text(encoding="utf-8")
    assert "SIMULATED" in page
    assert len(list((demo / "charts").glob("*.svg"))) >= 6


def test_the_workspace_is_whole(demo: Path) -> None:
    assert json.loads(strikeproof("check", "-w", demo / "workspace", "--json"))["problems"] == []
