from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import dblquad
from tests.unit.parts.examples import HARD, article, socket

from strikeproof.errors import BadInput
from strikeproof.parts import work_out
from strikeproof.parts.article import Cut
from strikeproof.parts.solids import cross_hole


def test_a_cross_hole_takes_out_what_the_double_integral_says():
    cut, outside, inside = Cut("cross hole", 0.006, 0.03, at=0.01, walls=2), 0.034, 0.014

    def over_hole(what):
        def inner(x, y):
            return what(x, y) * 2 * math.sqrt(max(0.003**2 - y * y, 0))

        return (
            2
            * dblquad(
                inner,
                -0.003,
                0.003,
                lambda y: math.sqrt(0.007**2 - y * y),
                lambda y: math.sqrt(0.017**2 - y * y),
                epsabs=1e-18,
                epsrel=1e-9,
            )[0]
        )

    volume, moment, lopsided = cross_hole(cut, outside, inside)
    assert volume == pytest.approx(over_hole(lambda x, y: 1.0), rel=1e-6)
    assert moment == pytest.approx(over_hole(lambda x, y: x * x + y * y), rel=1e-6)
    assert lopsided == 0.0


def test_a_hole_through_one_wall_is_off_balance_by_what_is_missing():
    plain = article(socket())
    holed = article(
        socket(cut=[*socket()["cut"], {"kind": "cross hole", "size_mm": 5, "at_mm": 9, "walls": 1}])
    )
    a, b = work_out(plain), work_out(holed)
    missing = a.mass - b.mass
    assert b.off_balance == pytest.approx(missing * 0.0117, rel=0.05)  # middle of the wall
    assert a.off_balance == 0.0


def test_a_chamfer_takes_a_ring_off_the_corner():
    """Pappus: a right triangle of leg c turned around the axis at its centroid."""
    bar = {"name": "b", "shape": "bar", "outer_diameter_mm": 30, "length_mm": 40, "material": HARD}
    plain = work_out(article(bar)).mass
    cut = work_out(article(bar | {"cut": [{"kind": "chamfer", "size_mm": 3, "end": "bolt"}]})).mass
    taken = 7850 * 0.5 * 0.003**2 * 2 * math.pi * (0.015 - 0.001)
    assert plain - cut == pytest.approx(taken, rel=1e-9)


@settings(deadline=None)  # a busy machine is no fault of the geometry
@given(st.floats(5, 75), st.floats(20, 60), st.floats(0, 18))
def test_cutting_a_part_in_two_changes_nothing(at, outside, bore):
    whole = {"name": "a", "shape": "bar", "outer_diameter_mm": outside, "length_mm": 80, "material": HARD}
    if bore > 1:
        whole["bore_mm"] = bore
    halves = (whole | {"length_mm": at}, whole | {"name": "b", "length_mm": 80 - at})
    one, two = work_out(article(whole)), work_out(article(*halves))
    assert two.mass == pytest.approx(one.mass)
    assert two.polar_inertia == pytest.approx(one.polar_inertia)
    assert two.stiffness == pytest.approx(one.stiffness)
    assert two.length == pytest.approx(one.length)
    assert two.lumps[0].inertia == pytest.approx(one.lumps[0].inertia)


def test_a_hole_within_a_wider_one_does_not_count_twice():
    cut = [{"kind": "square drive", "size_mm": 12.5}, {"kind": "bore", "size_mm": 10}]
    with_bore = work_out(article(socket(cut=cut)))
    assert work_out(article(socket(cut=cut[:1]))).mass == pytest.approx(with_bore.mass)


def test_cuts_that_cross_are_refused():
    cut = [{"kind": "square drive", "size_mm": 12.5}, {"kind": "bore", "size_mm": 15}]
    with pytest.raises(BadInput, match=r"part 'socket': .*cross.*shorten one of them"):
        article(socket(cut=cut))
