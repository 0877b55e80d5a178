import numpy as np
import pytest

from strikeproof.explain.emulator import _closeness, _misfit, fit_emulator
from strikeproof.explain.parameters import draw_design


def bumpy(points: np.ndarray) -> np.ndarray:
    bent = 0.1 * np.tanh(points[:, 0]) + 0.05 * points[:, 1]
    return np.column_stack([bent, 0.3 + 0.02 * points[:, 2] ** 2])


def test_a_smooth_function_is_learned_with_an_honest_error():
    rng = np.random.default_rng(1)
    points, fresh = draw_design(128, 5, rng), rng.standard_normal((400, 5))
    emulator = fit_emulator(points, bumpy(points))
    mean, variance = emulator.predict(fresh)
    off = mean - bumpy(fresh)
    assert np.all(np.sqrt(np.mean(off**2, axis=0)) < 0.1 * bumpy(fresh).std(axis=0))
    assert np.mean(np.abs(off) < 2.0 * np.sqrt(variance)) > 0.9


def test_error_is_larger_where_the_function_is_rough():
    rng = np.random.default_rng(2)
    points = draw_design(256, 2, rng)
    rough = np.where(points[:, 0] > 0, 0.1 * rng.standard_normal(256), 0.0)
    emulator = fit_emulator(points, (rough + 0.2 * np.sin(2.0 * points[:, 0]))[:, None])
    _mean, variance = emulator.predict(np.array([[-1.5, 0.0], [1.5, 0.0]]))
    assert variance[1, 0] > 3.0 * variance[0, 0]


def test_left_out_errors_are_those_of_a_refit():
    rng = np.random.default_rng(3)
    points = rng.standard_normal((30, 3))
    values = np.sin(points[:, :1])
    emulator = fit_emulator(points, values)
    scaled = points * emulator.rates
    bell, inner = _closeness(scaled, scaled)
    smooth, line, noise = emulator.sizes
    covariance = smooth * bell + line * inner + (noise + 1e-8) * np.eye(30)
    standard = (values - emulator.centre) / emulator.scale
    rest = np.arange(1, 30)
    foretold = covariance[0, rest] @ np.linalg.solve(covariance[np.ix_(rest, rest)], standard[rest])
    assert (standard[0] - foretold) ** 2 == pytest.approx(emulator.left_out[0], rel=1e-6)


def test_gradient_is_that_of_differences():
    rng = np.random.default_rng(4)
    points, values = rng.standard_normal((25, 3)), rng.standard_normal((25, 2))
    at = np.array([-1.0, -0.5, -2.0, 0.2, -0.7, -1.5])
    _value, slope = _misfit(at, points, values)
    steps = 1e-5 * np.eye(6)
    differences = [
        (_misfit(at + s, points, values)[0] - _misfit(at - s, points, values)[0]) / 2e-5 for s in steps
    ]
    assert slope == pytest.approx(differences, rel=1e-4, abs=1e-5)


def test_an_output_that_never_moves_stays():
    points = np.random.default_rng(5).standard_normal((40, 2))
    mean, _variance = fit_emulator(points, np.column_stack([points[:, 0], np.full(40, 0.25)])).predict(points)
    assert mean[:, 1] == pytest.approx(0.25, abs=1e-6)
