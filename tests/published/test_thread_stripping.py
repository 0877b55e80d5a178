"""Shear of threads against standards and handbooks.

Sources:
FED-STD-H28/2B, appendix B, thread shear areas at basic size: AS_s = π n L K (1/(2n) + 0.57735 (E − K)) (from
memory; the same area in inches and threads an inch).
ISO 898-2: nuts of style 1, at least 0.8 d high, let the bolt of their class break first (from memory).
"""

from __future__ import annotations

import math

import pytest

from strikeproof.errors import BadInput
from strikeproof.joint import parse_bolt, parse_thread, tensile_load
from strikeproof.joint.stripping import needed_engagement, stripping_areas, stripping_load


def test_the_area_of_a_unified_bolt_thread():
    """1/2-13 UNC over 1/2 in, all turns counted: K = 0.4167, E = 0.4500 in."""
    thread = parse_thread("1/2-13 UNC")
    inch, n, minor, pitch = 0.0254, 13, 0.5 - 1.082532 / 13, 0.5 - 0.649519 / 13
    expected = math.pi * n * 0.5 * minor * (1 / (2 * n) + 0.57735 * (pitch - minor))
    height = 0.5 * inch + 0.8 * thread.pitch  # what is taken off for chamfers
    assert stripping_areas(thread, height)[0] / inch**2 == pytest.approx(expected, rel=1e-4)


@pytest.mark.parametrize(("bolt", "height", "nut"), [("M12 8.8", 10.8, 800e6), ("M24 10.9", 21.5, 1040e6)])
def test_a_bolt_in_a_nut_of_its_class_breaks_before_it_strips(bolt, height, nut):
    thread, name = parse_bolt(bolt)
    assert stripping_load(thread, name, height * 1e-3, nut) > tensile_load(thread, name)


def test_a_short_thread_in_aluminium_strips_first():
    """6082-T6, Rm 310 MPa, over half a diameter."""
    thread, name = parse_bolt("M12 8.8")
    assert stripping_load(thread, name, 6e-3, 310e6) < 0.5 * tensile_load(thread, name)


def test_less_than_a_turn_is_no_thread():
    thread, name = parse_bolt("M12 8.8")
    with pytest.raises(BadInput, match="more than one pitch"):
        stripping_load(thread, name, 1.5e-3, 800e6)


def test_the_engagement_that_lets_a_bolt_break_first():
    """There both are equal; in steel like the bolt's 0.6 to 0.9 d (common practice: one d)."""
    thread, name = parse_bolt("M12 8.8")
    own = name.strength(thread).tensile_strength
    height = needed_engagement(thread, name, own)
    assert stripping_load(thread, name, height, own) == pytest.approx(tensile_load(thread, name))
    assert 0.6 < height / thread.diameter < 0.95
    assert needed_engagement(thread, name, 310e6) > height
