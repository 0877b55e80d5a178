import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import optimize, stats

from strikeproof.errors import BadInput
from strikeproof.judge.calibration import fit_calibration
from strikeproof.judge.readout import expected_reading, read_out

APPLIED = np.tile(np.arange(0.0, 501.0, 50.0), 4)


def bent(sign=1.0, noise=0.05):
    rng = np.random.default_rng(3)
    reading = 1.5 + 0.2 * APPLIED - 1e-4 * APPLIED**2 + rng.normal(0, noise, APPLIED.size)
    return fit_calibration(APPLIED, sign * reading, degree=2)


@given(
    bend=st.floats(-0.25, 0.25),
    twist=st.floats(-0.12, 0.12),
    sign=st.sampled_from([-1.0, 1.0]),
    offset=st.floats(-1e3, 1e3),
)
@settings(max_examples=60, deadline=None)
def test_reading_out_undoes_any_curve_that_rises_or_falls(bend, twist, sign, offset):
    u = np.linspace(-1, 1, 12)
    fit = fit_calibration(250 + 250 * u, offset + sign * 100 * (u + bend * u**2 + twist * u**3), degree=3)
    applied = np.linspace(-200, 800, 41)
    found = read_out(fit, fit.curve.reading(applied))
    assert found.value == pytest.approx(applied, abs=1e-6)


@pytest.mark.parametrize("sign", [1.0, -1.0])
def test_ends_of_the_interval_are_where_the_prediction_band_meets_the_reading(sign):
    fit, reading = bent(sign), sign * 60.0
    found = read_out(fit, reading)
    reach = stats.t.ppf(0.975, fit.degrees_of_freedom)

    def band(applied, side):
        at = np.asarray(applied)
        return float(
            fit.curve.reading(at)
            + side * reach * np.sqrt(fit.residual_sd**2 + fit.curve.covariance_of(at, at))
            - reading
        )

    meets = sorted(optimize.brentq(band, 0, 500, args=(side,)) for side in (-1, 1))
    assert [float(found.low), float(found.high)] == pytest.approx(meets, rel=1e-9)
    assert found.low < found.value < found.high


def test_own_uncertainty_of_a_reading_adds_in_quadrature_and_frees_the_degrees_of_freedom():
    fit = bent()
    plain, noisy = read_out(fit, 60.0), read_out(fit, 60.0, reading_uncertainty=0.5)
    slope = float(fit.curve.slope(plain.value))
    assert float(noisy.standard_uncertainty) == pytest.approx(
        np.hypot(plain.standard_uncertainty, 0.5 / slope)
    )
    assert float(plain.degrees_of_freedom) == pytest.approx(fit.degrees_of_freedom)
    assert noisy.degrees_of_freedom > 1000


def test_mean_of_many_readings_is_read_out_more_surely():
    fit = bent()
    assert read_out(fit, 60.0, m=9).standard_uncertainty < read_out(fit, 60.0).standard_uncertainty / 2


def test_many_readings_come_out_as_each_alone():
    fit, readings = bent(), np.array([[10.0, 60.0], [70.0, 90.0]])
    together = read_out(fit, readings, reading_uncertainty=np.array([0.1, 0.2]))
    assert together.low.shape == (2, 2)
    alone = read_out(fit, 70.0, reading_uncertainty=0.1)
    assert together.low[1, 0] == pytest.approx(float(alone.low))
    assert together.within_range.tolist() == [[True, True], [True, False]]


def test_reading_beyond_the_range_goes_on_along_the_tangent_and_is_flagged():
    fit = bent()
    top = float(fit.curve.reading(np.asarray(500.0)))
    found = read_out(fit, top + 10.0)
    assert float(found.value) == pytest.approx(500 + 10 / float(fit.curve.slope(np.asarray(500.0))))
    assert not found.within_range
    assert (found.low, found.high) == (-np.inf, np.inf)  # no point says how the curve goes on


def test_reading_beyond_the_range_is_refused_when_strict():
    with pytest.raises(BadInput, match=r"reading 90 is beyond the calibrated range .*calibrate over a wider"):
        read_out(bent(), [60.0, 90.0], strict=True)
    with pytest.raises(BadInput, match="applied value 600"):
        expected_reading(bent(), 600.0, strict=True)


def test_nothing_above_a_runs_own_zero_is_nothing_applied():
    fit = bent()
    assert float(read_out(fit, 0.0, net=True).value) == pytest.approx(0, abs=0.5)
    gross = read_out(fit, 60.0 + fit.zero.reading)
    assert float(read_out(fit, 60.0, net=True).value) == float(gross.value)


def test_a_zero_that_only_the_curve_knows_cancels_in_the_difference():
    """For a line this is net / slope, in which the intercept's uncertainty has no part."""
    rng = np.random.default_rng(4)
    applied = APPLIED[APPLIED > 0]
    fit = fit_calibration(applied, 1.5 + 0.2 * applied + rng.normal(0, 0.05, applied.size), degree=1)
    slope, u_slope = fit.coefficients[1], fit.standard_uncertainties[1]
    found = read_out(fit, np.array([0.0, 80.0]), net=True)
    expected = np.hypot(fit.scatter, np.array([0.0, 80.0]) / slope * u_slope) / slope
    assert found.standard_uncertainty == pytest.approx(expected, rel=1e-9)


def test_expected_reading_is_the_way_back_of_the_net_read_out():
    fit = bent()
    levels = np.array([100.0, 400.0, 550.0])
    found = expected_reading(fit, levels)
    assert read_out(fit, found.reading, net=True).value == pytest.approx(levels)
    assert found.within_range.tolist() == [True, True, False]


def test_a_slope_that_may_be_nothing_at_the_end_leaves_the_interval_open():
    rng = np.random.default_rng(5)
    applied = np.linspace(0, 1, 8)
    fit = fit_calibration(applied, 2 * applied - 0.85 * applied**2 + rng.normal(0, 0.05, 8), degree=2)
    found = read_out(fit, 2.5)
    assert np.isinf(found.high) and found.low < found.value


def test_missing_readings_stay_missing():
    found = read_out(bent(), np.array([np.nan, 60.0]))
    assert np.isnan(found.value[0]) and not found.within_range[0]
    assert float(found.value[1]) == pytest.approx(float(read_out(bent(), 60.0).value))
