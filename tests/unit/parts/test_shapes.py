from __future__ import annotations

import math

import pytest

from strikeproof.parts.shapes import Outline, fits_inside, free_play, polygon_moments, round_outline


def test_a_square_as_a_polygon_has_its_textbook_moments():
    assert polygon_moments([(1, -1), (1, 1), (-1, 1), (-1, -1)]) == pytest.approx((4.0, 2.0**4 / 6))


def test_a_twelve_point_lies_between_its_hexagon_and_the_circle_around():
    star, plain, around = Outline("twelve-point", 1), Outline("hexagon", 1), round_outline(2 / math.sqrt(3))
    assert plain.area < star.area < around.area
    assert plain.polar_moment < star.polar_moment < around.polar_moment


def _turns_freely(sides: int, male: float, female: float, angle: float) -> bool:
    """Whether every corner of a male polygon, turned by an angle, is within all flats of the female."""
    corners = [angle + (2 * k + 1) * math.pi / sides for k in range(sides)]
    radius = male / 2 / math.cos(math.pi / sides)
    flats = [2 * k * math.pi / sides for k in range(sides)]
    return all(radius * math.cos(corner - flat) <= female / 2 + 1e-12 for corner in corners for flat in flats)


@pytest.mark.parametrize(("kind", "sides"), [("square", 4), ("hexagon", 6)])
def test_free_play_is_where_a_corner_meets_a_flat(kind, sides):
    male, female = 24.0e-3, 24.3e-3
    half = free_play(kind, male, female) / 2
    assert _turns_freely(sides, male, female, half * 0.999)
    assert not _turns_freely(sides, male, female, half * 1.001)


def test_no_clearance_is_no_play_and_too_much_slips_round():
    assert free_play("square", 0.0127, 0.0127) == pytest.approx(0, abs=1e-9)
    assert free_play("hexagon", 0.024, 0.024) == pytest.approx(0, abs=1e-9)
    assert free_play("square", 0.01, 0.02) == pytest.approx(math.pi / 2)


def test_usual_clearances_give_the_usual_one_to_four_degrees():
    """Common practice, no source: gaps at square and hexagon are 1 to 4 degrees."""
    assert 1 < math.degrees(free_play("square", 12.645e-3, 12.895e-3)) < 4
    assert 1 < math.degrees(free_play("hexagon", 23.84e-3, 24.18e-3)) < 4


def test_what_fits_in_what():
    assert fits_inside(Outline("square", 10), Outline("square", 10))
    assert fits_inside(Outline("hexagon", 10), Outline("twelve-point", 10))
    assert fits_inside(Outline("square", 10), round_outline(14.2))
    assert not fits_inside(Outline("square", 10), round_outline(14.1))
    assert not fits_inside(round_outline(10.1), Outline("hexagon", 10))
