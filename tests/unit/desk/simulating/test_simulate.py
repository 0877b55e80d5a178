"""A setup's tables simulated and swept, with the keys people count on."""

from __future__ import annotations

import json
import math
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from tests.unit.parts.examples import ring, socket

from strikeproof.campaign.keys import meanings_of
from strikeproof.desk.comparing.tables import simulation_table
from strikeproof.desk.simulating.bench import override, read_setup
from strikeproof.desk.simulating.bench_file import build_setup
from strikeproof.desk.simulating.simulate import Margin, simulate_setup, simulate_tables, sweep_tables
from strikeproof.desk.simulating.stated import Stated, stated_words
from strikeproof.drivetrain import draw_scatter, simulate_run
from strikeproof.errors import StrikeproofError
from strikeproof.explain.article_model import article_model
from strikeproof.parts import read_article, work_out
from strikeproof.plain_json import to_json

TABLES: dict[str, dict[str, Any]] = {
    "protocol": {"duration": "4 s"},
    "rig": {"name": "bench", "clamp_stiffness_n_per_m": 4e8},
    "bolt": {"thread": "M24x3", "class": "10.9", "friction": 0.12},
    "tool": {"name": "air-a", "mechanism": "air", "drive_mm": 12.7, "blow_rate_hz": 20},
    "article": {
        "name": "plain",
        "polar_inertia_kg_m2": 6e-5,
        "hexagon_gap_deg": 2.0,
        "torque_limit_n_m": 2000,
    },
}


def _pairs(*changes: str) -> list[tuple[str, str]]:
    return [(key, text) for key, _, text in (each.partition("=") for each in changes)]


def test_run_answers_with_every_key_of_the_contract() -> None:
    told = to_json(simulate_tables(TABLES, blow=3))
    json.dumps(told, allow_nan=False)
    assert {"score_n", "torque_equivalent_nm", "blows", "peak_torques_nm", "energy_j", "margins"} <= set(told)
    assert set(told["blows"][0]) == {"n", "t", "clamp_load_n", "peak_torque_nm"}
    assert told["blows"][-1]["clamp_load_n"] == told["score_n"]
    assert told["blows"][0]["n"] == 1 and told["blow"]["t"][0] == 0.0
    assert told["peak_torques_nm"]["article to head"] == pytest.approx(
        max(row["peak_torque_nm"] for row in told["blows"]), rel=0.02
    )
    assert {row["name"] for row in told["priors"]} >= {"hammer_inertia", "jaw_stiffness"}
    assert "blow_rate" not in {row["name"] for row in told["priors"]}
    assert all(
        any(each in row["from"] for each in ("estimate", "practice", "tests of")) for row in told["priors"]
    )


def test_changes_take_both_spellings_and_units() -> None:
    one = override(TABLES, _pairs("article.polar_inertia=3e-4", 'protocol.duration="2 s"'))
    two = override(TABLES, _pairs("article.polar_inertia_kg_m2=3e-4", "protocol.duration=2"))
    assert read_setup(one) == read_setup(two)
    assert read_setup(one).article.polar_inertia == 3e-4
    assert read_setup(
        override(TABLES, _pairs("article.hexagon_gap=90 deg"))
    ).article.hexagon_gap == pytest.approx(1.5707963)


def test_a_grip_length_makes_the_shank_twist_unless_its_stiffness_is_known() -> None:
    soft, stiff = (
        read_setup(override(TABLES, _pairs(f"bolt.grip_length={grip} mm"))).bolt.shank_stiffness
        for grip in (80, 40)
    )
    assert 1e3 < soft < stiff < 1e5
    known = override(TABLES, _pairs("bolt.grip_length=80 mm", "bolt.shank_stiffness=2e4"))
    assert read_setup(known).bolt.shank_stiffness == 2e4


def test_a_bolt_without_a_grip_length_has_three_diameters_of_it_and_that_is_said() -> None:
    """Round bars in series by hand: 12 mm of 24 mm, 72 mm of the stress diameter, 12 mm of the root."""
    stress, root = math.sqrt(4 / math.pi * 352.5), 24 - 1.22687 * 3  # mm, ISO 898-1 table 4; ISO 68-1, d3
    by_hand = 79.3e3 * math.pi / 32 / (12 / 24**4 + 72 / stress**4 + 12 / root**4) / 1e3
    found = simulate_tables(TABLES)
    assert found.setup.bolt.shank_stiffness == pytest.approx(by_hand, rel=0.01)
    assert ("grip_length", pytest.approx(0.072), "m") in found.priors
    assert ("assumed grip_length", "0.0720", "m") in simulation_table(found)
    given = simulate_tables(TABLES, _pairs("bolt.grip_length=72 mm"))
    assert given.run.end_load == found.run.end_load
    assert "grip_length" not in {name for name, _value, _unit in given.priors}


def test_a_run_begins_at_a_tenth_of_the_proof_load_and_that_is_said() -> None:
    """M24 10.9: proof load 293 kN (ISO 898-1:2013, table 5)."""
    found = simulate_tables(TABLES)
    assert found.run.start_load == pytest.approx(29.3e3, rel=0.005)
    assert ("snug_load", found.run.start_load, "N") in found.priors
    for change in ("rig.snug_load=5e3", "protocol.start_load=5e3"):
        other = simulate_tables(TABLES, _pairs(change))
        assert other.run.start_load == 5e3
        assert "snug_load" not in {name for name, _value, _unit in other.priors}
    unknown = {**TABLES, "bolt": {"thread": "M24x3", "friction": 0.12}}
    assert read_setup(unknown).rig.snug_load == pytest.approx(0.1 * 600e6 * 352.5e-6, rel=0.001)


def test_sweep_finds_its_optimum() -> None:
    sweep = sweep_tables(TABLES, "article.polar_inertia", [1e-4, 3e-4, 6e-4, 1.5e-3, 4e-3])
    told = to_json(sweep)
    assert told["over"] == "article.polar_inertia"
    assert [set(point) >= {"value", "score_n", "torque_equivalent_nm"} for point in told["points"]] == [
        True
    ] * 5
    assert 2e-4 < told["optimum"]["value"] < 1.5e-3
    assert told["optimum"]["score_n"] >= max(point["score_n"] for point in told["points"])


@pytest.mark.parametrize(
    ("score", "check"),
    [
        ("peak", lambda told: told["score_n"] == max(row["clamp_load_n"] for row in told["blows"])),
        ("at 1 s", lambda told: told["score_n"] < told["blows"][-1]["clamp_load_n"]),
        ("time to 200 N m", lambda told: 0.0 < told["time_to_s"] < 4.0),
        ("time to 9000 N m", lambda told: told["time_to_s"] is None),
    ],
)
def test_score_follows_the_rule(score: str, check: Any) -> None:
    assert check(to_json(simulate_tables(TABLES, _pairs(f'protocol.score="{score}"'))))


def test_predicted_overstress_is_a_stop_that_stands_first() -> None:
    strong = simulate_tables(TABLES, _pairs('bolt.thread="M12"', "article.torque_limit=100"))
    assert [caution.startswith("STOP") for caution in strong.cautions[:2]] == [True, True]
    calm = simulate_tables(TABLES, _pairs("protocol.duration=0.2"))
    assert not any(caution.startswith("STOP") for caution in calm.cautions)


def test_loosening_a_seized_bolt() -> None:
    changes = ['protocol.direction="loosen"', "protocol.start_load=1e5", "bolt.breakaway_torque=150"]
    told = to_json(simulate_tables(TABLES, _pairs(*changes)))
    assert told["score_n"] == 0.0
    json.dumps(told, allow_nan=False)


@pytest.mark.parametrize(("supply", "share"), [("5 bar", 5 / 6.2), ("500 kPa", 5 / 6.2), ("7 bar", 7 / 6.2)])
def test_supply_scales_the_tool_against_its_rating(supply: str, share: float) -> None:
    usual = to_json(simulate_tables(TABLES))["score_n"]
    told = to_json(simulate_tables(TABLES, _pairs(f'tool.supply="{supply}"')))["score_n"]
    assert told == pytest.approx(
        to_json(simulate_tables(TABLES, _pairs(f"tool.supply_ratio={share!r}")))["score_n"], rel=1e-9
    )
    assert (told - usual) * (share - 1.0) > 0.02 * usual * abs(share - 1.0)
    rated = simulate_tables(TABLES, _pairs(f'tool.supply="{supply}"', f'tool.rated_supply="{supply}"'))
    assert to_json(rated)["score_n"] == usual


def test_spring_and_cam_tool_is_rated_in_volts() -> None:
    changes = ["tool.mechanism=spring-and-cam"]
    scores = [
        to_json(simulate_tables(TABLES, _pairs(*changes, f'tool.supply="{volts} V"')))["score_n"]
        for volts in (14, 18, 20)
    ]
    assert scores[0] < scores[1] < scores[2]
    assert scores[1] == to_json(simulate_tables(TABLES, _pairs(*changes)))["score_n"]


@pytest.mark.parametrize(
    ("change", "named"),
    [
        ("article.polar_inertia=0", "article.polar_inertia"),
        ("article.polar_inertia=nan", "article.polar_inertia"),
        ("article.stiffness=1e12", "article.stiffness"),
        ("article.hexagon_gap=-1", "article.hexagon_gap"),
        ("article.polarinertia=1", "did you mean 'polar_inertia'"),
        ("tool.blow_energy=0", "tool.blow_energy"),
        ("tool.hammer_inertia=0", "tool.hammer_inertia"),
        ("tool.mechanism=steam", "mechanism"),
        ("tool.supply_ratio=0", "tool.supply"),
        ('tool.supply="18 V"', "tool.supply"),
        ('tool.supply="0 bar"', "tool.supply"),
        ('tool.rated_supply="0 bar"', "tool.rated_supply"),
        ("bolt.friction=-1", "bolt."),
        ("bolt.thread=M21", "M20"),
        ("protocol.start_load=9e6", "proof load"),
        ("protocol.duration=0", "protocol.duration"),
        ("protocol.direction=up", "protocol.direction"),
        ("protocol.score=most", "protocol.score"),
        ("rig.clamp_stiffness=0", "rig.clamp_stiffness"),
        ("nonsense", "--with"),
        ("rigg.name=3", "rig"),
    ],
)
def test_what_cannot_be_used_is_refused_in_one_line(change: str, named: str) -> None:
    with pytest.raises(StrikeproofError) as caught:
        simulate_tables(TABLES, _pairs(change))
    assert named in str(caught.value) and "\n" not in str(caught.value)


def test_blow_that_the_run_does_not_have_is_refused() -> None:
    with pytest.raises(StrikeproofError, match="blow"):
        simulate_tables(TABLES, blow=5000)


def test_article_made_from_its_parts_keeps_its_inertia_and_shows_its_margins() -> None:
    properties = work_out(read_article({"name": "ringed", "part": [socket(), ring()]}))
    model = article_model(properties)
    assert model.polar_inertia == pytest.approx(properties.polar_inertia, rel=1e-9)
    tables = {key: value for key, value in TABLES.items() if key != "article"}
    simulation = simulate_setup(read_setup(tables, article=model))
    told = to_json(simulation)
    json.dumps(told, allow_nan=False)
    shown = [margin["what"] for margin in told["margins"]]
    assert all(f"{each.part}, {each.mode}" in shown for each in properties.checks)
    near, far = (
        Margin("socket, wall", 500.0, 560.0, "nm", 0.2),
        Margin("socket, wall", 500.0, 700.0, "nm", 0.2),
    )
    assert replace(simulation, margins=(near, far)).cautions[0].startswith("socket, wall may give")
    assert not any("may give" in each for each in replace(simulation, margins=(far,)).cautions)
    assert {each.uncertainty for each in simulation.margins if "wall" in each.what} == {0.2}


def test_a_ring_whose_own_bond_sees_more_than_the_head_is_a_stop() -> None:
    """A 130 x 20 mm ring on one 3 mm weld: its bond sees five times what the bolt's head does."""
    thin = socket(outer_diameter_mm=26, length_mm=50) | {
        "cut": [
            {"kind": "square drive", "size_mm": 12.7, "depth_mm": 18},
            {"kind": "hexagon", "size_mm": 18, "depth_mm": 25},
        ]
    }
    heavy = ring(outer_diameter_mm=130, bond={"kind": "weld", "throat_mm": 3})
    tables = TABLES | {
        "protocol": {"duration": "1 s"},
        "rig": {"clamp_stiffness_n_per_m": 1e8},
        "bolt": {"thread": "M12", "class": "10.9", "friction": 0.12},
        "article": {"name": "ringed", "part": [thin, heavy]},
    }
    found = simulate_tables(tables)
    peaks = dict(zip(found.run.joints, found.run.peaks.tolist(), strict=True))
    weld = next(each for each in found.margins if each.what == "ring, weld")
    assert peaks["socket to ring"] > 3.0 * peaks["socket to head"]
    assert weld.load >= peaks["socket to ring"]
    assert weld.factor == pytest.approx(0.792, abs=0.01)
    assert any(each.startswith("STOP: ring, weld") for each in found.cautions)


@pytest.mark.parametrize("scatter", [0.0, 0.05])
def test_margins_are_judged_by_runs_that_scatter(scatter: float) -> None:
    setup = build_setup(TABLES)
    setup = replace(setup, tool=replace(setup.tool, speed_scatter=scatter))
    found = simulate_setup(setup)
    (margin,) = [each for each in found.margins if each.unit == "nm"]
    draws = [draw_scatter(setup.tool, setup.duration, np.random.default_rng(n)) for n in range(4)]
    runs = [simulate_run(found.chain, setup.tool, duration=setup.duration, scatter=each) for each in draws]
    others = max(float(each.own.max()) for each in runs)
    assert margin.load >= found.run.own.max()
    assert margin.load > 0.97 * others
    assert to_json(found)["margins_of"] == {"runs": 16, "scatter": True}
    assert ("margins by", "the largest of 16 runs with the tool's scatter", "") in simulation_table(found)


def test_a_margin_that_only_scatter_brings_below_one_is_a_stop_and_beyond() -> None:
    found = simulate_tables(TABLES)
    (margin,) = [each for each in found.margins if each.unit == "nm"]
    between = (float(found.run.own.max()) + margin.load) / 2.0
    assert between > found.run.own.max()
    limited = override(TABLES, _pairs(f"article.torque_limit_n_m={between!r}"))
    assert any(each.startswith("STOP: ") for each in simulate_tables(limited).cautions)
    assert sweep_tables(limited, "rig.clamp_stiffness_n_per_m", [4e8]).beyond == (True,)


def test_a_thin_sleeve_that_carries_a_ring_is_a_place_of_its_own() -> None:
    tube = {"name": "tube", "shape": "sleeve", "outer_diameter_mm": 38, "length_mm": 90, "material": "S355J2"}
    weld = {"kind": "weld", "throat_mm": 6, "runs": 1}
    outer = ring(outer_diameter_mm=140, length_mm=25, carrier="tube", at_mm=60, bond=weld)
    under = socket(outer_diameter_mm=36, length_mm=95)
    parts = [under, tube | {"carrier": "socket", "bond": weld}, outer]
    tool = {"hammer_inertia_kg_m2": 8e-4, "blow_speed_rad_s": 250}
    tables = TABLES | {"tool": TABLES["tool"] | tool, "article": {"name": "a", "part": parts}}
    tables |= {"bolt": {"thread": "M16", "class": "10.9", "friction": 0.14}}
    found = simulate_tables(tables)
    place = next(each for each in found.margins if each.what == "tube, shear")
    # fully plastic tube, T = 2π/3 (R³ − r³) k with k = Re/√3, by integration
    flows = 2.0 * math.pi / 3.0 * (0.019**3 - 0.018**3) * 355e6 / math.sqrt(3.0)
    assert place.limit == pytest.approx(flows, rel=0.01)
    peaks = dict(zip(found.run.joints, found.run.peaks.tolist(), strict=True))
    assert place.load >= max(
        peak for joint, peak in peaks.items() if joint.endswith((" to tube", " to ring"))
    )
    assert any(each.startswith("STOP: tube, shear") for each in found.cautions)


@pytest.mark.parametrize("table", ["protocol", "rig", "bolt", "tool", "article"])
def test_whatever_a_campaign_may_say_a_bench_may_say(table: str) -> None:
    for key in meanings_of(table):
        assert len(override({}, [(f"{table}.{key}", "1")])[table]) == 1


SLOW = {"blow_rate_hz": 15, "hammer_inertia_kg_m2": 0.0018, "blow_speed_rad_s": 55}


@pytest.mark.parametrize(
    ("tool", "says"),
    [
        (SLOW, ["15 blows a second and 55 rad/s contradict each other", "15 are stated"]),
        ({**SLOW, "supply_ratio": 0.5}, []),
        ({"blow_rate_hz": 20}, []),
        ({"blow_rate_hz": 18, "hammer_inertia_kg_m2": 4e-4, "blow_speed_rad_s": 250}, []),
        ({"blow_rate_hz": 110}, ["110 blows a second and 420 rad/s (usual for its class) contradict"]),
        (
            {"mechanism": "spring-and-cam", "blow_rate_hz": 90, "blow_speed_rad_s": 200},
            ["90 blows a second and 200 rad/s contradict each other: from jaw to jaw there is time for 63.7"],
        ),
    ],
)
def test_figures_of_a_tool_that_contradict_each_other_are_said(tool: dict[str, Any], says: list[str]) -> None:
    tables = {**TABLES, "protocol": {"duration": "2 s"}, "tool": {**TABLES["tool"], **tool}}
    found = [each for each in simulate_tables(tables).cautions if "a second" in each or "rad/s" in each]
    assert len(found) == bool(says)
    assert all(each in found[0] for each in says)


def test_a_speed_that_late_blows_do_not_reach_is_said_with_both() -> None:
    run = simulate_tables(TABLES).run
    late = float(np.median(run.speed[run.speed.size // 2 :]))
    assert stated_words("air-a", Stated(speed=late), run) == ""
    said = stated_words("air-a", Stated(speed=1.3 * late), run)
    assert f"{late:.3g} rad/s in late blows, {1.3 * late:.3g} are stated" in said


def test_a_run_past_yield_with_torsion_says_from_which_blow_on_and_by_how_much() -> None:
    found = simulate_tables(override(TABLES, _pairs("bolt.class=8.8", "bolt.thread=M16x2")))
    past, loads = found.past_yield, found.run.clamp_load
    assert past is not None
    assert loads[past.blow - 2] <= past.load < loads[past.blow - 1]
    assert past.time == found.run.time[past.blow - 1]
    assert past.excess == pytest.approx(1.0 - past.load / loads.max())
    # VDI 2230-1, Table A1: 80.9 kN at 0.9 of the yield and a friction of 0.12 (from memory)
    assert past.load == pytest.approx(80.9e3 / 0.9, rel=0.005)
    assert past.words in found.cautions
    assert to_json(found)["past_yield"]["blow"] == past.blow


def test_no_yield_is_reported_of_a_strong_bolt_or_an_unknown_class() -> None:
    short = override(TABLES, _pairs("protocol.duration=0.3 s"))
    assert simulate_tables(short).past_yield is None
    del short["bolt"]["class"]
    assert to_json(simulate_tables(short))["past_yield"] is None
