"""NIST Statistical Reference Datasets, linear regression: Norris (ozone monitors) and Longley.

Sources: National Institute of Standards and Technology, StRD, "Norris" (lower difficulty) and "Longley"
(higher difficulty), certified values. The Norris file is the one SciPy ships with its own tests; the Longley
data are those of statsmodels.
"""

from importlib.resources import files

import numpy as np
import pytest
import statsmodels.api as sm
from numpy.polynomial import Polynomial
from statsmodels.datasets import longley

from strikeproof.judge.calibration import fit_calibration
from strikeproof.judge.curve import least_squares


@pytest.fixture(scope="module")
def norris():
    """x and y of the 36 points; the file gives y first, after 60 lines of text."""
    text = files("scipy").joinpath("stats/tests/data/nist_linregress/Norris.dat").read_text()
    lines = text.splitlines()[60:]
    y, x = np.array([[float(cell) for cell in line.split()] for line in lines if line.strip()]).T
    assert x.size == 36 and lines[0].split() == ["0.1", "0.2"]
    return x, y


def test_norris_line_has_the_certified_coefficients_and_deviations(norris):
    fit = fit_calibration(*norris, degree=1)
    assert fit.coefficients == pytest.approx([-0.262323073774029, 1.00211681802045], rel=1e-11)
    assert fit.standard_uncertainties == pytest.approx([0.232818234301152, 0.429796848199937e-03], rel=1e-11)
    assert fit.residual_sd == pytest.approx(0.884796396144373, rel=1e-12)


def test_norris_f_statistic_is_the_certified_one(norris):
    fit = fit_calibration(*norris, degree=1)
    spread = norris[1] - norris[1].mean()
    regression = spread @ spread - fit.residuals @ fit.residuals
    assert regression / fit.residual_sd**2 == pytest.approx(5436385.54079785, rel=1e-10)


def test_norris_needs_no_more_than_a_line(norris):
    assert fit_calibration(*norris).degree == 1


def test_longley_comes_out_to_eight_digits_from_the_least_squares_beneath():
    """Condition number near 5e9: NIST grades this one as of higher difficulty."""
    data = longley.load_pandas()
    design = np.column_stack([np.ones(16), data.exog[["GNPDEFL", "GNP", "UNEMP", "ARMED", "POP", "YEAR"]]])
    values = np.asarray(data.endog, float)
    solution, covariance, squares = least_squares(design, values, np.ones(16))
    certified = [
        *(-3482258.63459582, 15.0618722713733, -0.0358191792925910, -2.02022980381683),
        *(-1.03322686717359, -0.0511041056535807, 1829.15146461355),
    ]
    deviations = [
        *(890420.383607373, 84.9149257747669, 0.0334910077722432, 0.488399681651699),
        *(0.214274163161675, 0.226073200069370, 455.478499142212),
    ]
    assert solution == pytest.approx(certified, rel=1e-8)
    assert np.sqrt(np.diag(covariance) * squares / 9) == pytest.approx(deviations, rel=1e-8)
    assert np.sqrt(squares / 9) == pytest.approx(304.854073561965, rel=1e-10)


@pytest.mark.parametrize("degree", [1, 2, 3])
def test_curve_agrees_with_statsmodels_and_numpy(norris, degree):
    x, y = norris
    fit = fit_calibration(x, y, degree=degree)
    assert fit.coefficients == pytest.approx(Polynomial.fit(x, y, degree).convert().coef, rel=1e-8)
    reference = sm.OLS(y, np.vander(x / 1000, degree + 1, increasing=True)).fit()
    unit = 1000.0 ** -np.arange(degree + 1)
    assert fit.coefficients == pytest.approx(reference.params * unit, rel=1e-8)
    assert fit.covariance == pytest.approx(reference.cov_params() * np.outer(unit, unit), rel=1e-7)
    assert fit.residual_sd == pytest.approx(np.sqrt(reference.scale), rel=1e-10)
