from __future__ import annotations

import math

import pytest
from tests.unit.parts.examples import HARD, article, extension, ring, socket

from strikeproof.errors import BadInput
from strikeproof.parts import find_material, margins_at, work_out
from strikeproof.parts.strength import endurance_factors


def check(facts, part, mode):
    return next(each for each in facts.checks if (each.part, each.mode) == (part, mode))


def test_a_round_shank_holds_until_all_of_it_flows():
    """T = τ_y π D³/12 with τ_y = Re/√3."""
    facts = work_out(article(extension(100)))
    steel = find_material(HARD)
    expected = steel.yield_strength / math.sqrt(3) * math.pi * 0.0155**3 / 12
    assert check(facts, "shank", "shear").holds_to == pytest.approx(expected)
    assert facts.sections[0].shear == pytest.approx(16 / (math.pi * 0.0155**3))


def test_its_fatigue_limit_is_that_of_goodman_by_hand():
    """Pulsating: τ_a = τ_m = τ/2, 1/n = τ_a/S_se + τ_m/S_su."""
    facts = work_out(article(extension(100)))
    steel = find_material(HARD)
    rm = steel.tensile_strength / 1e6
    sse = 0.59 * 4.51 * rm**-0.265 * 1.24 * 15.5**-0.107 * steel.endurance
    tau = 16 / (math.pi * 0.0155**3)
    expected = 1 / (tau / 2 / sse + tau / 2 / (0.67 * steel.tensile_strength))
    assert check(facts, "shank", "shear").endures_to == pytest.approx(expected)


@pytest.mark.parametrize("hole", [3, 6, 9, 11])
def test_the_edge_of_a_hole_bears_no_less_than_the_net_section(hole: int) -> None:
    """The factor of 2 is that of a small hole on the whole section; a wide one leaves less than half."""
    cut = [{"kind": "cross hole", "size_mm": hole, "at_mm": 50}]
    for each in work_out(article(extension(100) | {"cut": cut})).sections:
        assert each.notch_shear >= each.shear


def test_surface_and_size_factors():
    """Shigley, 9th ed., Example 6-4: machined, Rm = 590 MPa gives k_a = 0.832 (from memory)."""
    size = 1.24 * 20**-0.107
    assert endurance_factors(590e6, 0.020) / size == pytest.approx(0.832, abs=5e-4)
    assert endurance_factors(590e6, 0.060) < endurance_factors(590e6, 0.050)


def test_a_cross_hole_weakens_by_its_strip_and_doubles_the_stress_at_its_edge():
    plain = work_out(article(extension(100)))
    holed = work_out(article(extension(100) | {"cut": [{"kind": "cross hole", "size_mm": 3, "at_mm": 50}]}))
    strip = 3e-3 * 0.0155**3 / 12
    factor = 1 - strip / (math.pi / 32 * 0.0155**4)
    assert check(holed, "shank", "shear").holds_to == pytest.approx(
        check(plain, "shank", "shear").holds_to * factor
    )
    there = next(each for each in holed.sections if each.start <= 0.05 <= each.end)
    assert there.notch_shear == pytest.approx(2 * plain.sections[0].shear)


def test_the_wall_over_the_hexagon_is_the_weakest_of_a_thin_socket():
    facts = work_out(article(socket(outer_diameter_mm=31)))
    assert facts.weakest is not None
    assert (facts.weakest.part, facts.weakest.mode) == ("socket", "wall")


def test_thicker_walls_hold_more():
    torques = [work_out(article(socket(outer_diameter_mm=d))).weakest.holds_to for d in (31, 34, 38, 44)]
    assert torques == sorted(torques)


def test_margins_shrink_with_the_peak_and_become_a_stop():
    facts = work_out(article(socket(), ring()))
    low, high = margins_at(facts, 100.0), margins_at(facts, 1e5)
    assert [m.static for m in low] == sorted(m.static for m in low)
    assert low[0].static == pytest.approx(1000 * high[0].static)
    assert {m.verdict for m in low} == {"holds"}
    assert {m.verdict for m in high} == {"stop"}
    between = margins_at(facts, facts.weakest.holds_to * 0.9)
    assert between[0].verdict == "finite life"


@pytest.mark.parametrize("peak", [0.0, -5.0, math.nan, math.inf])
def test_a_peak_that_is_no_torque_is_refused(peak):
    with pytest.raises(BadInput, match="above 0"):
        margins_at(work_out(article(socket())), peak)


def test_a_riders_weld_withstands_a_torque_in_its_own_bond():
    facts = work_out(article(socket(), ring()))
    by_name = {part.name: part for part in facts.parts}
    bead = 2 * math.pi * 0.034
    weaker = find_material("S355J2", thickness=0.020).yield_strength  # its wall is 23 mm
    strength = weaker / math.sqrt(3) * 4e-3 * bead * 0.017
    weld = check(facts, "ring", "weld")
    assert weld.holds_to == pytest.approx(strength, rel=1e-6)
    assert weld.joints == "ring"
    assert weld.share == pytest.approx(by_name["ring"].polar_inertia / facts.polar_inertia)


def test_each_place_is_loaded_by_its_own_joint():
    facts = work_out(article(socket(), ring()))
    loaded = {(each.part, each.mode, each.joints) for each in facts.checks}
    assert loaded == {
        ("socket", "shear", (0, 1)),
        ("socket", "wall", (0,)),  # the square pressed open by the drive
        ("socket", "wall", (1,)),  # the hexagon by the bolt's head
        ("ring", "weld", "ring"),
    }


def test_a_long_shank_is_loaded_by_the_joints_on_either_side_of_each_lump():
    facts = work_out(article(extension(250)))
    assert {each.joints for each in facts.checks} == {(0, 1), (1, 2), (2, 3)}
    assert len(facts.lumps) == 3


def test_margins_are_over_the_peak_of_each_places_joint():
    facts = work_out(article(socket(), ring()))
    peaks = [2.0 * each.holds_to if each.mode == "weld" else 0.5 * each.holds_to for each in facts.checks]
    margins = {(each.part, each.mode): each for each in margins_at(facts, peaks)}
    assert len(margins) == 3
    assert margins["ring", "weld"].static == pytest.approx(0.5)
    assert margins["ring", "weld"].verdict == "stop"
    assert margins["socket", "wall"].static == margins["socket", "shear"].static == pytest.approx(2.0)
