from __future__ import annotations

import math

import pytest

from strikeproof.errors import BadInput
from strikeproof.parts.bonds import BondPlan, Fit, annulus_stiffness, fit_pressure, make_bond, series
from strikeproof.parts.materials import find_material

STEEL = find_material("S355J2")
SOLID = Fit(0.03, 0.02, STEEL, STEEL, 0.0, 0.06)
HOLLOW = Fit(0.03, 0.02, STEEL, STEEL, 0.01, 0.06)


@pytest.mark.parametrize("fit", [SOLID, HOLLOW])
def test_pressure_of_like_materials_is_shigleys_short_form(fit):
    """Shigley, eq. (3-57): p = Eδ/(2d³) · (d_o² − d²)(d² − d_i²)/(d_o² − d_i²); from memory."""
    d, o, i, delta = fit.diameter, fit.outside, fit.bore, 20e-6
    expected = STEEL.elastic_modulus * delta / (2 * d**3) * (o**2 - d**2) * (d**2 - i**2) / (o**2 - i**2)
    assert fit_pressure(fit, delta) == pytest.approx(expected, rel=1e-12)


def test_a_press_fit_slips_at_friction_times_pressure():
    bond = make_bond(BondPlan("press fit", interference=20e-6, friction=0.12), SOLID)
    area = math.pi * 0.03 * 0.02
    assert bond.slip_torque == pytest.approx(0.12 * fit_pressure(SOLID, 20e-6) * area * 0.015)
    assert bond.strength == bond.slip_torque


def test_a_press_fit_that_yields_is_refused_with_the_most_it_takes():
    with pytest.raises(BadInput, match="0 to") as caught:
        make_bond(BondPlan("press fit", interference=200e-6), SOLID)
    most = float(str(caught.value).split("0 to ")[1].split(" mm")[0])
    make_bond(BondPlan("press fit", interference=most * 0.99e-3), SOLID)


def test_a_weld_yields_in_its_throat_and_grows_with_coverage():
    full = make_bond(BondPlan("weld", throat=4e-3), SOLID)
    assert full.strength == pytest.approx(STEEL.yield_strength / math.sqrt(3) * 4e-3 * math.pi * 0.03 * 0.015)
    half = make_bond(BondPlan("weld", throat=4e-3, coverage=0.5), SOLID)
    assert half.strength == pytest.approx(full.strength / 2)
    assert half.stiffness == pytest.approx(full.stiffness / 2)
    assert math.isinf(full.slip_torque)


def test_a_collar_is_the_sum_of_its_thin_shells():
    """dθ = T dr/(2π r³ L G), summed in 2000 steps."""
    steps = [0.015 + 0.010 * (k + 0.5) / 2000 for k in range(2000)]
    give = sum(0.010 / 2000 / (2 * math.pi * r**3 * 0.02 * 80e9) for r in steps)
    assert annulus_stiffness(80e9, 0.02, 0.015, 0.025) == pytest.approx(1 / give, rel=1e-6)


def test_springs_in_series():
    assert series(2.0, 2.0) == pytest.approx(1.0)
    assert series(math.inf, 5.0) == pytest.approx(5.0)
    assert math.isinf(series(math.inf))


def test_known_values_replace_the_computed():
    plan = BondPlan("weld", throat=4e-3, stiffness=1e5, damping_ratio=0.2, slip_torque=300.0, gap=0.01)
    bond = make_bond(plan, SOLID)
    assert (bond.stiffness, bond.damping_ratio, bond.slip_torque, bond.gap) == (1e5, 0.2, 300.0, 0.01)
