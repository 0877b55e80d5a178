"""Which column of a log is judged may differ from logger to logger, and from run to run."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from strikeproof.capture import pick_name
from strikeproof.desk.loading.load import load_campaign
from strikeproof.desk.runs.judged import judge_runs
from strikeproof.desk.runs.trace_window import find_trace
from strikeproof.desk.workspace.opening import open_campaign
from strikeproof.errors import BadFile

CAMPAIGN = """
[campaign]
name = "two loggers"
reference = "plain"
[protocol]
duration = "5 s"
[rig]
channel = {channel}
unit = "kN"
[[tool]]
name = "air"
[[article]]
name = "plain"
"""
SHEET = """run,log,article,block,channel
old-logger,a.csv,plain,1,
new-logger,b.csv,plain,1,
spare-cell,c.csv,plain,2,Spare
"""


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    (tmp_path / "logs").mkdir()
    time = np.arange(100) / 20.0
    for file, name, factor in (("a", "Load", 1.0), ("b", "Force", 2.0), ("c", "Spare", 3.0)):
        load = factor * np.clip(time - 1.0, 0.0, 3.0)
        rows = [f"{t:.2f},{a:.4f},{-9.0:.1f}" for t, a in zip(time, load, strict=True)]
        head = f"time [s],{name} [kN],{'Load' if file == 'c' else 'Other'} [kN]"
        (tmp_path / "logs" / f"{file}.csv").write_text("\n".join([head, *rows, ""]))
    (tmp_path / "runs.csv").write_text(SHEET)
    return tmp_path


@pytest.mark.parametrize("channel", ['["load", "force"]', '"Load | Force"'])
def test_each_run_is_judged_by_its_own_channel(folder: Path, tmp_path: Path, channel: str) -> None:
    (folder / "campaign.toml").write_text(CAMPAIGN.format(channel=channel))
    lab = tmp_path / "lab"
    assert load_campaign(folder, lab).problems == ()
    judged = judge_runs(*open_campaign(lab, None))
    assert [run.score for run in judged.runs] == pytest.approx([3.0, 6.0, 9.0], rel=0.02)
    shown = {run: find_trace(lab, None, run).channel for run in ("old-logger", "new-logger", "spare-cell")}
    assert shown == {"old-logger": "Load", "new-logger": "Force", "spare-cell": "Spare"}


def test_a_log_without_any_of_them_is_a_problem_of_its_run(folder: Path, tmp_path: Path) -> None:
    (folder / "campaign.toml").write_text(CAMPAIGN.format(channel='["load", "pressure"]'))
    (problem,) = load_campaign(folder, tmp_path / "lab").problems
    assert "none of the channels 'load', 'pressure'" in problem.problem and "Force" in problem.fix


def test_names_are_tried_in_their_order_and_one_with_a_bar_is_meant_first() -> None:
    assert pick_name(["force", "load"], "load | force", "x") == "load"
    assert pick_name(["force", "a | b"], "a | b", "x") == "a | b"
    with pytest.raises(BadFile, match="2 channels are called 'load'"):
        pick_name(["one/load", "two/load", "force"], "load | force", "x")


def test_a_channel_that_the_sheet_names_wrongly_is_corrected_on_the_sheet(
    folder: Path, tmp_path: Path
) -> None:
    (folder / "campaign.toml").write_text(CAMPAIGN.format(channel='["load", "force"]'))
    (folder / "runs.csv").write_text(SHEET.replace(",Spare", ",Spar"))
    (problem,) = load_campaign(folder, tmp_path / "lab").problems
    assert problem.problem == "has no channel 'Spar'"
    assert problem.fix.startswith("did you mean 'Spare'? correct the column channel of the run sheet")
    assert "set channel in [rig]" not in problem.fix


def test_a_wrong_condition_keeps_no_run_out(folder: Path, tmp_path: Path) -> None:
    (folder / "campaign.toml").write_text(CAMPAIGN.format(channel='["load", "force"]'))
    (folder / "runs.csv").write_text(
        "run,log,article,block,tool temperature,battery\na,a.csv,plain,1,warm,17.8 V\nb,b.csv,plain,1,35,\n"
    )
    lab = tmp_path / "lab"
    outcome = load_campaign(folder, lab)
    assert outcome.runs_loaded == 2
    (problem,) = outcome.problems
    assert problem.line == 2 and problem.problem.startswith("tool_temperature: 'warm' is none")
    store, key, _campaign = open_campaign(lab, None)
    assert [run.row.conditions for run in store.runs(key)] == [
        {"battery": "17.8 V", "tool_temperature": "warm"},
        {"tool_temperature": "35"},
    ]
