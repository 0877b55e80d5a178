"""Calibrations of known truth: read-out intervals hold the true applied value as often as they say."""

import math

import numpy as np
import pytest

from strikeproof.judge.budget import calibration_budget
from strikeproof.judge.calibration import fit_calibration
from strikeproof.judge.readout import read_out

SHEETS = 400
READINGS = 5
STEPS = np.tile(np.arange(0.0, 501.0, 50.0), 2)
NOISE = 0.3


def true_reading(applied):
    return 1.2 + 0.2 * applied - 8e-5 * applied**2


def coverage(read, *, degree, applied_noise=0.0, sheets=SHEETS):
    """Share of intervals that hold the truth, and its standard error over sheets."""
    rng = np.random.default_rng(77)
    held = np.empty(sheets)
    for i in range(sheets):
        typed = STEPS + rng.normal(0, applied_noise, STEPS.size) if applied_noise else STEPS
        reading = true_reading(STEPS) + rng.normal(0, NOISE, STEPS.size)
        fit = fit_calibration(typed, reading, degree=degree, applied_uncertainty=applied_noise)
        truth = rng.uniform(20, 480, READINGS)
        found = read(fit, true_reading(truth) + rng.normal(0, NOISE, READINGS), rng)
        held[i] = np.mean((found.low <= truth) & (truth <= found.high))
    return held.mean(), held.std() / math.sqrt(sheets)


def gross(fit, reading, _rng):
    return read_out(fit, reading)


def net(fit, reading, _rng):
    return read_out(fit, reading - true_reading(0.0), net=True)


def net_of_a_noisy_zero(fit, reading, rng):
    own = 0.4
    zero = true_reading(0.0) + rng.normal(0, own, READINGS)
    return read_out(fit, reading - zero, reading_uncertainty=own, net=True)


@pytest.mark.parametrize("read", [gross, net, net_of_a_noisy_zero])
def test_95_percent_intervals_hold_the_truth_in_95_percent(read):
    share, error = coverage(read, degree=2)
    assert share == pytest.approx(0.95, abs=3.5 * error)


@pytest.mark.parametrize("applied_noise", [1.0, 2.0])
def test_intervals_hold_with_both_axes_uncertain(applied_noise):
    """Up to as much scatter from the applied values as from the readings (slope 0.16: 0.32 beside 0.3).

    Within 1.5 % of 95 %, as the degrees of freedom of σ² beside a known variance are approximate.
    """
    share, error = coverage(gross, degree=2, applied_noise=applied_noise, sheets=200)
    assert share == pytest.approx(0.95, abs=0.015 + 2 * error)


def test_choosing_the_degree_from_the_same_points_costs_little():
    """Choosing among degrees on the points that are then fitted is known to narrow intervals a little."""
    share, error = coverage(gross, degree=None)
    assert 0.93 - 2 * error < share < 0.97


def test_budget_agrees_with_draws_through_the_inverse_curve():
    """JCGM 101:2008, clause 8: the linear budget is validated by propagating the distributions."""
    rng = np.random.default_rng(5)
    steps = np.tile(STEPS, 2)
    rising = np.tile(np.repeat([True, False], 11), 2)
    reading = true_reading(steps) + np.where(rising, -0.2, 0.2) + rng.normal(0, NOISE, steps.size)
    fit = fit_calibration(steps, reading, rising=rising, degree=2, resolution=0.1, climbing=False)
    at, draws = 400.0, 20_000
    budget = calibration_budget(fit, at=at, reference_uncertainty_percent=1.0)
    lines = {line.name: line for line in budget.components}
    curves = rng.multivariate_normal(fit.coefficients, fit.covariance, draws)
    shown = float(fit.curve.reading(np.asarray(at))) - fit.coefficients[0]
    shown = shown + sum(
        rng.normal(0, lines[name].standard_uncertainty, draws) for name in ("zero", "repeatability")
    )
    for name in ("hysteresis", "resolution"):
        half = lines[name].standard_uncertainty * math.sqrt(3)
        shown = shown + rng.uniform(-half, half, draws)
    c, b = curves[:, 2], curves[:, 1]
    applied = 2 * shown / (b + np.sqrt(b**2 + 4 * c * shown))  # the root of c x² + b x = shown that is near 0
    applied = applied * (1 + rng.normal(0, 0.005, draws))
    assert applied.mean() == pytest.approx(at, abs=0.1 * budget.standard_uncertainty)
    assert applied.std() == pytest.approx(budget.standard_uncertainty, rel=0.03)


def test_a_straight_sheet_is_called_straight_in_about_95_percent():
    """The lack-of-fit test at 5 % keeps its rate: 400 sheets, binomial standard error 1.1 %."""
    rng = np.random.default_rng(6)
    straight = sum(
        fit_calibration(STEPS, 0.2 * STEPS + rng.normal(0, NOISE, STEPS.size)).degree == 1 for _ in range(400)
    )
    assert straight / 400 == pytest.approx(0.95, abs=0.035)
