"""The whole job on the demo campaign, held against the truth that the simulation put in."""

from __future__ import annotations

import csv
import json
import os
import re
import shutil
import signal
import subprocess
import sys
import tomllib
import urllib.request
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest
from tests.commands import in_own_process, strikeproof
from tests.json_keys import printed

from strikeproof.desk.demo import build_benches, demo_place, true_gains
from strikeproof.desk.designing.show import kept_design_to_show
from strikeproof.desk.explaining.predict import predict_file
from strikeproof.desk.publishing.parts import kept_explanation_to_show
from strikeproof.desk.workspace.places import planned_names
from strikeproof.plain_json import to_json


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Made as a person at a terminal makes it, who looks at it in the browser and presses Ctrl-C."""
    folder = tmp_path_factory.mktemp("demo") / "here"
    with terminal("demo", "--into", folder, "--serve") as (process, read_until):
        told = read_until("Ctrl-C ends it.")
        assert "SIMULATED" in told
        assert str(folder / "page.html") in told
        address = re.findall(r"http://127\.0\.0\.1:\d+/", told)[-1]
        with urllib.request.urlopen(address, timeout=60) as answer:  # our own server
            assert "crusher liner bolts" in answer.read().decode()
        process.send_signal(signal.SIGINT)
        assert process.wait(60) == 0
    return folder


@contextmanager
def terminal(*words: str | Path) -> Iterator[tuple[subprocess.Popen[bytes], Callable[[str], str]]]:
    """A command at a terminal, and how to read from it until it has said something."""
    ours, theirs = os.openpty()
    command = [sys.executable, "-m", "strikeproof", *map(str, words)]
    process = subprocess.Popen(command, stdin=theirs, stdout=theirs, start_new_session=True)
    os.close(theirs)
    said = b""

    def read_until(end: str) -> str:
        nonlocal said
        while end.encode() not in said:
            said += os.read(ours, 4096)  # fails when the command has ended without a word of it
        return said.decode()

    try:
        yield process, read_until
    finally:
        process.kill()
        process.wait()
        os.close(ours)


@pytest.fixture(scope="module")
def results(demo: Path) -> dict[tuple[str, str], Any]:
    found = printed("compare", "-w", demo / "workspace")
    return {(each["tool"], each["article"]): each for each in found["articles"]}


def test_simultaneous_intervals_hold_every_true_gain(demo: Path, results: dict[tuple[str, str], Any]) -> None:
    with (demo_place(demo / "workspace") / "truth.csv").open(encoding="utf-8") as stream:
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


def test_no_run_of_it_is_on_another_scale(demo: Path) -> None:
    assert printed("compare", "-w", demo / "workspace")["in_doubt"] == []


def test_one_run_is_set_aside_and_one_is_flagged_clipped(demo: Path) -> None:
    runs = printed("runs", "-w", demo / "workspace")
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
    assert printed("check", "-w", demo / "workspace")["problems"] == []


def test_the_browser_plans_in_it_and_shows_what_was_found_at_once(demo: Path) -> None:
    workspace = demo / "workspace"
    assert planned_names(workspace) == {"crusher liner bolts": "crusher-liner-bolts"}
    assert (demo_place(workspace) / "brief.toml").is_file()
    assert kept_explanation_to_show(workspace, None) is not None
    design = kept_design_to_show(workspace, None, {})
    assert design is not None and not design.stale
    told = json.loads((demo / "design" / "proposals.json").read_text(encoding="utf-8"))
    assert [each["name"] for each in design.proposals] == [each["name"] for each in told["proposals"]]


@pytest.fixture(scope="module")
def design(demo: Path) -> dict[str, Any]:
    return json.loads((demo / "design" / "proposals.json").read_text(encoding="utf-8"))


def test_the_brief_gives_distinct_prototypes_inside_its_limits(design: dict[str, Any]) -> None:
    proposals = design["proposals"]
    assert 3 <= len(proposals) <= 8
    assert len({each["name"] for each in proposals}) == len(proposals)
    for each in proposals:
        assert each["price"] <= 60.0 and each["mass_kg"] <= 1.2 and not each["stop"]
        assert each["length_m"] <= 0.085
        assert min(margin["static"] for margin in each["margins"]) >= 1.5


def test_intervals_of_prototypes_hold_their_true_gains(demo: Path, design: dict[str, Any]) -> None:
    """Each proposal is hammered on by the tools that the simulation knows and the search does not."""
    tables = tomllib.loads((demo_place(demo / "workspace") / "campaign.toml").read_text(encoding="utf-8"))
    plain = next(each for each in tables["article"] if each["name"] == "plain-27")
    tables["article"] = [plain, *(each["article"] for each in design["proposals"])]
    truth = true_gains(tables, build_benches(tables), seed=99)
    held = [
        told["low"] < truth[told["tool"], each["name"]] < told["high"]
        for each in design["proposals"]
        for told in each["tools"]
    ]
    assert sum(held) >= 0.8 * len(held), held
    assert all(
        truth[told["tool"], each["name"]] > 5.0 for each in design["proposals"] for told in each["tools"]
    )


def test_the_next_test_is_told_with_what_it_costs(design: dict[str, Any]) -> None:
    tests = design["next_tests"]
    names = {each["name"] for each in design["proposals"]}
    assert 1 <= len(tests) <= 2
    assert any(each["article"] in names for each in tests)
    first, last = tests[0], tests[-1]
    assert first["per_cost"] >= last["per_cost"] > 0.0
    for each in tests:
        assert each["bits"] > 0.0
        assert each["price"] == 0.0 or each["price"] <= 60.0
        cost = each["price"] + design["hour_costs"] * each["hours"]
        assert each["per_cost"] == pytest.approx(each["bits"] / cost)


@pytest.mark.parametrize(("which", "own"), [(0, True), (-1, False)], ids=["first", "last"])
def test_predict_says_the_same_of_a_prototype(
    demo: Path, design: dict[str, Any], which: int, own: bool
) -> None:
    """In another process too, whatever order a set has there: what is kept must be found again."""
    file, each = sorted((demo / "design").glob("0*"))[which] / "article.toml", design["proposals"][which]
    if own:
        environment = {**os.environ, "PYTHONHASHSEED": "0"}
        said, _ = in_own_process("predict", file, "-w", demo / "workspace", "--json", env=environment)
        told = json.loads(said)
    else:
        told = json.loads(json.dumps(to_json(predict_file(file, demo / "workspace"))))
    assert told["article"] == each["name"]
    assert not any("largest that was run" in caution for caution in told["cautions"])
    for tool, row in zip(told["tools"], each["tools"], strict=True):
        assert {key: tool[key] for key in row} == row
    hardest = max(told["tools"], key=lambda tool: tool["peak_torque_high_n_m"])
    assert hardest["margins"] == each["margins"]


def test_every_prototype_has_all_that_a_workshop_needs(demo: Path, design: dict[str, Any]) -> None:
    drawn, listed = ("drawing.dxf", "drawing.pdf", "drawing.svg"), ("cuts.csv", "parts.csv", "welds.csv")
    files = {"article.toml", "sheet.html", *drawn, *listed}
    for folder, each in zip(sorted((demo / "design").glob("0*")), design["proposals"], strict=True):
        assert {path.name for path in folder.iterdir()} == files
        page = (folder / "sheet.html").read_text(encoding="utf-8")
        assert "SIMULATED" in page and "behind a guard" in page and each["name"] in page


def test_a_prototype_s_file_goes_straight_into_the_campaign(demo: Path, tmp_path: Path) -> None:
    campaign = tmp_path / "campaign"
    shutil.copytree(demo_place(demo / "workspace"), campaign)
    added = sorted((demo / "design").glob("0*"))[0] / "article.toml"
    file = campaign / "campaign.toml"
    text = file.read_text(encoding="utf-8")
    before, runs, after = text.partition("[runs]")
    file.write_text(f"{before}{added.read_text(encoding='utf-8')}\n{runs}{after}", encoding="utf-8")
    strikeproof("plan", campaign, "-o", tmp_path / "runs.csv")
    name = tomllib.loads(added.read_text(encoding="utf-8"))["article"][0]["name"]
    assert name in (tmp_path / "runs.csv").read_text(encoding="utf-8")
