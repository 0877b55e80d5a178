"""A plan for a piece that is changed: the reference brackets the change."""

from __future__ import annotations

from pathlib import Path

import pytest

from strikeproof.desk.planning.plan import plan_campaign
from strikeproof.errors import BadInput, NotFound
from strikeproof.judge.questions.changed import find_changes
from strikeproof.judge.records import ScoredRun

CAMPAIGN = """
[campaign]
name = "a cut ring"
reference = "plain"
[protocol]
duration = "10 s"
cool_down = "50 s"
repeats = 4
seed = 7
[bolt]
thread = "M20"
class = "8.8"
runs_per_bolt = 8
[[tool]]
name = "air"
[[article]]
name = "plain"
[[article]]
name = "ring"
[[article]]
name = "ring, cut"
[[article]]
name = "arm"
"""


@pytest.fixture
def path(tmp_path: Path) -> Path:
    (tmp_path / "campaign.toml").write_text(CAMPAIGN)
    return tmp_path


def test_the_reference_runs_beside_both_states(path: Path) -> None:
    plan = plan_campaign(path, ["ring, cut"])
    blocks: dict[str, list[str]] = {}
    for run in plan.runs:
        blocks.setdefault(run.block, []).append(run.article)
    assert [sorted(each) for each in blocks.values()] == 4 * [["arm", "plain", "plain", "ring"]] + 4 * [
        ["plain", "plain", "ring, cut"]
    ]
    assert [run.order for run in plan.runs] == list(range(1, 29)) and plan.runs[-1].run == "r028"
    assert [run.start_s for run in plan.runs] == [60.0 * i for i in range(28)]
    assert "change the piece into ring, cut before run r017" in " ".join(plan.notes)


def test_bolts_go_on_after_the_change(path: Path) -> None:
    runs = plan_campaign(path, ["ring, cut"]).runs
    assert [run.order for run in runs if run.new_bolt] == [1, 9, 17, 23]
    assert list(dict.fromkeys(run.bolt for run in runs)) == ["bolt-1", "bolt-2", "bolt-3", "bolt-4"]


def test_what_is_asked_of_such_a_plan_is_bracketed(path: Path) -> None:
    runs = [
        ScoredRun(each.run, each.article, each.tool, each.block, each.order, 100.0 + each.order % 3)
        for each in plan_campaign(path, ["ring, cut"]).runs
    ]
    (found,) = find_changes(runs, "plain", "ring", "ring, cut", margin_percent=3.0, confidence=0.95)
    assert (found.order, found.blocks_before, found.blocks_after) == ("bracketed", 4, 4)


def test_without_a_change_the_plan_is_as_it_was(path: Path) -> None:
    assert len({run.block for run in plan_campaign(path).runs}) == 4


def test_what_cannot_be_a_changed_piece_is_refused(path: Path) -> None:
    with pytest.raises(NotFound, match="did you mean 'ring, cut'"):
        plan_campaign(path, ["ring cut"])
    for names in (["plain"], ["ring", "ring, cut", "arm"]):
        with pytest.raises(BadInput, match="after a change"):
            plan_campaign(path, names)
