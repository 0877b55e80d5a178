from __future__ import annotations

import math

import numpy as np
import pytest
from tests.unit.parts.examples import HARD, article, extension, ring, socket

from strikeproof.errors import BadInput
from strikeproof.parts import work_out

TANG = {"name": "tang", "stock": "drive square 12.5", "length_mm": 15}


def stack(length=125.0, **changes):
    return article(extension(length), TANG, socket(**changes))


def whole_inertia(facts):
    return sum(lump.inertia for lump in facts.lumps) + sum(rider.inertia for rider in facts.riders)


@pytest.mark.parametrize(
    "bond", ["rigid", {"kind": "weld", "throat_mm": 4}, {"kind": "loose", "slip_torque_n_m": 90}]
)
def test_no_inertia_is_lost_or_counted_twice(bond):
    facts = work_out(article(socket(), ring(bond=bond)))
    assert whole_inertia(facts) == pytest.approx(facts.polar_inertia)
    assert facts.polar_inertia == pytest.approx(sum(part.polar_inertia for part in facts.parts))


def test_a_rigid_ring_is_in_its_lump_and_a_welded_one_hangs_on_it():
    rigid = work_out(article(socket(), ring(bond="rigid")))
    welded = work_out(article(socket(), ring()))
    assert rigid.riders == () and rigid.lumps[0].parts == ("socket", "ring")
    rider = welded.riders[0]
    assert (rider.carrier_lump, rider.carrier_rider) == (0, None)
    assert rider.frequency == pytest.approx(math.sqrt(rider.stiffness / rider.inertia) / (2 * math.pi))


def test_a_weak_weld_tunes_the_ring_low():
    spot = {"kind": "weld", "throat_mm": 3, "coverage": 0.02}
    low, full = (work_out(article(socket(), ring(bond=b))).riders[0] for b in (spot, ring()["bond"]))
    assert low.frequency < full.frequency / 4


def test_springs_in_series_give_the_stiffness_of_the_path():
    facts = work_out(stack())
    parts = [facts.drive_stiffness, *(link.stiffness for link in facts.links), facts.hexagon_stiffness]
    assert sum(1 / each for each in parts) == pytest.approx(1 / facts.stiffness)


def test_a_loose_square_between_parts_is_a_link_with_its_gap():
    facts = work_out(stack())
    gaps = [link.gap for link in facts.links]
    assert len(facts.lumps) == len(facts.links) + 1 == 3
    assert gaps[0] == 0.0
    assert gaps[1] == pytest.approx(work_out(article(socket())).drive_gap)
    assert facts.links[1].damping > facts.links[0].damping


def test_the_square_sits_in_its_hole():
    """125 mm of shank, and a tang of 15 mm that disappears in the socket of 80 mm."""
    facts = work_out(stack())
    assert facts.length == pytest.approx(0.205)
    assert [part.start for part in facts.parts] == pytest.approx([0.0, 0.125, 0.125])


def test_lumps_of_an_even_bar_reproduce_its_first_free_mode():
    """A free-free bar has f = c/2L with c = √(G/ρ); three lumps and two springs come within 6 %."""
    bar = {"name": "b", "shape": "bar", "outer_diameter_mm": 20, "length_mm": 300, "material": HARD}
    facts = work_out(article(bar))
    assert [lump.inertia for lump in facts.lumps] == pytest.approx([facts.polar_inertia / 3] * 3)
    inertia = np.array([lump.inertia for lump in facts.lumps])
    k = [link.stiffness for link in facts.links]
    springs = np.array([[k[0], -k[0], 0], [-k[0], k[0] + k[1], -k[1]], [0, -k[1], k[1]]])
    first = math.sqrt(sorted(np.linalg.eigvals(springs / inertia[:, None]).real)[1]) / (2 * math.pi)
    assert first == pytest.approx(math.sqrt(80e9 / 7850) / (2 * 0.3), rel=0.06)


def test_riders_on_riders_and_what_holds_rigidly_to_them():
    lead = {
        "name": "lead",
        "shape": "fill",
        "material": "lead",
        "outer_diameter_mm": 52.5,
        "bore_mm": 34,
        "length_mm": 40,
        "carrier": "socket",
        "bond": {"kind": "loose", "slip_torque_n_m": 150},
    }
    shell = {"name": "shell", "stock": "pipe NPS 2 sch 40", "length_mm": 40, "carrier": "lead"}
    outer = ring(carrier="shell", outer_diameter_mm=90)
    facts = work_out(article(socket(), lead, shell, outer))
    soft = {rider.name: rider for rider in facts.riders}
    assert set(soft) == {"lead", "ring"}
    by_name = {part.name: part for part in facts.parts}
    both = by_name["lead"].polar_inertia + by_name["shell"].polar_inertia
    assert soft["lead"].inertia == pytest.approx(both)
    assert soft["lead"].slip_torque == 150.0
    assert soft["ring"].carrier_rider == facts.riders.index(soft["lead"])
    assert whole_inertia(facts) == pytest.approx(facts.polar_inertia)


def test_a_loose_bond_that_nothing_turns_is_refused():
    tube = {"name": "tube", "shape": "tube", "outer_diameter_mm": 30, "bore_mm": 20, "length_mm": 40}
    with pytest.raises(BadInput, match="square or hexagon"):
        work_out(article(extension(75), tube | {"material": HARD, "bond": "loose"}))


def test_a_plug_pressed_into_a_pipe_carries_the_torque_and_can_slip():
    pipe = {
        "name": "pipe",
        "stock": "pipe NPS 1 sch 160",
        "length_mm": 60,
        "bond": {"kind": "press fit", "interference_mm": 0.01},
        "overlap_mm": 20,
    }
    facts = work_out(article(extension(40, 20.7), pipe))
    assert facts.length == pytest.approx(0.080)
    slips = [check for check in facts.checks if check.mode == "press fit"]
    assert len(slips) == 1 and slips[0].part == "pipe" and slips[0].holds_to > 0


def test_a_socket_engaged_over_its_whole_length_stays_finite():
    cut = [
        {"kind": "square drive", "size_mm": 12.5, "depth_mm": 8},
        {"kind": "hexagon", "size_mm": 19, "depth_mm": 8},
    ]
    facts = work_out(article(socket(outer_diameter_mm=28, length_mm=16, cut=cut)))
    assert math.isfinite(facts.stiffness) and facts.stiffness > 0


def test_a_fill_takes_the_hollow_it_sits_in():
    tube = {"name": "tube", "stock": "pipe NPS 2 sch 40", "length_mm": 50}
    shot = {
        "name": "shot",
        "shape": "fill",
        "material": "lead",
        "length_mm": 40,
        "carrier": "tube",
        "packing": 0.6,
        "bond": {"kind": "loose", "slip_torque_n_m": 5},
    }
    facts = work_out(article(tube, shot))
    bore = 60.3e-3 - 2 * 3.91e-3
    assert facts.parts[1].mass == pytest.approx(0.6 * 11340 * math.pi / 4 * bore**2 * 0.04)
    assert facts.parts[1].start == pytest.approx(0.005)


def test_a_bore_of_stock_can_be_opened_but_not_closed():
    nut = {"name": "nut", "stock": "nut M24"}
    assert work_out(article(nut | {"bore_mm": 24})).mass < work_out(article(nut)).mass
    with pytest.raises(BadInput, match=r"20\.75 or more"):
        article(nut | {"bore_mm": 20})


def test_a_known_gap_and_stiffness_do_for_a_coupling_of_another_kind():
    bond = {"kind": "loose", "gap_deg": 3, "stiffness_n_m_per_rad": 2e4}
    tube = {"name": "tube", "shape": "tube", "outer_diameter_mm": 30, "wall_mm": 5, "length_mm": 40}
    facts = work_out(article(extension(75), tube | {"material": HARD, "bond": bond}))
    assert math.degrees(facts.links[0].gap) == pytest.approx(3)
    assert facts.links[0].stiffness < 2e4


def test_damping_is_its_share_of_critical():
    """c = 2ζ√(k J₁J₂/(J₁ + J₂))."""
    facts = work_out(stack())
    one, other = (lump.inertia for lump in facts.lumps[1:])
    link = facts.links[1]
    critical = 2 * math.sqrt(link.stiffness * one * other / (one + other))
    assert link.damping == pytest.approx(link.damping_ratio * critical)
    assert link.damping_ratio == 0.11
