"""Torsion of solid and holed sections against textbooks, bounds, and a second way of solving them.

Sources
-------
Timoshenko, S. P. & Goodier, J. N., *Theory of Elasticity*, 3rd ed., sec. 109 (square: J = 0.1406 a⁴,
    τ = T/(0.208 a³)); coefficients from memory.
Timoshenko, S. P., *Strength of Materials*, part II (hexagon: J = 0.133 A F², τ = T/(0.217 A F)); from memory.
Young, W. C. & Budynas, R. G., *Roark's Formulas for Stress and Strain*, Table 10.1 (rounds); exact.
Nádai, A., *Theory of Flow and Fracture of Solids* (sand heap: fully plastic torque); from memory.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from strikeproof.errors import BadInput
from strikeproof.parts.sections import torsion_bounds, twist
from strikeproof.parts.shapes import Outline, round_outline

D = 0.04


def test_hollow_round_after_roark():
    """Roark, Table 10.1: J = π(D⁴ − d⁴)/32 and τ = 16 T D/(π(D⁴ − d⁴)); exact."""
    found = twist(round_outline(D), round_outline(0.018))
    whole = D**4 - 0.018**4
    assert found.constant == pytest.approx(math.pi / 32 * whole, rel=1e-12)
    assert found.shear == pytest.approx(16 * D / (math.pi * whole), rel=1e-12)


def test_square_after_timoshenko():
    """Theory of Elasticity, sec. 109; 0.1 % because the book prints four digits of J and three of τ."""
    found = twist(Outline("square", D), None)
    assert found.constant == pytest.approx(0.1406 * D**4, rel=1e-3)
    assert 1 / found.shear == pytest.approx(0.208 * D**3, rel=1.5e-3)


def test_hexagon_after_timoshenko():
    """Strength of Materials II; 0.5 % because the book prints three digits."""
    area = math.sqrt(3) / 2 * D**2
    found = twist(Outline("hexagon", D), None)
    assert found.constant == pytest.approx(0.133 * area * D**2, rel=5e-3)
    assert 1 / found.shear == pytest.approx(0.217 * area * D, rel=5e-3)


@pytest.mark.parametrize(("kind", "tolerance"), [("square", 0.07), ("hexagon", 0.02)])
def test_st_venants_approximation_is_as_far_off_as_known(kind, tolerance):
    """Theory of Elasticity, sec. 109: J ≈ A⁴/(40 I_p), 6.7 % high for a square and 1.6 % for a hexagon."""
    outline = Outline(kind, D)
    estimate = outline.area**4 / (40 * outline.polar_moment)
    assert 1 < estimate / twist(outline, None).constant < 1 + tolerance


@pytest.mark.parametrize(("kind", "widest"), [("square", 0.68), ("hexagon", 0.83), ("twelve-point", 0.83)])
def test_a_broached_round_lies_between_its_bounds(kind, widest):
    """Taking material away never stiffens: between a bore across corners and one across flats."""
    for ratio in np.linspace(0.05, widest, 30):
        hole = Outline(kind, ratio * D)
        low, high = torsion_bounds(round_outline(D), hole)
        assert low < twist(round_outline(D), hole).constant < high


def test_a_twelve_point_hole_weakens_more_than_a_hexagon_of_the_same_flats():
    outer, flats = round_outline(D), 0.024
    plain = twist(outer, Outline("hexagon", flats)).constant
    assert twist(outer, Outline("twelve-point", flats)).constant < plain


@pytest.mark.parametrize("kind", ["square", "hexagon"])
def test_a_small_bore_takes_a_round_core_out_of_a_prism(kind):
    """Near the axis the shear is that of a round bar, so a small bore takes π d⁴/32 (membrane analogy)."""
    solid, bore = twist(Outline(kind, D), None).constant, 0.1 * D
    lost = solid - twist(Outline(kind, D), round_outline(bore)).constant
    assert lost == pytest.approx(math.pi / 32 * bore**4, rel=0.01)


def _by_series(sides: int, ratio: float, terms: int = 14) -> float:
    """J of a round of diameter 1 with a polygonal hole, by a series fitted along the hole's edge.

    Prandtl's function φ = (R² − r²)/2 + Σ a_n ((r/R)^{mn} − (R/r)^{mn}) cos mnθ is 0 outside and is fitted to
    a constant on the hole; without ln r the circulation is right. J = 2∫∫φ dA + 2 A_h φ_h.
    """
    outside = 0.5
    half = math.pi / sides
    theta = (np.arange(1000) + 0.5) / 1000 * half  # from the middle of a flat to a corner
    edge = ratio / 2 / np.cos(theta)
    orders = sides * np.arange(1, terms + 1)

    def basis(radius):
        scaled = radius[:, None] / outside
        return scaled**orders - scaled ** (-orders.astype(float))

    shape = basis(edge) * np.cos(np.outer(theta, orders))
    scale = np.abs(shape).max(axis=0)
    matrix = np.column_stack([shape / scale, -np.ones(theta.size)])
    target = -(outside**2 - edge**2) / 2
    solution = np.linalg.lstsq(matrix, target, rcond=1e-13)[0]
    weights, on_hole = solution[:-1] / scale, solution[-1]
    radii = edge[:, None] + (outside - edge)[:, None] * (np.arange(100) + 0.5) / 100
    value = (outside**2 - radii**2) / 2
    for order, weight in zip(orders, weights, strict=True):
        scaled = radii / outside
        value += weight * (scaled**order - scaled ** (-float(order))) * np.cos(order * theta)[:, None]
    inner = (value * radii).sum(axis=1) * (outside - edge) / 100
    sector = inner.sum() * half / theta.size
    hole_area = sides * (ratio / 2) ** 2 * math.tan(half)
    return 2 * sector * 2 * sides + 2 * hole_area * on_hole


@pytest.mark.parametrize(
    ("kind", "sides", "ratio"), [("square", 4, 0.4), ("square", 4, 0.55), ("hexagon", 6, 0.6)]
)
def test_a_series_solution_agrees(kind, sides, ratio):
    """A second solution of the same equation; 0.5 % because the series is slow at a sharp corner."""
    found = twist(round_outline(1.0), Outline(kind, ratio)).constant
    assert found == pytest.approx(_by_series(sides, ratio), rel=5e-3)


@pytest.mark.parametrize(
    ("outer", "hole", "ratio", "constant"),
    [
        ("round", "square", 0.35, 0.0950533),
        ("round", "square", 0.525, 0.0822388),
        ("round", "square", 0.64, 0.0614037),
        ("round", "square", 0.672, 0.0516872),
        ("round", "hexagon", 0.55, 0.0865511),
        ("round", "hexagon", 0.725, 0.0629169),
        ("round", "hexagon", 0.822, 0.0384392),
        ("round", "twelve-point", 0.79, 0.0418349),
        ("hexagon", "round", 0.55, 0.1060645),
        ("hexagon", "round", 0.945, 0.0337010),
        ("square", "round", 0.65, 0.1226292),
        ("square", "round", 0.965, 0.0388091),
    ],
)
def test_between_the_nodes_of_the_table(outer, hole, ratio, constant):
    """Size 1, solved with sectionproperties 3.10.2 and the functions of the table's maker; 0.05 %."""
    assert twist(Outline(outer, 1.0), Outline(hole, ratio)).constant == pytest.approx(constant, rel=5e-4)


@pytest.mark.parametrize(
    ("outer", "hole", "ratio", "constant"),
    [
        ("hexagon", "square", 0.35, 0.111931),
        ("hexagon", "square", 0.5, 0.101990),
        ("hexagon", "hexagon", 0.6, 0.098924),
        ("hexagon", "hexagon", 0.7, 0.085624),
        ("square", "square", 0.5, 0.129294),
        ("hexagon", "twelve-point", 0.65, 0.089229),
    ],
)
def test_the_estimate_for_broached_prisms(outer, hole, ratio, constant):
    """Flats 1, flats in line, solved with sectionproperties 3.10.2 and the functions of the table's maker.

    2 % is what the equivalent bore costs where corner faces corner and the wall is thin.
    """
    assert twist(Outline(outer, 1.0), Outline(hole, ratio)).constant == pytest.approx(constant, rel=0.02)


@pytest.mark.parametrize(
    ("outer", "hole", "ratio", "solved"),
    [
        ("hexagon", "hexagon", 0.519615, 6.0706),
        ("hexagon", "hexagon", 0.692820, 11.1118),
        ("hexagon", "hexagon", 0.779423, 18.6921),
        ("square", "hexagon", 0.692820, 10.4916),
        ("square", "square", 0.494975, 9.0844),
        ("square", "square", 0.636396, 19.0541),
        ("hexagon", "square", 0.494975, 9.3997),
        ("hexagon", "square", 0.636396, 17.3149),
    ],
)
def test_the_corner_of_a_broached_prism_is_given_no_less_shear_than_was_solved(outer, hole, ratio, solved):
    """Flats 1, the hole turned to the larger shear; sectionproperties 3.10.2 and the table's maker."""
    assert solved <= twist(Outline(outer, 1.0), Outline(hole, ratio)).notch_shear * 1.001 <= 1.6 * solved


def test_fully_plastic_torque_after_nadai():
    """Sand heap: 4/3 of first yield for a solid round, a³/3 for a square."""
    solid = twist(round_outline(D), None)
    assert solid.flow * solid.shear == pytest.approx(4 / 3, rel=1e-12)
    assert twist(Outline("square", D), None).flow == pytest.approx(D**3 / 3, rel=1e-12)


def test_the_sharper_the_corner_the_higher_its_stress():
    outer, hole = round_outline(D), Outline("square", 0.0127)
    sharp, blunt = (twist(outer, hole, corner_radius=r).notch_shear for r in (0.05e-3, 0.4e-3))
    assert sharp == pytest.approx(2 * blunt, rel=1e-9)  # 8^(1/3): the exponent of a corner of 270° of metal


@pytest.mark.parametrize("hole", [Outline("square", 0.0283), Outline("hexagon", 0.034), round_outline(0.05)])
def test_a_wall_too_thin_is_refused_with_the_widest_hole(hole):
    with pytest.raises(BadInput, match="at most"):
        twist(round_outline(D), hole)
    with pytest.raises(BadInput, match="at most"):
        twist(Outline("hexagon", D), Outline(hole.kind, hole.size * 1.15))
