import json
import math

import numpy as np
import pytest
from GTC import reporting, ureal

from strikeproof.errors import BadInput
from strikeproof.judge.budget import Component, calibration_budget, clamp_load, make_budget, torque_equivalent
from strikeproof.judge.calibration import fit_calibration
from strikeproof.judge.readout import read_out
from strikeproof.plain_json import to_json


@pytest.fixture(scope="module")
def fit():
    rng = np.random.default_rng(8)
    step = np.arange(0.0, 501.0, 50.0)
    applied = np.tile(np.concatenate([step, step[::-1]]), 3)
    rising = np.tile(np.repeat([True, False], 11), 3)
    loop = 0.1 * np.where(rising, -1, 1) * applied * (500 - applied) / 250**2
    reading = np.round(0.3 + 0.2 * applied + loop + rng.normal(0, 0.05, 66), 2)
    return fit_calibration(applied, reading, rising=rising, climbing=False)


def test_combination_agrees_with_an_independent_library():
    """GTC (Measurement Standards Laboratory of New Zealand) on the same lines."""
    lines = [Component("a", 0.4, 2.0, 7), Component("b", 0.3, -1.5, 4), Component("c", 0.9, 0.5)]
    budget = make_budget(lines, at=1.0)
    total = sum(
        each.sensitivity * ureal(0, each.standard_uncertainty, each.degrees_of_freedom) for each in lines
    )
    assert budget.standard_uncertainty == pytest.approx(total.u, rel=1e-12)
    assert budget.degrees_of_freedom == pytest.approx(total.df, rel=1e-12)
    factor = reporting.k_factor(math.floor(total.df))
    assert budget.coverage_factor == pytest.approx(factor, rel=1e-6)
    assert budget.expanded_uncertainty == pytest.approx(factor * total.u, rel=1e-6)


def test_whole_degrees_of_freedom_are_not_lost_to_rounding():
    lines = [Component(str(i), 0.1, degrees_of_freedom=5) for i in range(4)]
    assert make_budget(lines, at=0.0).coverage_factor == pytest.approx(2.086, abs=5e-4)  # t table, ν = 20


def test_all_but_infinite_degrees_of_freedom_give_the_normal_factor():
    lines = [Component("a", 1e-9, degrees_of_freedom=3), Component("b", 1.0)]
    assert make_budget(lines, at=0.0).coverage_factor == pytest.approx(1.959964, abs=1e-6)


def test_shares_add_up_and_follow_the_squares():
    budget = make_budget([Component("a", 3.0), Component("b", 2.0, 2.0)], at=0.0)
    assert budget.shares == pytest.approx([9 / 25, 16 / 25])


def test_tiny_and_huge_units_give_the_same_degrees_of_freedom():
    tiny, huge = (
        make_budget([Component("a", s, 1, 4), Component("b", s, 1, 9)], at=0) for s in (1e-120, 1e120)
    )
    assert tiny.degrees_of_freedom == pytest.approx(huge.degrees_of_freedom)


def test_a_budget_of_nothing_is_refused():
    with pytest.raises(BadInput, match="no line has any uncertainty"):
        make_budget([Component("a", 0.0)], at=1.0)


def test_calibration_budget_has_its_six_lines(fit):
    budget = calibration_budget(fit, at=400.0, reference_uncertainty_percent=1.0)
    names = [line.name for line in budget.components]
    assert names == [
        *("calibration curve", "zero", "repeatability", "hysteresis", "resolution", "reference instrument")
    ]
    by_name = dict(zip(names, budget.components, strict=True))
    assert by_name["reference instrument"].contribution == pytest.approx(400 * 0.01 / 2)
    assert by_name["resolution"].contribution == pytest.approx(0.01 / math.sqrt(12) / 0.2, rel=0.01)
    half = abs(fit.hysteresis.reading) / 2
    assert by_name["hysteresis"].contribution == pytest.approx(half / math.sqrt(3) / 0.2, rel=0.01)
    assert by_name["repeatability"].degrees_of_freedom == 44


def test_curve_zero_and_scatter_of_the_budget_are_those_of_the_read_out(fit):
    budget = calibration_budget(fit, at=400.0)
    lines = {line.name: line.contribution for line in budget.components}
    net = float(fit.curve.reading(np.asarray(400.0))) - fit.zero.reading
    scatter = fit.scatter / float(fit.curve.slope(np.asarray(400.0)))
    expected = math.hypot(lines["calibration curve"], lines["zero"], scatter)
    assert float(read_out(fit, net, net=True).standard_uncertainty) == pytest.approx(expected, rel=1e-9)


def test_misfit_gets_a_line_of_its_own():
    rng = np.random.default_rng(9)
    applied = np.tile(np.arange(0.0, 501.0, 50.0), 3)
    reading = 0.2 * applied - 1e-4 * applied**2 + rng.normal(0, 0.05, 33)
    line = fit_calibration(applied, reading, degree=1)
    named = {each.name: each for each in calibration_budget(line, at=250.0).components}
    missed = named["departure from the curve"].standard_uncertainty
    assert math.hypot(missed, line.repeatability.standard_deviation) == pytest.approx(line.residual_sd)


def test_json_of_a_budget_has_null_for_infinite_degrees_of_freedom(fit):
    found = json.loads(json.dumps(to_json(calibration_budget(fit, at=400.0)), allow_nan=False))
    assert found["rows"][4]["degrees_of_freedom"] is None
    assert sum(row["share_percent"] for row in found["rows"]) == pytest.approx(100)


def test_clamp_load_from_torque_and_back():
    """Relative uncertainties of torque and of torque per force add in quadrature (GUM eq. 12)."""
    load = clamp_load([400.0, 0.0], 3.2e-3, torque_uncertainty=8.0, relative_uncertainty=0.1)
    assert load.value == pytest.approx([125_000.0, 0.0])
    assert load.standard_uncertainty == pytest.approx([125_000 * math.hypot(0.02, 0.1), 2500.0])
    assert float(torque_equivalent(load.value[0], 3.2e-3).value) == pytest.approx(400.0)
    assert float(
        torque_equivalent(1e5, 3e-3, relative_uncertainty=0.1).standard_uncertainty
    ) == pytest.approx(30)


@pytest.mark.parametrize("nothing", [0.0, -1.0, math.nan])
def test_torque_per_force_must_be_above_nothing(nothing):
    with pytest.raises(BadInput, match="check thread and friction"):
        clamp_load(1.0, nothing)
