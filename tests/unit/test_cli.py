"""The command line's contract: keys, exit codes, what goes to which stream."""

from __future__ import annotations

import json
import os
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from tests.commands import in_own_process, strikeproof
from tests.json_keys import printed

from strikeproof.cli.speaking import fold_widths, print_json, print_rows, say, show
from strikeproof.desk.comparing.compare import compare_campaign, compare_judged
from strikeproof.trace import Flag

COMPARISON_KEYS = {"campaign", "reference", "unit", "rig", "articles", "warnings"}
ARTICLE_KEYS = {
    "article",
    "tool",
    "runs",
    "set_aside",
    "median",
    "gain_percent",
    "low_percent",
    "high_percent",
    "p",
    "p_randomisation",
    "verdict",
    "more_runs",
    "price",
}
RUN_KEYS = {
    "run",
    "article",
    "tool",
    "block",
    "score",
    "unit",
    "standard_uncertainty",
    "blows",
    "blow_rate_hz",
    "flags",
    "set_aside",
}

CAMPAIGN = """
[campaign]
name = "scores from a notebook"
reference = "plain"
margin_percent = 3
[rig]
name = "torque cell"
unit = "N m"
[bolt]
thread = "M20"
class = "10.9"
friction = 0.12
[[tool]]
name = "air"
[[article]]
name = "plain"
price = 10
[[article]]
name = "ring"
price = 30
[[article]]
name = "stack"
[calibration]
sheet = "calibration.csv"
applied_unit = "N m"
reference_uncertainty_percent = 1
"""


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Six blocks of scores only: ring 20 % up, stack level, 1.5 % scatter."""
    folder = tmp_path_factory.mktemp("notebook")
    rng = np.random.default_rng(11)
    rows = ["run,tool,article,block,score"]
    for block in range(1, 7):
        for place, article in enumerate(("plain", *rng.permutation(["ring", "stack"]), "plain")):
            level = 300 * {"plain": 1.0, "ring": 1.2, "stack": 1.0}[article]
            rows.append(f"{block}{place},air,{article},{block},{level * np.exp(rng.normal(0, 0.015)):.2f}")
    (folder / "runs.csv").write_text("\n".join(rows) + "\n")
    (folder / "campaign.toml").write_text(CAMPAIGN)
    readings = [f"{x},{x * 1.02 + rng.normal(0, 0.4):.2f},up,{k}" for k in (1, 2) for x in range(0, 501, 50)]
    (folder / "calibration.csv").write_text("applied,reading,direction,repeat\n" + "\n".join(readings) + "\n")
    strikeproof("load", folder / "campaign.toml", "-w", folder / "lab")
    return folder


def test_load_prints_counts_and_problems(folder: Path, tmp_path: Path) -> None:
    out, _ = strikeproof("load", folder / "campaign.toml", "-w", tmp_path / "lab", "--json")
    assert json.loads(out) == {
        "campaign": "scores from a notebook",
        "folder": str(folder),
        "runs_loaded": 24,
        "runs_amended": 0,
        "runs_unchanged": 0,
        "runs_not_made": 0,
        "problems": [],
        "warnings": [],
        "changes": [],
    }


def test_runs_that_are_only_planned_are_no_problem(tmp_path: Path) -> None:
    folder = tmp_path / "bench"
    strikeproof("new", folder)
    strikeproof("plan", folder, "-o", folder / "runs.csv", "--replace")
    out, err = strikeproof("load", folder, "-w", tmp_path / "lab")
    assert "0 problems" in out and "18 planned runs are not made yet, the first of them r001" in out
    assert "no such file" not in err
    sheet = folder / "runs.csv"
    sheet.write_text(sheet.read_text().replace("r002,r002.csv,wrench-a", "r002,r2.csv,wrench-a"))
    out, err = strikeproof("load", folder, "-w", tmp_path / "lab", code=1)
    assert "17 planned runs" in out and "r2.csv: there is no such file" in err


def test_nothing_usable_is_exit_code_2(tmp_path: Path) -> None:
    (tmp_path / "campaign.toml").write_text("[campaign]\nname = 'x'\nreference = 'y'\nmargin = 3\n")
    out, _ = strikeproof("load", tmp_path, "-w", tmp_path / "lab", "--json", code=2)
    problems = json.loads(out)["problems"]
    assert any(p["line"] == 4 and "margin_percent" in p["fix"] for p in problems)
    assert {"file", "line", "problem", "fix"} == set(problems[0])


def test_some_refused_is_exit_code_1(folder: Path, tmp_path: Path) -> None:
    (tmp_path / "campaign.toml").write_text(CAMPAIGN)
    (tmp_path / "calibration.csv").write_bytes((folder / "calibration.csv").read_bytes())
    (tmp_path / "runs.csv").write_text("run,tool,article,block,score\na,air,plain,1,300\nb,air,rong,1,300\n")
    out, err = strikeproof("load", tmp_path, "-w", tmp_path / "lab", "--json", code=1)
    assert json.loads(out)["runs_loaded"] == 1
    assert "line 3: unknown article 'rong'; did you mean 'ring'?" in err


def test_runs_has_every_key(folder: Path) -> None:
    runs = printed("runs", "-w", folder / "lab")
    assert len(runs) == 24
    assert set(runs[0]) >= RUN_KEYS
    assert {run["unit"] for run in runs} == {"N m"}
    # Scores are readings of the rig, so the calibration's slope of 1.02 is taken out.
    plain = [run["score"] for run in runs if run["article"] == "plain"]
    assert np.mean(plain) == pytest.approx(300 / 1.02, rel=0.01)


def test_compare_has_every_key_and_the_right_verdicts(folder: Path) -> None:
    found = printed("compare", "-w", folder / "lab")
    assert set(found) >= COMPARISON_KEYS
    assert set(found["rig"]) >= {"state", "why", "drift_percent_per_run", "drift_uncertainty"}
    by_name = {each["article"]: each for each in found["articles"]}
    assert set(by_name["ring"]) >= ARTICLE_KEYS
    assert by_name["plain"]["verdict"] == "reference"
    assert by_name["ring"]["verdict"] == "higher"
    assert by_name["ring"]["low_percent"] < 20 < by_name["ring"]["high_percent"]
    assert by_name["stack"]["verdict"] in ("same", "cannot tell")


def test_compare_says_the_same_every_time(folder: Path) -> None:
    """In another process, where a set has another order."""
    first, second = (
        in_own_process("compare", "-w", folder / "lab", "--json", env={**os.environ, "PYTHONHASHSEED": seed})
        for seed in ("1", "2")
    )
    assert first == second


def test_set_aside_and_put_back(folder: Path) -> None:
    said, _ = strikeproof("set-aside", "10", "--because", "hose came off", "-w", folder / "lab")
    assert f"to include it again: strikeproof put-back 10 -w {folder / 'lab'}\n" in said
    runs = {run["run"]: run for run in printed("runs", "-w", folder / "lab")}
    assert runs["10"]["set_aside"] == "hose came off"
    found = printed("compare", "-w", folder / "lab")
    plain = next(each for each in found["articles"] if each["article"] == "plain")
    assert (plain["runs"], plain["set_aside"]) == (11, 1)
    strikeproof("put-back", "10", "-w", folder / "lab")
    history, _ = strikeproof("history", "10", "-w", folder / "lab")
    assert [line.split("  ")[1].strip() for line in history.splitlines()] == [
        "loaded",
        "excluded",
        "included again",
    ]


def test_what_excludes_a_spoiled_run_can_be_pasted(
    folder: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    found = compare_campaign(folder / "lab", None)
    runs = (replace(found.judged.runs[0], flags=(Flag("clipped", "it is cut off"),)), *found.judged.runs[1:])
    spoiled = compare_judged(replace(found.judged, runs=runs))
    monkeypatch.setattr("strikeproof.desk.comparing.compare.compare_campaign", lambda *_, **_more: spoiled)
    _, said = strikeproof("compare", "-w", folder / "lab", "--campaign", "scores from a notebook")
    name, place = runs[0].stored.row.run, folder / "lab"
    of = f"-w {place} --campaign 'scores from a notebook'"
    assert f"to exclude {name}: strikeproof set-aside {name} --because WHY {of}\n" in said


def test_calibration_says_which_readings_it_was_fitted_to(folder: Path, tmp_path: Path) -> None:
    (tmp_path / "campaign.toml").write_text(CAMPAIGN)
    rows = [f"{x},{x * 1.02 + k:.2f},up,{k}" for k in (1, 2) for x in range(0, 501, 50)]
    rows += [f"{x},{x * 1.02 + 4 + k:.2f},down,{k}" for k in (1, 2) for x in range(450, -1, -50)]
    (tmp_path / "calibration.csv").write_text("applied,reading,direction,repeat\n" + "\n".join(rows) + "\n")
    (tmp_path / "runs.csv").write_bytes((folder / "runs.csv").read_bytes())
    told = strikeproof("calibration", tmp_path / "campaign.toml")[0]
    assert "the rising readings" in told and "% of the span" in told


def test_calibration_has_every_key(folder: Path) -> None:
    found = printed("calibration", folder / "campaign.toml")
    assert {"coefficients", "standard_uncertainties", "degree", "lack_of_fit", "range", "budget"} <= set(
        found
    )
    assert found["degree"] == 1
    assert found["coefficients"][1] == pytest.approx(1.02, rel=0.002)
    assert {"f", "p"} <= set(found["lack_of_fit"])


def test_report_writes_one_page_and_the_charts(folder: Path, tmp_path: Path) -> None:
    strikeproof("report", "-w", folder / "lab", "-o", tmp_path / "page.html", "--charts", tmp_path / "charts")
    page = (tmp_path / "page.html").read_text(encoding="utf-8")
    assert "scores from a notebook" in page
    assert "strikeproof load CAMPAIGN_FOLDER -w lab" in page  # what computes it again
    assert "strikeproof recompute BUNDLE.zip" in page
    assert "http://" not in page.replace("http://www.w3.org", "")
    assert "https://" not in page
    assert {path.suffix for path in (tmp_path / "charts").iterdir()} == {".svg", ".png"}


def test_check_finds_nothing_wrong(folder: Path) -> None:
    found = printed("check", "-w", folder / "lab")
    assert found["runs"] == 24
    assert found["problems"] == []


def test_new_then_plan_then_load(tmp_path: Path) -> None:
    strikeproof("new", tmp_path / "bench")
    sheet, notes = strikeproof("plan", tmp_path / "bench", "-o", tmp_path / "bench" / "fair.csv")
    assert sheet.strip().endswith("fair.csv")
    assert "seed" in notes
    rows = (tmp_path / "bench" / "fair.csv").read_text().splitlines()
    assert rows[1].startswith("run,log,tool,article,block")
    strikeproof("plan", tmp_path / "bench", "-o", tmp_path / "bench" / "fair.csv", code=2)
    with (tmp_path / "bench" / "fair.csv").open("a") as filled:
        filled.write("extra,x.csv,wrench-a,plain-24,9,,,,,\n")
    _, said = strikeproof("plan", tmp_path / "bench", "-o", tmp_path / "bench" / "fair.csv", "--replace")
    (before,) = (tmp_path / "bench").glob("fair.before-*.csv")
    assert "x.csv" in before.read_text()
    assert before.name in said
    # The template as it is has no runs yet: nothing usable, and it says so.
    _, err = strikeproof("load", tmp_path / "bench", "-w", tmp_path / "lab", code=2)
    assert "no runs yet" in err or "holds no rows" in err


def test_bolt_speaks_json(folder: Path) -> None:
    assert folder
    found = printed("bolt", "M24x2 10.9", "--friction", "0.12")
    assert found["proof_load_n"] == pytest.approx(319e3, rel=0.005)


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("compare", "-w", "nowhere"), "no workspace"),
        (("bolt", "M21 10.9"), "M2"),
        (("load", "nowhere.toml", "-w", "lab"), "nowhere.toml"),
        (("calibration", "nowhere.toml"), "nowhere.toml"),
    ],
)
def test_errors_are_one_line_with_exit_code_2(words: tuple[str, ...], told: str, tmp_path: Path) -> None:
    _, err = in_own_process(*words, code=2, cwd=tmp_path)
    assert told in err
    assert len(err.strip().splitlines()) == 1


def test_run_names_that_are_not_there_name_the_nearest(folder: Path) -> None:
    _, err = strikeproof("set-aside", "1O", "--because", "x", "-w", folder / "lab", code=2)
    assert "did you mean" in err


def test_a_terminal_is_shown_the_codes_of_what_it_would_obey(capsys: pytest.CaptureFixture[str]) -> None:
    say("run \x1b]0;gone\x07 \ud800")
    show("bolt \x9b2J")
    print_rows([("r1", "two\nlines"), ("r2\x1b[31m", "b")])
    print_json({"note": "\x1b\x9b\ud800é"})
    told = capsys.readouterr()
    assert told.err == "run \\x1b]0;gone\\x07 \\ud800\n"
    assert told.out.startswith("bolt \\x9b2J\nr1          two\\nlines\nr2\\x1b[31m  b\n")
    assert '"\\u001b\\u009b\\ud800é"' in told.out


def test_a_table_folds_where_the_terminal_is_too_narrow_for_it(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    rows = [
        ("run", "", "what is odd", "score"),
        ("r001", "", "zero moved by a tenth of the rise " * 6, "101.2"),
    ]
    print_rows(rows)
    assert len(capsys.readouterr().out.splitlines()) == 2, "a pipe gets one line a row"
    monkeypatch.setattr("sys.stdout.isatty", lambda: True)
    monkeypatch.setenv("COLUMNS", "100")
    print_rows(rows)
    lines = capsys.readouterr().out.splitlines()
    assert max(map(len, lines)) <= 100 and len(lines) == 4
    assert [line.split()[0] for line in lines[:2]] == ["run", "r001"] and lines[1].endswith("101.2")


def test_the_widest_columns_give_way_and_none_for_ever() -> None:
    assert fold_widths([10, 80, 40], 100) == [10, 46, 40]
    assert fold_widths([30] * 9, 100) == [12] * 9
