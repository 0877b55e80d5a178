"""A known signal, written in every combination of format, comes back to the printed precision."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from hypothesis import HealthCheck, assume, example, given, settings
from hypothesis import strategies as st
from tests.unit.capture.formats import (
    DECIMALS,
    ENCODINGS,
    HEADINGS,
    LINE_ENDS,
    PREAMBLES,
    SEPARATORS,
    TIMES,
    Format,
    write_log,
)

from strikeproof.capture import read_log

RATE = 20.0
FORMATS = st.builds(
    Format,
    separator=st.sampled_from(SEPARATORS),
    decimal=st.sampled_from(DECIMALS),
    encoding=st.sampled_from(ENCODINGS),
    time=st.sampled_from(TIMES),
    preamble=st.sampled_from(PREAMBLES),
    heading=st.sampled_from(HEADINGS),
    line_end=st.sampled_from(LINE_ENDS),
    quoted=st.booleans(),
)
# What each style of time stamp can hold: serial dates of 11 decimals 1 µs, Unix times in a float 0.3 µs.
TIME_TOLERANCE_S = 2e-6


def _is_possible(form: Format) -> bool:
    """No reader can tell a separating comma from a decimal one; aligned columns have no quotes."""
    unquoted_commas = form.separator == "," and form.decimal == "," and not form.quoted
    return not unquoted_commas and not (form.quoted and form.separator.isspace() and form.separator != "\t")


def _signal(count: int, seed: int) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    rng = np.random.default_rng(seed)
    load = np.linspace(-2.0, 90.0, count) + rng.normal(scale=0.5, size=count)
    air = 6.0 + rng.normal(scale=0.1, size=count)
    return np.arange(count) / RATE, np.round(load, 3), np.round(air, 2)


@settings(max_examples=250, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(form=FORMATS, count=st.integers(12, 80), seed=st.integers(0, 1000))
@example(form=Format(separator=",", decimal=",", quoted=True, time="none", heading="none"), count=40, seed=0)
@example(form=Format(separator="  ", time="dotted", heading="unit row"), count=40, seed=0)
@example(form=Format(separator="|", time="ms", preamble="separators", heading="none"), count=40, seed=0)
def test_values_units_and_times_survive_any_format(
    tmp_path: Path, form: Format, count: int, seed: int
) -> None:
    assume(_is_possible(form))
    time, load, air = _signal(count, seed)
    write_log(tmp_path / "log", form, time, load, air)
    log = read_log(tmp_path / "log")
    assert [each.values.tolist() for each in log.channels] == [load.tolist(), air.tolist()]
    np.testing.assert_allclose(log.time, time, atol=TIME_TOLERANCE_S)
    assert log.sample_rate_hz == pytest.approx(RATE, rel=1e-4)
    assert {each.kind for each in log.findings} <= {"assumed"}
    if form.heading != "none":
        assert [(each.name, each.unit) for each in log.channels] == [("Load", "kN"), ("Air", "bar")]


@pytest.mark.parametrize(
    ("time", "started"),
    [
        ("iso", "2026-03-17T23:59:58.500000"),
        ("iso zone", "2026-03-17T23:59:58.500000+01:00"),
        ("dotted", "2026-03-17T23:59:58.500000"),
        ("date and clock", "2026-03-17T23:59:58.500000"),
        ("serial", "2026-03-17T23:59:58.500000"),
        ("unix", "2026-03-17T23:59:58.500000+00:00"),
        ("clock", None),
        ("s", None),
    ],
)
def test_absolute_times_tell_the_start(tmp_path: Path, time: str, started: str | None) -> None:
    write_log(tmp_path / "log", Format(separator=";", time=time), *_signal(60, 0))
    assert read_log(tmp_path / "log").started == started


@pytest.mark.parametrize("rate", [10.0, 80.0, 1000.0, 50_000.0])
@pytest.mark.parametrize("seconds", [1.0, 4.0])
def test_slow_boards_and_fast_ones(tmp_path: Path, rate: float, seconds: float) -> None:
    time = np.arange(round(rate * seconds)) / rate
    rows = "".join(f"{t:.5f};{np.sin(t):.4f}\n" for t in time)
    (tmp_path / "log").write_text("t [s];load [kN]\n" + rows.replace(".", ","))
    log = read_log(tmp_path / "log")
    assert log.sample_rate_hz == pytest.approx(rate, rel=1e-9)
    np.testing.assert_allclose(log.time, time, atol=1e-9)
    np.testing.assert_allclose(log.channel("load").values, np.sin(time), atol=0.5e-4)


def test_ten_minutes_keep_their_last_sample(tmp_path: Path) -> None:
    time = np.arange(600 * 1000) / 1000
    (tmp_path / "log").write_text("t [s],load\n" + "".join(f"{t:.3f},{t:.3f}\n" for t in time))
    log = read_log(tmp_path / "log")
    assert log.time[-1] == 599.999 and log.channel().values[-1] == 599.999
