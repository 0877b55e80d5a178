import numpy as np
import pytest
from scipy import signal
from tests.detector_study import match_blows

from strikeproof.trace import TracePlan, simulate_trace
from strikeproof.trace.blows import fill_train, find_blows, move_to_first, pick_peaks
from strikeproof.trace.fronts import Rising, front_strength
from strikeproof.trace.samples import clean_samples, even_grid


def rising_from(trace, quiet_s=0.9):
    grid = even_grid(clean_samples(trace.time, trace.reading))
    return Rising(grid.level, grid.step_s, grid.index(quiet_s), grid.good, 0.0)


def test_at_high_signal_to_noise_it_agrees_with_scipy_find_peaks():
    plan = TracePlan(noise=0.02, ring_share=0.05)
    trace = simulate_trace(np.random.default_rng(1), plan=plan)
    ours = find_blows(rising_from(trace), nominal_rate_hz=None)
    tops, _ = signal.find_peaks(trace.reading, prominence=3.0, distance=200)
    assert match_blows(ours.times, trace.truth.blow_times).recall == 1.0
    assert match_blows(trace.time[tops], trace.truth.blow_times).recall > 0.99
    assert match_blows(ours.times, trace.time[tops], 0.005).recall > 0.99


def test_the_interval_is_found_without_knowing_the_rate():
    for rate in (12.0, 25.0, 48.0):
        trace = simulate_trace(np.random.default_rng(4), plan=TracePlan(blow_rate_hz=rate, ring_share=0.02))
        assert 1 / find_blows(rising_from(trace), nominal_rate_hz=None).interval_s == pytest.approx(
            rate, rel=0.02
        )


def test_pure_noise_holds_no_train():
    rng = np.random.default_rng(5)
    for _ in range(20):
        rising = Rising(rng.standard_normal(10_000), 4e-4, 2000, np.ones(10_000, bool), 0.0)
        blows = find_blows(rising, nominal_rate_hz=None)
        assert blows is None or blows.times.size < 5


def test_rounding_keeps_a_silent_start_from_making_everything_a_blow():
    level = np.round(np.linspace(0, 40, 5000))
    rising = Rising(level, 4e-4, 100, np.ones(5000, bool), 1 / np.sqrt(12))
    assert front_strength(rising).max() < 4.8


def test_peaks_are_picked_strongest_first():
    strength = np.zeros(50)
    strength[[10, 14, 30]] = 9, 12, 7
    tops = np.array([14, 10, 30])
    assert (
        pick_peaks(strength, tops, 6).tolist() == pick_peaks.py_func(strength, tops, 6).tolist() == [14, 30]
    )


def test_a_ringing_peak_gives_way_to_its_first_front():
    strength = np.zeros(50)
    strength[[20, 23]] = 8, 10
    peaks = np.array([23])
    assert move_to_first(strength, peaks, 5, 4.8).tolist() == [20]
    assert move_to_first.py_func(strength, peaks, 2, 4.8).tolist() == [23]


def test_weak_blows_fill_a_hole_and_second_strikes_are_added():
    strength = np.zeros(400)
    strength[[50, 100, 150, 250, 300]] = 20
    strength[200], strength[320] = 4.2, 12  # faint but due; a second strike
    peaks = np.array([50, 100, 150, 250, 300])
    wanted = [50, 100, 150, 200, 250, 300, 320]
    for kernel in (fill_train, fill_train.py_func):
        assert kernel(strength, peaks, np.zeros(51), 50, 4.8, 3.2).tolist() == wanted


def test_usual_ringing_is_no_second_strike():
    strength = np.zeros(400)
    peaks = np.arange(50, 400, 50)
    strength[peaks], strength[peaks + 15] = 20, 10
    profile = np.zeros(51)
    profile[[0, 15]] = 1, 0.5
    assert fill_train(strength, peaks, profile, 50, 4.8, 3.2).tolist() == peaks.tolist()
