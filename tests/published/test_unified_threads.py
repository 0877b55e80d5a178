"""ASME B1.1 stress areas and SAE J429 strengths, as printed in Shigley, 9th ed., Tables 8-2 and 8-9."""

import pytest

from strikeproof.joint import parse_bolt, parse_thread

KSI = 6.894757e6


@pytest.mark.parametrize(
    ("size", "area"),
    [
        ("3/4-16", 0.373),
        # the others from memory
        ("1/2-13", 0.1419),
        ("1/2-20", 0.1599),
        ("3/4-10", 0.334),
        ("1-8", 0.606),
        ("1 1/4-7", 0.969),
        ("1 1/2-6", 1.405),
    ],
)
def test_stress_area_agrees_to_the_printed_rounding(size, area):
    # Printed to three or four figures, partly from rounded diameters: 0.2 %.
    assert parse_thread(size).stress_area / 0.0254**2 == pytest.approx(area, rel=0.002)


@pytest.mark.parametrize(
    ("bolt", "stresses"),
    [
        ("1/4-20 grade 5", (85, 92, 120)),
        ("1-8 grade 5", (85, 92, 120)),
        ("1 1/8-7 grade 5", (74, 81, 105)),
        ("1 1/2-6 grade 5", (74, 81, 105)),
        ("1/4-20 grade 8", (120, 130, 150)),
        ("1 1/2-6 grade 8", (120, 130, 150)),
    ],
)
def test_strengths_are_those_of_sae_j429(bolt, stresses):
    thread, property_class = parse_bolt(bolt)
    strength = property_class.strength(thread)
    found = (strength.proof_stress, strength.yield_strength, strength.tensile_strength)
    assert found == pytest.approx([each * KSI for each in stresses], rel=1e-6)
