from __future__ import annotations

import math
from dataclasses import replace

import pytest
from tests.unit.parts.examples import article, extension, ring, socket

from strikeproof.parts import Check, find_material, margins_at, work_out
from strikeproof.parts.life import CONSTANT, LifeCurve, Stresses, metal_curve

CURVE = LifeCurve(amplitude=1e-3, mean=0.0, local=0.0, yields=math.inf, knee=1e6, slope=5.0, scatter=0.15)


def test_a_life_is_that_of_the_knee_at_its_torque_and_falls_with_the_slope():
    assert CURVE.blows(1000.0) == pytest.approx(1e6)
    assert CURVE.blows(2000.0) == pytest.approx(1e6 / 2**5)
    assert CURVE.blows(500.0) == pytest.approx(1e6 * 2**9)  # 2·5 − 1 beyond the knee


def test_nine_of_ten_withstand_fewer_blows_than_half():
    """The strength of nine in ten is exp(−1.2816·0.15) of the median."""
    life = CURVE.life(2000.0)
    assert life.at_50 == pytest.approx(1e6 / 2**5)
    assert life.at_90 == pytest.approx(life.at_50 * math.exp(-1.28155 * 0.15 * 5), rel=1e-4)


def test_the_damage_of_soft_and_hard_blows_adds_up():
    """One in ten at the peak, the rest at half of it: 1/N = 0.1/N₁ + 0.9/N₂."""
    spectrum = ((1.0, 0.1), (0.5, 0.9))
    hard, soft = CURVE.blows(4000.0), CURVE.blows(2000.0)
    assert CURVE.life(4000.0, spectrum).at_50 == pytest.approx(1 / (0.1 / hard + 0.9 / soft))
    assert CURVE.life(4000.0, spectrum).at_50 > CURVE.life(4000.0, CONSTANT).at_50


def test_what_breaks_at_its_hardest_blow_has_no_life():
    brittle = LifeCurve(1e-3, 1e-3, 0.0, math.inf, 1e6, 5.0, 0.15)
    assert brittle.life(1000.0).at_50 == 0.0
    assert brittle.life(1000.0, ((1.0, 0.01), (0.1, 0.99))).at_50 == 0.0


def test_a_notch_that_yields_at_the_first_blow_keeps_less_mean_stress():
    """Amplitude 0.5, yield 0.7 of the breaking stress: the mean is 0.2, not the 0.3 of the section."""
    held = LifeCurve(1e-3, 3e-4, 5e-4, 0.7, 1e6, 5.0, 0.15)
    assert held.blows(1000.0) == pytest.approx(1e6 * 0.8**5)


def test_a_notch_is_given_the_strain_that_its_steel_withstands():
    steel = find_material("4140 at 45 HRC")
    smooth = metal_curve(steel, Stresses(1.0, 1.0, 4e8, steel.tensile_strength, steel.yield_strength))
    notched = metal_curve(steel, Stresses(2.0, 1.0, 4e8, steel.tensile_strength, steel.yield_strength))
    assert notched.slope < smooth.slope  # more strength at a thousand blows
    assert notched.scatter > smooth.scatter
    assert metal_curve(steel, Stresses(1.0, 1.0, 0.0, 1e9, 1e9)) is None


def test_a_margin_gives_its_life_and_it_shrinks_with_the_peak():
    facts = work_out(article(socket(), ring()))
    lives = [next(each for each in margins_at(facts, peak) if each.mode == "wall") for peak in (300.0, 500.0)]
    assert lives[0].blows_90 < lives[0].blows_50
    assert lives[1].blows_90 < lives[0].blows_90
    (weld,) = (each for each in margins_at(facts, 300.0) if each.mode == "weld")
    assert weld.blows_90 > 0


def test_at_its_fatigue_limit_half_of_them_see_a_million_blows():
    facts = work_out(article(extension(100)))
    limit = facts.checks[0].endures_to
    assert margins_at(facts, limit)[0].blows_50 == pytest.approx(1e6, rel=1e-6)


def test_what_is_beyond_its_static_limit_has_no_life():
    facts = work_out(article(socket()))
    weak = margins_at(facts, facts.weakest.holds_to * 1.01)[0]
    assert (weak.verdict, weak.blows_90, weak.blows_50) == ("stop", 0.0, 0.0)


def test_of_two_lines_that_cross_the_shorter_life_counts():
    """The place with the lower fatigue limit is not always the one that cracks first."""
    sure = replace(CURVE, scatter=0.0)
    steep, flat = replace(sure, slope=3.0, amplitude=1.1e-3), replace(sure, slope=12.0)
    check = Check("shaft", "shear", (0, 1), 1e5, 1e6, lives=(steep, flat))
    facts = replace(work_out(article(socket())), checks=(check,))
    lives = []
    for peak in (1000.0, 3000.0):
        both = [each.life(peak).at_90 for each in (steep, flat)]
        assert margins_at(facts, peak)[0].blows_90 == min(both)
        lives.append(both)
    assert lives[0][0] < lives[0][1] and lives[1][0] > lives[1][1]
