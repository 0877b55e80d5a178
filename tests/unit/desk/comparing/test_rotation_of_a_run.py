"""A run with the tool set the other way round is compared with runs made so, never with the others."""

from __future__ import annotations

from pathlib import Path

import pytest

from strikeproof.campaign.records import RunRow
from strikeproof.desk.comparing.compare import compare_campaign, scored_runs
from strikeproof.desk.comparing.tables import run_table
from strikeproof.desk.loading.load import load_campaign

CAMPAIGN = """
[campaign]
name = "both ways"
reference = "plain"
[rig]
unit = "kN"
[[tool]]
name = "air"
[[article]]
name = "plain"
[[article]]
name = "ring"
"""


def _sheet(rows: list[tuple[str, str, float]]) -> str:
    head = "run,article,block,score,rotation\n"
    return head + "".join(
        f"r{i},{article},{1 + i // 2},{score},{rotation}\n"
        for i, (article, rotation, score) in enumerate(rows)
    )


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    (tmp_path / "campaign.toml").write_text(CAMPAIGN)
    scatter = (0.2, -0.1, 0.3, -0.2, 0.1, -0.3)
    forward = [(a, "", s + d) for d in scatter for a, s in (("plain", 100.0), ("ring", 110.0))]
    reverse = [(a, "Reverse", s + d) for d in scatter for a, s in (("plain", 60.0), ("ring", 54.0))]
    (tmp_path / "runs.csv").write_text(_sheet([*forward, *reverse]))
    return tmp_path


def test_each_rotation_has_a_result_of_its_own(folder: Path) -> None:
    assert load_campaign(folder, folder / "lab").problems == ()
    outcome = compare_campaign(folder / "lab")
    gains = {each.tool: each.gain_percent for each in outcome.comparison.results if each.article == "ring"}
    assert gains == {"air": pytest.approx(10.0, abs=0.5), "air in reverse": pytest.approx(-10.0, abs=0.5)}
    assert {each.tool for each in scored_runs(outcome.judged)} == {"air", "air in reverse"}
    assert [row[1] for row in run_table(outcome.judged)[1:]] == ["air"] * 12 + ["air in reverse"] * 12


def test_what_is_no_rotation_is_a_problem_of_its_line(folder: Path) -> None:
    (folder / "runs.csv").write_text(_sheet([("plain", "left", 100.0), ("plain", "forward", 101.0)]))
    outcome = load_campaign(folder, folder / "lab")
    assert [each.line for each in outcome.problems] == [2] and outcome.runs_loaded == 1


def test_the_thread_winds_the_other_way_so_that_the_direction_stays(folder: Path) -> None:
    load_campaign(folder, folder / "lab")
    campaign = compare_campaign(folder / "lab").judged.campaign
    turned = campaign.turning_in("reverse")
    assert (turned.direction, turned.hand, str(turned)) == (
        "tighten",
        "left",
        "tightening a left-hand bolt, tool in reverse",
    )
    assert campaign.series_of(RunRow("r", "plain", "air", "1", rotation="forward")) == "air"


def test_an_explanation_leaves_the_other_rotation_out_and_says_so(folder: Path) -> None:
    from strikeproof.campaign.store import open_store
    from strikeproof.desk.explaining import evidence

    load_campaign(folder, folder / "lab")
    judged = compare_campaign(folder / "lab").judged
    assert evidence._turned_over(judged) == ["air in reverse"]
    assert len(evidence._reference_runs(judged, "air")) == 6
    assert len(open_store(folder / "lab").runs(judged.key)) == 24
