"""A unit or a rotation that changes under runs that were made is never taken over unasked."""

from pathlib import Path
from types import SimpleNamespace

import pytest
from tests.unit.desk.setting_up.test_editor import fill, make_runs

from strikeproof.campaign.store import open_store
from strikeproof.desk.loading.load import load_campaign
from strikeproof.desk.recording.next_run import _turning_cautions
from strikeproof.desk.setting_up.editor import change_set_up
from strikeproof.desk.setting_up.edits import all_of, set_value
from strikeproof.desk.simulating.simulate import simulate_tables
from strikeproof.errors import BadInput
from strikeproof.explain import ToolFacts
from strikeproof.explain.parameters import _of_tool

FILE = """\
[campaign]
name = "drum"
reference = "plain"
[protocol]
{protocol}
[rig]
unit = "{unit}"
[bolt]
{bolt}
[[tool]]
name = "air"
[[article]]
name = "plain"
[[article]]
name = "ring"
"""
SHEET = "run,article,block,score\n1,plain,1,{}\n2,ring,1,6\n3,plain,1,5\n"


def write(folder: Path, *, unit: str = "kN", protocol: str = "", bolt: str = "", score: str = "5") -> Path:
    folder.mkdir(exist_ok=True)
    (folder / "campaign.toml").write_text(FILE.format(unit=unit, protocol=protocol, bolt=bolt))
    (folder / "runs.csv").write_text(SHEET.format(score))
    return folder


@pytest.mark.parametrize(
    "changed",
    [{"unit": "N"}, {"protocol": 'rotation = "reverse"'}, {"bolt": 'thread = "M20-LH"'}],
    ids=lambda each: next(iter(each)),
)
def test_loading_under_another_unit_or_rotation_asks(tmp_path: Path, changed: dict[str, str]) -> None:
    load_campaign(write(tmp_path / "b"), tmp_path / "lab")
    with pytest.raises(BadInput, match="--relabel"):
        load_campaign(write(tmp_path / "b", **changed), tmp_path / "lab")
    assert open_store(tmp_path / "lab").campaign(None)[1].rig.unit == "kN"
    load_campaign(write(tmp_path / "b", **changed), tmp_path / "lab", relabel=True)
    campaign = open_store(tmp_path / "lab").campaign(None)[1]
    assert (campaign.rig.unit, campaign.turning.rotation) == (
        changed.get("unit", "kN"),
        "forward" if "unit" in changed else "reverse",
    )


@pytest.mark.parametrize("changed", [{}, {"unit": "KN"}, {"protocol": 'rotation = "forward"'}])
def test_the_same_said_otherwise_is_no_change(tmp_path: Path, changed: dict[str, str]) -> None:
    load_campaign(write(tmp_path / "b"), tmp_path / "lab")
    assert not load_campaign(write(tmp_path / "b", **changed), tmp_path / "lab").problems


def test_a_score_with_its_unit_is_converted_to_the_rigs(tmp_path: Path) -> None:
    load_campaign(write(tmp_path / "b", unit="N", score="5.5 kN"), tmp_path / "lab")
    store = open_store(tmp_path / "lab")
    assert store.find_run(store.campaign(None)[0], "1").row.score == 5500.0


def test_the_browser_asks_whether_a_unit_only_gets_another_label(tmp_path: Path) -> None:
    made = fill(tmp_path)
    make_runs(tmp_path, made)
    change = change_set_up(tmp_path, "Track rollers", set_value(("rig", "unit"), "V"))
    assert not change.done
    assert any("relabelled, not converted: 12.3 kN becomes 12.3 V" in each.says for each in change.effects)


def test_the_browser_asks_before_runs_count_as_made_in_reverse(tmp_path: Path) -> None:
    made = fill(tmp_path)
    make_runs(tmp_path, made)
    edit = all_of(set_value(("protocol", "rotation"), "reverse"), set_value(("bolt", "hand"), "left"))
    change = change_set_up(tmp_path, "Track rollers", edit)
    assert not change.done
    assert any("runs of both are never compared" in each.says for each in change.effects)


def test_less_is_believed_of_a_tool_in_reverse() -> None:
    known = {"blow_speed": 60.0}
    forward, reverse = (
        {each.name: each.spread for each in _of_tool(ToolFacts("a", "air", 0.0127, known, in_reverse))}
        for in_reverse in (False, True)
    )
    assert reverse["blow_speed"] > 3 * forward["blow_speed"]
    assert {k: v for k, v in reverse.items() if k != "blow_speed"} == {
        k: v for k, v in forward.items() if k != "blow_speed"
    }


def test_a_simulated_left_hand_bolt_in_reverse_tightens_as_its_mirror_image_does() -> None:
    def simulated(**bolt: str) -> object:
        rotation = {"rotation": "reverse"} if bolt else {}
        tables = {
            "protocol": {"duration": "1 s", **rotation},
            "bolt": {"thread": "M20", **bolt},
            "tool": {"mechanism": "air", "drive_mm": "3/4 in"},
            "article": {"polar_inertia": "0.9 lb·in²"},
        }
        return simulate_tables(tables)

    right, left = simulated(), simulated(hand="left")
    assert left.score == right.score > 0
    assert any("reverse" in each for each in left.cautions)
    assert not any("reverse" in each for each in right.cautions)


def test_the_recorder_says_which_way_to_set_the_tool_where_it_is_not_the_usual_one(tmp_path: Path) -> None:
    load_campaign(write(tmp_path / "b", bolt='thread = "M20-LH"'), tmp_path / "lab")
    campaign = open_store(tmp_path / "lab").campaign(None)[1]
    assert _turning_cautions(campaign) == ["Tool in reverse: it is to tighten a left-hand bolt."]
    usual = SimpleNamespace(turning=SimpleNamespace(rotation="forward", hand="right"))
    assert _turning_cautions(usual) == []
