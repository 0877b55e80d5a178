"""Mass moments of inertia about the axis against the textbook.

Source
------
Meriam, J. L. & Kraige, L. G., *Engineering Mechanics: Dynamics*, tables of mass moments of inertia (cylinder,
hollow cylinder, torus, parallel axes); regular prisms by I_p/A of the polygon. From memory; exact.
"""

from __future__ import annotations

import math

import pytest

from strikeproof.parts import read_article, work_out
from strikeproof.parts.shapes import Outline

STEEL = 7850.0


def facts(**part):
    """The properties of an article of one steel part, 50 mm long unless said."""
    whole = {"name": "one", "shape": "bar", "material": "S355J2", "length_mm": 50.0} | part
    return work_out(read_article({"name": "a", "part": [whole]}))


def test_solid_cylinder():
    """m R²/2."""
    found = facts(outer_diameter_mm=30)
    assert found.mass == pytest.approx(STEEL * math.pi * 0.015**2 * 0.05)
    assert found.polar_inertia == pytest.approx(found.mass * 0.015**2 / 2)


def test_hollow_cylinder():
    """m (R_o² + R_i²)/2."""
    found = facts(shape="tube", outer_diameter_mm=40, bore_mm=24)
    assert found.polar_inertia == pytest.approx(found.mass * (0.020**2 + 0.012**2) / 2)


def test_square_prism():
    """m a²/6."""
    found = facts(shape="square prism", across_flats_mm=19.05)
    assert found.polar_inertia == pytest.approx(found.mass * 0.01905**2 / 6)


def test_hexagonal_prism():
    """(5/12) m a², a the side, which is (5/36) m F², F the width across flats."""
    found = facts(shape="hexagonal prism", across_flats_mm=36)
    side = 0.036 / math.sqrt(3)
    assert found.polar_inertia == pytest.approx(found.mass * 5 / 12 * side**2)
    assert found.polar_inertia == pytest.approx(found.mass * 5 / 36 * 0.036**2)


def test_hexagons_polar_moment():
    """I_p = 5√3/8 a⁴ = 0.12028 F⁴."""
    outline = Outline("hexagon", 0.024)
    assert outline.polar_moment == pytest.approx(5 * math.sqrt(3) / 8 * (0.024 / math.sqrt(3)) ** 4)
    assert outline.polar_moment == pytest.approx(0.12028 * 0.024**4, rel=1e-4)


def test_cone_comes_to_its_closed_form():
    """A full cone has (3/10) m R²; a frustum is one full cone less another."""
    found = facts(shape="cone", outer_diameter_mm=40, outer_diameter_end_mm=20)
    whole, tip = (STEEL * math.pi * r**2 * h / 3 for r, h in ((0.02, 0.1), (0.01, 0.05)))
    assert found.mass == pytest.approx(whole - tip)
    assert found.polar_inertia == pytest.approx(0.3 * (whole * 0.02**2 - tip * 0.01**2))


def test_torus_and_parallel_axis():
    """m (R² + ¾ r²) with m = ρ 2π² R r², and + m d² off the axis."""
    parts = [
        {"name": "core", "shape": "bar", "material": "S355J2", "length_mm": 50, "outer_diameter_mm": 30},
        {
            "name": "ring",
            "shape": "ring",
            "material": "S355J2",
            "outer_diameter_mm": 60,
            "ring_stock_mm": 14,
            "carrier": "core",
            "eccentric_mm": 1,
        },
    ]
    ring = work_out(read_article({"name": "a", "part": parts})).parts[1]
    mean, radius = 0.023, 0.007
    mass = STEEL * 2 * math.pi**2 * mean * radius**2
    assert ring.mass == pytest.approx(mass)
    assert ring.polar_inertia == pytest.approx(mass * (mean**2 + 0.75 * radius**2 + 0.001**2))
