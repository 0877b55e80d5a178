import json

import pytest

from strikeproof.desk.safety.bolt import describe_bolt
from strikeproof.errors import BadInput
from strikeproof.joint import Friction, parse_bolt, torque_tension
from strikeproof.plain_json import to_json

KEYS = {
    "thread", "class", "standard", "pitch_mm", "pitch_diameter_mm", "minor_diameter_mm", "stress_area_mm2",
    "bearing_diameter_mm", "proof_load_n", "yield_load_n", "tensile_load_n",
    "needed_engagement_mm", "allowed_clamp_load_n",
    "allowed_share", "friction", "nut_factor", "torque_per_clamp_load_mm", "tightening_torque_at_allowed_nm",
    "loosening_torque_at_allowed_nm", "clamp_load_spread_at_allowed_torque", "assembly_preload_n",
    "assembly_torque_nm", "shares", "cautions",
}  # fmt: skip


@pytest.mark.parametrize("friction", [None, 0.0, 0.12, 1.0])
def test_the_keys_are_the_same_with_and_without_friction(friction):
    facts = describe_bolt("M24x2 10.9", friction=friction)
    assert set(json.loads(json.dumps(to_json(facts), allow_nan=False))) == KEYS


def test_the_json_carries_its_units():
    # Proof load 384 mm² × 830 MPa and M = 1095 N·m at 297 kN: ISO 898-1, Table 7 and VDI 2230-1, Table A2.
    found = to_json(describe_bolt("M24x2 10.9", friction=0.12))
    assert (found["thread"], found["class"], found["pitch_mm"]) == ("M24x2", "10.9", 2.0)
    assert found["proof_load_n"] == pytest.approx(384 * 830, rel=0.005)
    assert found["assembly_preload_n"] == pytest.approx(297e3, rel=0.005)
    assert found["assembly_torque_nm"] == pytest.approx(1095, rel=0.005)
    assert found["torque_per_clamp_load_mm"] == pytest.approx(found["nut_factor"] * 24)
    load, torque = found["allowed_clamp_load_n"], found["tightening_torque_at_allowed_nm"]
    assert torque == pytest.approx(load * found["torque_per_clamp_load_mm"] * 1e-3)
    assert sum(found["shares"].values()) == pytest.approx(1)


def test_the_spread_is_the_clamp_load_at_the_same_torque():
    found = to_json(describe_bolt("M20 8.8", friction=0.15))
    thread, _ = parse_bolt("M20 8.8")
    torque, spread = (
        found["tightening_torque_at_allowed_nm"],
        found["clamp_load_spread_at_allowed_torque"],
    )
    for coefficient, load in ((0.18, spread["low_n"]), (0.12, spread["high_n"])):
        expected = torque_tension(thread, Friction.total(coefficient)).clamp_load(torque)
        assert load == pytest.approx(expected)


@pytest.mark.parametrize(
    "given",
    [
        {"friction": None, "thread_friction": 0.10, "head_friction": 0.14},
        {"friction": 0.10, "head_friction": 0.14},
        {"friction": 0.14, "thread_friction": 0.10},
    ],
)
def test_a_part_of_friction_takes_the_place_of_the_whole(given):
    found = to_json(describe_bolt("M20 8.8", **given))["friction"]
    assert (found["thread"], found["head"]) == (0.10, 0.14)
    assert 0.10 < found["total"] < 0.14


@pytest.mark.parametrize("part", ["thread", "head"])
def test_one_part_of_friction_alone_is_refused(part):
    other = "head" if part == "thread" else "thread"
    with pytest.raises(BadInput, match=f"give the {other} friction too"):
        describe_bolt("M20 8.8", friction=None, **{f"{part}_friction": 0.1})


def test_lines_give_label_value_and_unit():
    rows = describe_bolt("M24x2 10.9", friction=0.12).lines()
    assert ("thread", "M24x2", "") in rows
    assert ("allowed clamp load (75 % of proof)", "239.3", "kN") in rows
    assert len({label for label, _, _ in rows}) == len(rows)
    without = describe_bolt("M24x2 10.9", friction=None).lines()
    assert without == rows[: len(without)]


@pytest.mark.parametrize(
    ("bolt", "given", "said"),
    [
        ("M20 8.8", {"friction": None}, "Friction is not given"),
        ("M20 8.8", {"friction": 0.12}, "Friction is the largest unknown"),
        ("M20 8.8", {"friction": 0.12, "share": 0.9}, "goes beyond the proof load"),
        ("M20 8.8", {"friction": 0.12, "share": 0.9}, "take a new one for every run"),
        ("M20 8.8", {"friction": 0.4}, "use 90 % of the yield strength"),
        ("M20 8.8", {"friction": 0.01}, "turns loose by itself"),
        ("M20 12.9", {"friction": 0.12}, "12.9 breaks without warning"),
        ("3/4-16 UNF grade 5", {"friction": 0.12}, "bearing face is taken as 1.5 d"),
    ],
)
def test_a_bolt_says_its_own_cautions(bolt, given, said):
    assert any(said in caution for caution in describe_bolt(bolt, **given).cautions)


def test_a_plain_bolt_says_no_more_than_it_must():
    cautions = describe_bolt("M24x2 10.9", friction=0.12).cautions
    assert len(cautions) == 5
    assert "eye, ear and hand protection" in cautions[0] and "local codes" in cautions[2]
    assert "the proof load, 319 kN" in cautions[1] and "the yield load, 361 kN" in cautions[1]
