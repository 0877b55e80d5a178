"""A thinned trace loses no extreme."""

from __future__ import annotations

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from strikeproof.desk.runs.trace_window import thin


@given(st.integers(1, 3000), st.integers(1, 50), st.integers(0, 2**32 - 1))
def test_thinning_keeps_extremes_ends_and_order(count: int, points: int, seed: int) -> None:
    rng = np.random.default_rng(seed)
    time = np.arange(count, dtype=float)
    reading = rng.normal(size=count)
    found = thin(time, reading, points)
    assert found.samples == count and found.time.size <= max(4 * points, 2 * points + 4)
    assert found.reading.min() == reading.min() and found.reading.max() == reading.max()
    assert found.time[0] == 0 and found.time[-1] == count - 1
    assert np.all(np.diff(found.time) >= 0)
    assert np.array_equal(reading[found.time.astype(int)], found.reading)


def test_a_single_gap_hides_no_extreme() -> None:
    reading = np.zeros(10_000)
    reading[5000], reading[5001], reading[7000] = 9.0, np.nan, np.nan
    found = thin(np.arange(10_000.0), reading, 10)
    assert np.nanmax(found.reading) == 9.0
