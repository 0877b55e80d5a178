"""Life in cycles against worked examples and rules of the open literature.

Sources:
Budynas & Nisbett, *Shigley's Mechanical Engineering Design*, 9th ed., examples 6-2 and 6-6 (from memory;
recomputed).
EN 1993-1-9:2005, clause 7.1 and Table 8.5 (from memory).
Roessle & Fatemi, Int. J. Fatigue 22 (2000) 495, steels by their hardness (from memory).
"""

from __future__ import annotations

from dataclasses import replace

import pytest

from strikeproof.parts import find_material
from strikeproof.parts.life import Stresses, metal_curve, notch_sensitivity, strain_strength, weld_curve

KPSI = 6.894757e6


def test_a_basquin_line_by_hand():
    """Example 6-2: Rm = 90 kpsi, Se' = 45 kpsi; 64.6 kpsi at 1e4, and 77 500 cycles at 55 kpsi.

    The book reads f = 0.86 off a figure where the equation of a later edition gives 0.864: 3 % of life.
    """
    steel = replace(find_material("A36"), tensile_strength=90 * KPSI)
    curve = replace(metal_curve(steel, Stresses(2.0, 2.0, 45 * KPSI, 90 * KPSI, 50 * KPSI)), mean=0.0)
    assert curve.blows(55 * KPSI) == pytest.approx(77_500, rel=0.03)
    assert curve.blows(64.6 * KPSI) == pytest.approx(1e4, rel=0.06)


def test_a_shoulder_is_felt_in_part():
    """Example 6-6: Rm = 690 MPa, fillet of 3 mm, K_t = 1.65; q = 0.84 and K_f = 1.55."""
    q = notch_sensitivity(690e6, 3e-3)
    assert q == pytest.approx(0.84, abs=0.01)
    assert 1 + q * (1.65 - 1) == pytest.approx(1.55, abs=0.01)


def test_the_shear_category_of_a_fillet_weld():
    """Category 80, slope 5: 80 MPa at 2 million and the cut-off limit of 0.457 times that at 1e8, 95 %
    survive."""
    curve = weld_curve(1.0)
    weaker = 10 ** (-2 * 0.2 / 5)  # two standard deviations of the logarithm of life, slope 5
    assert curve.blows(80e6, weaker) == pytest.approx(2e6, rel=1e-6)
    assert curve.blows(0.4573 * 80e6, weaker) == pytest.approx(1e8, rel=5e-3)


def test_the_strain_that_a_hard_steel_withstands():
    """A steel of 400 HB: 1925 MPa·(2N)^-0.09 + 47 400 MPa·(2N)^-0.56, at 2000 reversals 0.78 % of 209 GPa."""
    found = strain_strength(400 * 3.45e6, 2000.0)
    assert found == pytest.approx((1925 * 2000**-0.09 + 47_400 * 2000**-0.56) * 1e6, rel=1e-3)
    assert found / 209e9 == pytest.approx(0.0078, abs=2e-4)
