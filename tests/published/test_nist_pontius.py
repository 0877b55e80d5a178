"""NIST Statistical Reference Datasets, linear regression: Pontius, load cell calibration.

Source: National Institute of Standards and Technology, StRD, "Pontius" (P. Pontius, NIST, load cell
calibration), certified values; read-out and lack of fit: NIST/SEMATECH e-Handbook of Statistical Methods,
4.6.1 "Load cell calibration" (from memory).
"""

import numpy as np
import pytest

from strikeproof.judge.calibration import fit_calibration
from strikeproof.judge.readout import expected_reading, read_out

LOAD = np.tile(np.arange(150_000.0, 3_000_001.0, 150_000.0), 2)
DEFLECTION = np.array(
    [
        *(0.11019, 0.21956, 0.32949, 0.43899, 0.54803, 0.65694, 0.76562, 0.87487, 0.98292, 1.09146),
        *(1.20001, 1.30822, 1.41599, 1.52399, 1.63194, 1.73947, 1.84646, 1.95392, 2.06128, 2.16844),
        *(0.11052, 0.22018, 0.32939, 0.43886, 0.54798, 0.65739, 0.76596, 0.87474, 0.98300, 1.09150),
        *(1.20004, 1.30818, 1.41613, 1.52408, 1.63159, 1.73965, 1.84696, 1.95445, 2.06177, 2.16829),
    ]
)


def test_coefficients_agree_with_the_certified_ones_to_ten_digits():
    fit = fit_calibration(LOAD, DEFLECTION, degree=2)
    certified = [0.673565789473684e-03, 0.732059160401003e-06, -0.316081871345029e-14]
    assert fit.coefficients == pytest.approx(certified, rel=1e-10, abs=0)


def test_standard_deviations_agree_with_the_certified_ones_to_ten_digits():
    fit = fit_calibration(LOAD, DEFLECTION, degree=2)
    certified = [0.107938612033077e-03, 0.157817399981659e-09, 0.486652849992036e-16]
    assert fit.standard_uncertainties == pytest.approx(certified, rel=1e-10, abs=0)
    assert fit.residual_sd == pytest.approx(0.205177424076185e-03, rel=1e-10)
    assert fit.degrees_of_freedom == 37


def test_r_squared_agrees_with_the_certified_one():
    fit = fit_calibration(LOAD, DEFLECTION, degree=2)
    spread = DEFLECTION - DEFLECTION.mean()
    assert 1 - fit.residuals @ fit.residuals / (spread @ spread) == pytest.approx(
        0.999999900178537, abs=2e-15
    )


def test_straight_line_is_refused_by_its_lack_of_fit_and_the_parabola_is_not():
    """E-Handbook 4.6.1.4 and 4.6.1.7 (from memory), recomputed; relative tolerance 1e-4 as printed."""
    line = fit_calibration(LOAD, DEFLECTION, degree=1)
    assert line.residual_sd == pytest.approx(0.0021712, rel=1e-4)
    assert line.lack_of_fit.f == pytest.approx(214.747, rel=1e-4)
    assert line.lack_of_fit.degrees_of_freedom == (18, 20)
    assert line.lack_of_fit.significant
    parabola = fit_calibration(LOAD, DEFLECTION, degree=2)
    assert parabola.lack_of_fit.f == pytest.approx(0.8107, rel=1e-4)
    assert parabola.lack_of_fit.degrees_of_freedom == (17, 20)
    assert parabola.lack_of_fit.p == pytest.approx(0.666, abs=5e-4)


def test_degree_left_open_becomes_two():
    fit = fit_calibration(LOAD, DEFLECTION)
    assert fit.degree == 2
    assert fit.suspects == ()


def test_new_reading_is_read_out_with_the_handbooks_interval():
    """E-Handbook 4.6.1.8 (from memory): y = 1.239722 gives 1 705 106, interval 1 704 513 to 1 705 698."""
    found = read_out(fit_calibration(LOAD, DEFLECTION), 1.239722)
    assert float(found.value) == pytest.approx(1_705_106, abs=0.5)
    assert float(found.low) == pytest.approx(1_704_513, abs=0.5)
    assert float(found.high) == pytest.approx(1_705_698, abs=0.5)
    assert float(found.degrees_of_freedom) == pytest.approx(37)
    assert found.within_range


def test_reading_out_undoes_the_curve_at_every_load():
    fit = fit_calibration(LOAD, DEFLECTION)
    gross = expected_reading(fit, LOAD, net=False).reading
    assert read_out(fit, gross).value == pytest.approx(LOAD, rel=1e-12)
