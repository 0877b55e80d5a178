import re

import numpy as np
import pytest

from strikeproof.errors import BadInput
from strikeproof.trace.samples import (
    bin_sums,
    clean_samples,
    count_faults,
    equal_runs,
    even_grid,
    mark_spikes,
)


@pytest.fixture
def rng():
    return np.random.default_rng(3)


def test_clean_even_samples_pass_as_they_are(rng):
    time, reading = np.arange(1000) / 100, rng.standard_normal(1000)
    samples = clean_samples(time, reading)
    assert samples.even and samples.rate_hz == pytest.approx(100)
    assert (samples.without_value, samples.out_of_order, samples.repeated) == (0, 0, 0)
    assert np.array_equal(even_grid(samples).level, reading)


def test_missing_values_are_left_out_and_leave_a_gap(rng):
    time, reading = np.arange(1000) / 100, rng.standard_normal(1000)
    reading[200:250] = np.nan
    samples = clean_samples(time, reading)
    assert samples.without_value == 50
    assert samples.gaps == ((1.99, 2.5),)
    grid = even_grid(samples)
    assert not grid.good[205:245].any() and grid.good[300:].all()


def test_backward_and_repeated_times_are_sorted_and_left_out(rng):
    time, reading = np.arange(500) / 100, np.arange(500.0)
    time[[100, 101]] = time[[101, 100]]
    time[300] = time[299]
    samples = clean_samples(time, reading)
    assert (samples.out_of_order, samples.repeated) == (1, 1)
    assert np.all(np.diff(samples.time) > 0) and samples.time.size == 499


def test_jittering_time_stamps_leave_no_holes(rng):
    time = np.round(np.arange(800) / 80 + rng.uniform(-0.002, 0.002, 800), 3)
    assert even_grid(clean_samples(time, np.ones(800))).good.all()


def test_fast_samples_are_averaged_over_bins():
    time = np.arange(20_000) / 20_000
    grid = even_grid(clean_samples(time, np.arange(20_000.0)))
    assert 1 / grid.step_s == pytest.approx(2500)
    assert grid.level == pytest.approx(np.arange(20_000.0).reshape(-1, 8).mean(axis=1))
    assert np.interp(grid.time(), time, np.arange(20_000.0)) == pytest.approx(grid.level, abs=1e-6)


def test_lone_spikes_are_marked_and_left_out(rng):
    time, reading = np.arange(5000) / 1000, rng.standard_normal(5000)
    reading[[500, 2000, 2001, 4000]] += 60
    samples = clean_samples(time, reading)
    assert np.flatnonzero(samples.spiky).tolist() == [500, 2000, 2001, 4000]
    assert even_grid(samples).level.max() < 10


def test_ringing_is_no_spike():
    time = np.arange(4000) / 2000
    reading = np.where(time > 1, 50 + 30 * np.exp(-(time - 1) / 0.004) * np.cos(2000 * (time - 1)), 0.0)
    assert clean_samples(time, reading + 0.01 * np.sin(7e3 * time)).spikes == 0


def test_a_frozen_stretch_in_noise_is_found(rng):
    time, reading = np.arange(20_000) / 2000, rng.standard_normal(20_000)
    reading[8000:8100] = reading[8000]
    (begin, end), *others = clean_samples(time, reading).frozen
    assert not others
    assert (begin, end) == pytest.approx((4.0, 4.0495))


def test_a_settled_level_of_a_coarse_converter_is_not_frozen(rng):
    time = np.arange(20_000) / 2000
    reading = np.round(10 * np.sqrt(time) + 0.1 * rng.standard_normal(20_000))
    assert clean_samples(time, reading).frozen == ()


def test_the_resolution_is_the_smallest_step(rng):
    reading = np.round(rng.standard_normal(5000) / 0.25) * 0.25
    assert clean_samples(np.arange(5000.0), reading).resolution == 0.25
    assert clean_samples(np.arange(50.0), np.ones(50)).resolution == 0.0


def test_columns_of_different_length_are_refused():
    with pytest.raises(BadInput, match="differ"):
        clean_samples(np.arange(3.0), np.arange(4.0))


@pytest.mark.parametrize(
    ("kernel", "given"),
    [
        (count_faults, (np.array([0, 1, 2, 5, 4.0]), np.array([0, np.nan, 1, 1, 1]), 1.0)),
        (equal_runs, (np.array([1, 1, 1, 2, 3, 3, 3, 3.0]), 3)),
        (bin_sums, (np.arange(6.0), np.arange(6.0), np.arange(6) == 2, 0.5, 0.25, 3)),
    ],
)
def test_kernels_agree_compiled_and_plain(kernel, given):
    compiled, plain = kernel(*given), kernel.py_func(*given)
    for one, other in (
        zip(np.atleast_1d(compiled), np.atleast_1d(plain), strict=True)
        if isinstance(compiled, int)
        else zip(compiled, plain, strict=True)
    ):
        assert np.array_equal(one, other)


def test_the_kernels_count_what_they_say():
    assert count_faults(np.array([0, 1, 2, 5, 4.0]), np.array([0, np.nan, 1, 1, 1]), 1.0) == 3
    starts, lengths, equal = equal_runs(np.array([1, 1, 1, 2, 3, 3, 3, 3.0]), 3)
    assert starts.tolist() == [0, 4] and lengths.tolist() == [3, 4] and equal == 5
    total, count = bin_sums(np.arange(6.0), np.arange(6.0), np.arange(6) == 2, 0.5, 0.25, 3)
    assert total.tolist() == [1, 3, 9] and count.tolist() == [2, 1, 2]


def test_spikes_are_marked_alike_compiled_and_plain(rng):
    reading = rng.standard_normal(300)
    reading[[50, 120]] += 40
    marks = np.zeros(300, bool), np.zeros(300, bool)
    assert mark_spikes(reading, 9.0, marks[0]) == mark_spikes.py_func(reading, 9.0, marks[1]) == 2
    assert np.array_equal(*marks)


@pytest.mark.parametrize("jump", [1e9, 1e300])
def test_a_jump_of_the_clock_asks_for_no_memory(rng, jump):
    """Bins are bounded by what was logged: a billion seconds of them fit into no machine."""
    time = np.arange(4000) / 1000
    time[2000:] += jump
    with pytest.raises(BadInput, match=re.escape(f"jumps by {jump:.4g} s")):
        even_grid(clean_samples(time, rng.standard_normal(4000)))


def test_a_pause_of_minutes_is_no_jump(rng):
    time = np.arange(4000) / 1000
    time[2000:] += 600.0
    grid = even_grid(clean_samples(time, rng.standard_normal(4000)))
    assert grid.level.size == pytest.approx(604_000, abs=2)
    assert grid.good.sum() == 4000
