"""Touching against points sampled on the swept surface and lowered into the pocket."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st
from tests.unit.design.places import article_tables, collides, envelopes, surface
from tests.unit.parts.examples import article, extension, ring, socket

from strikeproof.design.envelope import (
    Body,
    find_touches,
    fits_envelope,
    free_radius,
    keeps_envelope,
    swept_bodies,
)
from strikeproof.design.records import Envelope, Step
from strikeproof.errors import BadInput, StrikeproofError
from strikeproof.parts import read_article, work_out
from strikeproof.parts.layout import place

MM = 1e-3
POCKET = Envelope((Step(30 * MM, 90 * MM), Step(55 * MM, 52 * MM)), 120 * MM, 60 * MM, 1 * MM)


def marks(envelope):
    edges = [envelope.depth - step.depth for step in envelope.pocket] + [envelope.depth]
    return [0.0, *edges, *(edge + envelope.clearance for edge in edges)]


@settings(max_examples=150, deadline=None, suppress_health_check=[HealthCheck.filter_too_much])
@given(article_tables(), envelopes())
def test_what_fits_meets_nothing_and_what_touches_does(table, envelope):
    try:
        made = read_article(table)
        placed = place(made)
    except StrikeproofError:
        assume(False)
    touches = find_touches(made, envelope)
    points = [point for body in swept_bodies(placed) for point in surface(body, marks(envelope))]
    struck = any(collides(envelope, r, h, 1e-6) for r, h in points)
    if not touches:
        assert not struck
    # The points lie up to a few tenths of a millimetre apart where a cone or a ring meets an edge.
    if any(touch.excess > 0.5e-3 for touch in touches):
        assert struck


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.filter_too_much])
@given(article_tables(), envelopes())
def test_the_fast_check_never_passes_what_touches(table, envelope):
    try:
        made = read_article(table)
        facts = work_out(made)
    except StrikeproofError:
        assume(False)
    if fits_envelope(facts, envelope):
        assert not find_touches(made, envelope)


def test_a_socket_that_fits():
    made = article(socket())
    assert find_touches(made, POCKET) == ()
    assert fits_envelope(work_out(made), POCKET)


def test_a_ring_over_the_ledge_is_named_with_how_much():
    """Its lower edge stands 30 mm above the seat, the ledge 25 mm; 88 + 2 × 1 mm just go in above it."""
    assert find_touches(article(socket(), ring(outer_diameter_mm=88)), POCKET) == ()
    (touch,) = find_touches(article(socket(), ring(outer_diameter_mm=94)), POCKET)
    assert (touch.part, touch.limit) == ("ring", "pocket")
    assert touch.excess == pytest.approx(3 * MM)
    assert touch.allowed == pytest.approx(88 * MM)
    assert touch.depth == pytest.approx(30 * MM)
    assert (touch.low, touch.high) == (pytest.approx(30 * MM), pytest.approx(50 * MM))


def test_a_ring_too_deep_meets_the_narrow_step():
    touches = find_touches(article(socket(), ring(at_mm=38)), POCKET)
    (touch,) = touches
    assert touch.allowed == pytest.approx(50 * MM)
    # From its lower edge, 22 mm above the seat, up to the ledge and its clearance.
    assert (touch.low, touch.high) == (pytest.approx(22 * MM), pytest.approx(26 * MM))


def test_the_wall_counts_above_the_mouth_and_on_the_way_in():
    narrow = Envelope((Step(50 * MM, 90 * MM),), None, 40 * MM, 0.0)
    (touch,) = find_touches(article(socket(), ring(outer_diameter_mm=84)), narrow)
    assert touch.limit == "wall"
    assert touch.excess == pytest.approx(2 * MM)


def test_too_long_and_below_the_seat():
    short = Envelope((), 70 * MM)
    (touch,) = find_touches(article(socket()), short)
    assert (touch.limit, touch.excess) == ("free length", pytest.approx(10 * MM))
    (touch,) = find_touches(article(socket(), ring(at_mm=65)), Envelope())
    assert (touch.limit, touch.excess) == ("seat", pytest.approx(5 * MM))


def test_an_eccentric_part_sweeps_its_far_side():
    (touch,) = find_touches(article(socket(), ring(outer_diameter_mm=88, bore_mm=40, eccentric_mm=2)), POCKET)
    assert touch.excess == pytest.approx(2 * MM)


ROPE = {"shape": "ring", "ring_stock_mm": 10, "outer_diameter_mm": 54, "at_mm": 20, "length_mm": None}


def rope(**changes):
    """A ring of 10 mm round stock on the socket: its middle 55 mm above the seat."""
    return {key: value for key, value in (ring() | ROPE | changes).items() if value is not None}


def test_a_ring_of_round_stock_is_widest_in_its_middle():
    """27 mm at the middle; 3 mm above it, where √(5² − 3²) = 4 mm of its stock are left, 26 mm."""
    level = Envelope((Step(80 * MM, 53 * MM),), clearance=0.0)
    (touch,) = find_touches(article(socket(), rope()), level)
    assert touch.excess == pytest.approx(0.5 * MM)
    ledge = Envelope((Step(20 * MM, 200 * MM), Step(72 * MM, 51 * MM)), clearance=0.0)
    (touch,) = find_touches(article(socket(), rope()), ledge)
    assert touch.excess == pytest.approx((22 + 4 - 25.5) * MM)


def test_a_ring_of_round_stock_off_the_axis_sweeps_its_far_side():
    level = Envelope((Step(80 * MM, 54 * MM),), clearance=0.0)
    (touch,) = find_touches(article(socket(), rope(eccentric_mm=1.5)), level)
    assert touch.excess == pytest.approx(1.5 * MM)


def test_a_cone_touches_with_its_wide_end():
    """60 mm at the drive end, 40 mm at the bolt end, 20 mm long: 1 mm of width for each mm up."""
    cone = extension(20, 60) | {"shape": "cone", "outer_diameter_end_mm": 40}
    (touch,) = find_touches(article(cone), Envelope((Step(20 * MM, 50 * MM),), clearance=0.0))
    assert touch.excess == pytest.approx(5 * MM)
    open_above = Envelope((Step(8 * MM, 60 * MM), Step(20 * MM, 50 * MM)), clearance=0.0)
    (touch,) = find_touches(article(cone), open_above)
    assert touch.excess == pytest.approx(1 * MM)
    turned = extension(20, 40) | {"shape": "cone", "outer_diameter_end_mm": 60}
    (touch,) = find_touches(article(turned), open_above)
    assert touch.excess == pytest.approx(5 * MM)


@given(
    st.floats(0.005, 0.06),
    st.floats(0.005, 0.06),
    st.booleans(),
    st.tuples(st.floats(0, 1), st.floats(0, 1)).map(sorted),
)
def test_the_reach_of_a_body_is_that_of_its_points(at_low, at_high, is_ring, window):
    body = Body("x", 0.01, 0.03, at_low + 0.01 * is_ring, at_high, 0.01 * is_ring)
    low, high = (0.01 + 0.02 * share for share in window)
    heights = np.linspace(low, high, 400)
    if is_ring:
        radii = at_low + np.sqrt(np.maximum(0.01**2 - (heights - 0.02) ** 2, 0.0))
    else:
        radii = np.interp(heights, [0.01, 0.03], [at_low, at_high])
    assert body.reach(low, high) == pytest.approx(radii.max(), abs=2e-6)


def test_a_prism_sweeps_its_corners():
    hexagon = extension(40) | {"shape": "hexagonal prism", "across_flats_mm": 46}
    del hexagon["outer_diameter_mm"]
    pocket = Envelope((Step(40 * MM, 50 * MM),), clearance=0.0)
    (touch,) = find_touches(article(hexagon), pocket)
    assert touch.excess == pytest.approx((46 / math.sqrt(3) - 25) * MM)


def test_the_free_radius_is_that_of_the_narrowest_above():
    """A pocket that widens downwards, which nothing wide can be lowered into."""
    bottle = Envelope((Step(10 * MM, 40 * MM), Step(30 * MM, 80 * MM)), None, 100 * MM, 2 * MM)
    heights = np.array([-1, 0, 10, 25, 31.9, 32, 50]) * MM
    assert free_radius(bottle, heights) == pytest.approx(np.array([0, 18, 18, 18, 18, 98, 98]) * MM)


def test_the_array_form_takes_many_articles_at_once():
    low = np.array([[0.0, 30], [0, 22], [0, 30], [0, np.nan]]) * MM
    high = np.array([[80.0, 50], [80, 42], [130, 50], [80, 50]]) * MM
    radius = np.array([[17.0, 44], [17, 44], [17, 44], [17, 44]]) * MM
    assert keeps_envelope(POCKET, low, high, radius).tolist() == [True, False, False, False]


def test_no_limits_at_all_hold_anything():
    assert find_touches(article(socket(), ring(outer_diameter_mm=200)), Envelope()) == ()


def test_values_alone_do_not_say_where_it_touches():
    plain = read_article({"name": "plain", "polar_inertia_kg_m2": 6e-5})
    with pytest.raises(BadInput, match="no dimensions"):
        find_touches(plain, POCKET)
    assert not fits_envelope(work_out(plain), POCKET)
