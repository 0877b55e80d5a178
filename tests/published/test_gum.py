"""Examples H.1, H.2, H.3 and H.5 of JCGM 100:2008, Guide to the expression of uncertainty in measurement.

Inputs of H.1, H.3 and H.5 as printed there; inputs of H.2 and the results marked so are from memory of the
same pages, and recomputed. Tolerances are half a unit of the last printed digit.
"""

import math

import numpy as np
import pytest

from strikeproof.judge.budget import Component, make_budget
from strikeproof.judge.calibration import fit_calibration
from strikeproof.judge.curve import propagate_covariance
from strikeproof.judge.degree import lack_of_fit
from strikeproof.judge.readout import expected_reading

RECTANGULAR = 1 / math.sqrt(3)


@pytest.fixture(scope="module")
def end_gauge():
    """H.1, lengths in nm: l = lS + d − lS (δα θ + αS δθ), at θ = −0.1 °C, lS = 50.000623 mm, d = 215 nm."""
    length, swing, expansion = 50_000_623.0, -0.1, 11.5e-6
    difference = make_budget(
        [
            Component("repeated observations", 5.8, 1.0, 24),
            Component("random effects of the comparator", 3.9, 1.0, 5),
            Component("systematic effects of the comparator", 6.7, 1.0, 8),
        ],
        at=215.0,
    )
    return difference, make_budget(
        [
            Component("calibration of the standard", 25.0, 1.0, 18),
            Component("difference", difference.standard_uncertainty, 1.0, difference.degrees_of_freedom),
            Component("difference in expansion", 1e-6 * RECTANGULAR, -length * swing, 50, "rectangular"),
            Component("difference in temperature", 0.05 * RECTANGULAR, -length * expansion, 2, "rectangular"),
        ],
        at=length + 215.0,
        level=0.99,
    )


def test_h1_difference_of_the_gauges(end_gauge):
    """H.1.3.2: u(d) = 9.7 nm with 25.6 degrees of freedom, from the rounded 9.7 (else 25.45)."""
    assert end_gauge[0].standard_uncertainty == pytest.approx(9.7, abs=0.05)
    assert end_gauge[0].degrees_of_freedom == pytest.approx(25.6, abs=0.2)


def test_h1_end_gauge(end_gauge):
    """H.1.4 to H.1.6, Table H.1 (from memory): 32 nm, 16 degrees of freedom, t = 2.92, U99 = 93 nm."""
    budget = end_gauge[1]
    assert [line.contribution for line in budget.components] == pytest.approx([25, 9.7, 2.9, 16.6], abs=0.05)
    assert budget.standard_uncertainty == pytest.approx(32, abs=0.5)
    assert math.floor(budget.degrees_of_freedom) == 16
    assert budget.coverage_factor == pytest.approx(2.92, abs=0.005)
    assert budget.expanded_uncertainty == pytest.approx(93, abs=0.7)  # printed from 2.92 × 32 = 93.4
    assert budget.at * 1e-6 == pytest.approx(50.000838, abs=5e-7)


def test_h2_resistance_and_reactance():
    """H.2, Tables H.2 to H.4 (from memory): R, X, Z from five simultaneous readings of V, I and φ."""
    observed = np.array(
        [
            [5.007, 4.994, 5.005, 4.990, 4.999],
            [19.663e-3, 19.639e-3, 19.640e-3, 19.685e-3, 19.678e-3],
            [1.0456, 1.0438, 1.0468, 1.0428, 1.0433],
        ]
    )
    v, i, phi = observed.mean(axis=1)
    z, cos, sin = v / i, math.cos(phi), math.sin(phi)
    slopes = np.array(
        [[cos / i, -z * cos / i, -z * sin], [sin / i, -z * sin / i, z * cos], [1 / i, -z / i, 0]]
    )
    found = propagate_covariance(slopes, np.cov(observed) / 5)
    assert [z * cos, z * sin, z] == pytest.approx([127.732, 219.847, 254.260], abs=6e-4)
    u = np.sqrt(np.diag(found))
    assert u == pytest.approx([0.071, 0.295, 0.236], abs=6e-4)  # 0.2956 unrounded, printed as 0.295
    r = found / np.outer(u, u)
    assert [r[0, 1], r[0, 2], r[1, 2]] == pytest.approx([-0.588, -0.485, 0.993], abs=6e-4)


def test_h3_thermometer():
    """H.3, Table H.6: correction b against temperature t, line through t − 20 °C."""
    t = [21.521, 22.012, 22.512, 23.003, 23.507, 23.999, 24.513, 25.002, 25.503, 26.010, 26.511]
    b = [-0.171, -0.169, -0.166, -0.159, -0.164, -0.165, -0.156, -0.157, -0.159, -0.161, -0.160]
    fit = fit_calibration(np.array(t) - 20, np.array(b), degree=1)
    assert fit.coefficients[0] == pytest.approx(-0.1712, abs=5e-5)
    assert fit.coefficients[1] == pytest.approx(0.00218, abs=5e-6)
    assert fit.standard_uncertainties[0] == pytest.approx(0.0029, abs=5e-5)
    assert fit.standard_uncertainties[1] == pytest.approx(0.00067, abs=5e-6)
    correlation = fit.covariance[0, 1] / np.prod(fit.standard_uncertainties)
    assert correlation == pytest.approx(-0.930, abs=5e-4)
    assert (fit.residual_sd, fit.degrees_of_freedom) == (pytest.approx(0.0035, abs=5e-5), 9)
    at_30 = expected_reading(fit, 10.0, net=False)
    assert float(at_30.reading) == pytest.approx(-0.1494, abs=5e-5)
    assert float(at_30.standard_uncertainty) == pytest.approx(0.0041, abs=5e-5)
    assert not at_30.within_range


def test_h5_day_to_day_analysis_of_variance():
    """H.5, Table H.9: between days F(9, 40) = (128 µV)² / (85 µV)², which the text rounds to 2.25.

    Only means and standard deviations of the days are printed; five values that have them stand for a day.
    The days are the levels and their grand mean is the curve under test.
    """
    means = np.array([172, 116, 13, 144, 106, 31, 60, 125, 163, 41], float)
    within = np.array([60, 77, 111, 101, 67, 93, 80, 73, 88, 86], float)
    pattern = np.array([-2, -1, 0, 1, 2]) / math.sqrt(2.5)
    values = (means[:, None] + within[:, None] * pattern).ravel()
    day = np.repeat(np.arange(10), 5)
    test = lack_of_fit(day, day, values - values.mean(), coefficients=1)
    assert values.mean() == pytest.approx(97, abs=0.5)
    assert test.degrees_of_freedom == (9, 40)
    assert test.f == pytest.approx(2.25, abs=0.015)
    assert 0.025 < test.p < 0.05  # F.95 = 2.12 < F < F.975 = 2.45 (H.5.2.3)
