"""Clock times, dates and numbers of any unit as seconds from the first sample."""

from __future__ import annotations

import numpy as np
import pyarrow as pa
import pytest

from strikeproof.capture.stamps import read_number_stamps, read_text_stamps


@pytest.mark.parametrize(
    ("cells", "seconds"),
    [
        (["12:03:04.125", "12:03:04.250"], [0, 0.125]),
        (["12:03:04,125", "12:03:05,0"], [0, 0.875]),
        (["59:59.5", "60:00.5"], [0, 1.0]),
        (["23:59:59.9", "00:00:00.1"], [0, 0.2]),
        (["11:59:59 AM", "12:00:00 PM", "1:00:00 p.m."], [0, 1, 3601]),
        (["11:59:59 PM", "12:00:00 AM"], [0, 1]),
        (["2026-03-17 23:59:59", "2026-03-18 00:00:01"], [0, 2]),
        (["2026-03-17T12:00:00.000Z", "2026-03-17T12:00:00.5Z"], [0, 0.5]),
        (["2026-10-25 02:59:59+02:00", "2026-10-25 02:00:00+01:00"], [0, 1]),
        (["2026-03-17", "2026-03-17 00:00:01"], [0, 1]),
        (["31.12.2025 23:59:59", "01.01.2026 00:00:00"], [0, 1]),
    ],
)
def test_text_stamps(cells: list[str], seconds: list[float]) -> None:
    np.testing.assert_allclose(read_text_stamps(pa.array(cells)).seconds, seconds, atol=1e-9)


def test_unreadable_stamps_are_nan_and_do_not_shift_the_rest() -> None:
    stamps = read_text_stamps(pa.array(["pause", "12:00:01", None, "", "31.02.2026 12:00:00", "12:00:02"]))
    assert np.isnan(stamps.seconds[[0, 2, 3]]).all()
    dated = read_text_stamps(pa.array(["2026-02-28 12:00:00", "2026-02-31 12:00:00", "2026-02-28 12:00:01"]))
    assert np.isnan(dated.seconds[1]) and dated.seconds[2] == 1.0
    assert np.isnan(read_text_stamps(pa.array(["x", "y"])).seconds).all()


@pytest.mark.parametrize(
    ("cell", "started", "is_open"),
    [
        ("2026-03-04 01:02:03.5", "2026-03-04T01:02:03.500000", False),
        ("04.03.2026 01:02:03", "2026-03-04T01:02:03", False),
        ("04/03/2026 01:02:03", None, True),
        ("04-03-2026 01:02:03", None, True),
        ("3/4/2026 1:02:03 PM", "2026-03-04T13:02:03", False),
        ("17/3/2026 1:02:03 PM", "2026-03-17T13:02:03", False),
        ("17/03/2026 01:02:03", "2026-03-17T01:02:03", False),
        ("03/17/2026 01:02:03", "2026-03-17T01:02:03", False),
        ("03/03/26 01:02:03", "2026-03-03T01:02:03", False),
        ("2026-03-04T01:02:03+0530", "2026-03-04T01:02:03+05:30", False),
        ("2026-03-04T01:02:03Z", "2026-03-04T01:02:03+00:00", False),
        ("01:02:03", None, False),
    ],
)
def test_the_start_and_what_was_assumed(cell: str, started: str | None, is_open: bool) -> None:
    stamps = read_text_stamps(pa.array([cell, cell]))
    assert stamps.started == started
    assert (stamps.assumed is not None) == is_open


@pytest.mark.parametrize(
    ("cells", "started"),
    [
        (["04/05/2026 23:59:59", "05/05/2026 00:00:01"], "2026-05-04T23:59:59"),
        (["05/04/2026 23:59:59", "05/05/2026 00:00:01"], "2026-05-04T23:59:59"),
        (["5/4/2026 11:59:59 PM", "5/5/2026 12:00:01 AM"], "2026-05-04T23:59:59"),
        (["12/31/2025 23:59:59", "01/01/2026 00:00:01"], "2025-12-31T23:59:59"),
    ],
)
def test_a_run_that_crosses_midnight_takes_seconds_not_a_month(cells: list[str], started: str) -> None:
    stamps = read_text_stamps(pa.array(cells))
    assert (stamps.seconds[-1], stamps.started, stamps.assumed) == (2.0, started, None)


@pytest.mark.parametrize(
    ("step", "count", "unit", "period", "is_open"),
    [
        (0.05, 200, "s", 0.05, False),
        (50, 200, "ms", 0.05, False),
        (100, 100_000, "µs", 1e-4, False),
        (0.05, 200, None, 0.05, False),
        (50, 200, None, 0.05, True),
        (100, 100_000, None, 1e-4, True),
        (0.1, 100_000, None, 1e-4, True),
        (1e-3, 600, "min", 0.06, False),
    ],
)
def test_numbers_of_any_unit(step: float, count: int, unit: str | None, period: float, is_open: bool) -> None:
    stamps = read_number_stamps(1000 + np.arange(count) * step, unit, None)
    assert stamps.seconds[-1] == pytest.approx(period * (count - 1))
    assert (stamps.assumed is not None) == is_open and stamps.started is None


def test_a_known_rate_settles_the_unit() -> None:
    assert read_number_stamps(np.arange(50.0) * 20, None, 50.0).seconds[1] == pytest.approx(0.02)
    assert read_number_stamps(np.arange(50.0) * 20, None, 50_000.0).seconds[1] == pytest.approx(20e-6)


def test_a_counter_of_microseconds_is_no_date() -> None:
    stamps = read_number_stamps(1.2e9 + np.arange(100_000) * 100.0, None, None)
    assert stamps.started is None and stamps.seconds[-1] == pytest.approx(9.9999)


def test_a_stamp_with_bytes_that_are_no_text_is_unreadable() -> None:
    """Cells are cut without a look at their encoding, so that a damaged log is read as far as it goes."""
    raw = [b"12:03:04.125", b"12:0\xff:04.250", b"Mar 17 2026 \xff", b"12:03:04.500"]
    np.testing.assert_allclose(read_text_stamps(_as_text(raw)).seconds, [0, np.nan, np.nan, 0.375], atol=1e-9)


def _as_text(raw: list[bytes]) -> pa.Array:
    """Text whose encoding nobody checked, as the reader of separated values makes it."""
    _null, offsets, data = pa.array(raw).buffers()
    return pa.Array.from_buffers(pa.string(), len(raw), [None, offsets, data])
