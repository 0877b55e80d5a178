import numpy as np
import pytest

from strikeproof.trace import TracePlan, simulate_trace
from strikeproof.trace.hum import remove_hum, wave, wave_amplitude


@pytest.mark.parametrize("hz", [49.93, 50.0, 60.08])
def test_hum_off_nominal_frequency_is_taken_off(hz):
    plan = TracePlan(sample_rate_hz=2500, noise=0.05)
    clean = simulate_trace(np.random.default_rng(2), plan=plan)
    hum = 1.5 * np.sin(2 * np.pi * hz * clean.time + 0.4) + 0.3 * np.sin(6 * np.pi * hz * clean.time)
    left = remove_hum(clean.reading + hum, 1 / 2500, 2400) - clean.reading
    assert np.sqrt(np.mean(left**2)) < 0.1 * np.sqrt(np.mean(hum**2))


def test_a_hammer_at_mains_frequency_is_not_hum():
    plan = TracePlan(
        sample_rate_hz=2500, noise=0.05, blow_rate_hz=50, interval_scatter=0.0005, ring_share=0.05
    )
    trace = simulate_trace(np.random.default_rng(2), plan=plan)
    assert np.array_equal(remove_hum(trace.reading, 1 / 2500, 2400), trace.reading)


def test_without_a_quiet_start_nothing_is_touched():
    level = np.sin(np.arange(5000.0))
    assert remove_hum(level, 1 / 2500, 20) is level


def test_the_wave_kernels_agree_compiled_and_plain():
    turn = np.exp(0.3j)
    values = wave(2 - 1j, turn, 400)
    assert wave.py_func(2 - 1j, turn, 400) == pytest.approx(values)
    assert wave_amplitude(values, turn) == pytest.approx(2 - 1j, abs=0.02)
    assert wave_amplitude.py_func(values, turn) == pytest.approx(wave_amplitude(values, turn))
