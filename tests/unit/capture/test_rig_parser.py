"""Both protocols, told apart by their first bytes, however the stream is cut."""

from __future__ import annotations

import zlib

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.unit.capture.rig_bytes import frames, hear, lines

from strikeproof.capture.rig_feed import RigParser
from strikeproof.capture.rig_frames import SYNC, pack_frame
from strikeproof.errors import BadInput

READINGS = 100.0 + np.sin(np.arange(400) / 7.0) * 40.0


def numbers(form: str, count: int = 40) -> list[str]:
    return [form.format(i=i, t=i * 10, v=READINGS[i], s=i * 0.01) for i in range(count)]


# form, columns besides the time, has a time, unit
FORMS = [
    ("{v:.2f}", 1, False, None),
    ("{v:.3e}", 1, False, None),
    ("+ {v:.2f} kN", 1, False, "kN"),
    ("{v:.2f}kN", 1, False, "kN"),
    ("{t},{v:.2f}", 1, True, None),
    ("{t}; {v:.2f}", 1, True, None),
    ("{t}\t{v:.2f}\t{i}", 2, True, None),
    ("{t} {v:.2f} 7", 2, True, None),
    ("{t}|{v:.2f}", 1, True, None),
    ("{s:.3f} s {v:.2f} kN", 1, True, "kN"),
    ("12:30:{s:06.3f};{v:.2f}", 1, True, None),
    ("{t},512", 1, True, None),
]


@pytest.mark.parametrize(("form", "columns", "has_time", "unit"), FORMS)
def test_a_form_of_lines_is_understood(form: str, columns: int, has_time: bool, unit: str | None) -> None:
    parser, received, line_flags = hear(lines(numbers(form)))
    assert parser.dialect is not None
    assert received.values.shape == (40, columns)
    assert (received.ticks is not None) is has_time
    assert parser.dialect.units[0] == unit
    assert line_flags == ()


@pytest.mark.parametrize("form", [each[0] for each in FORMS if "," not in each[0] and "512" not in each[0]])
def test_a_decimal_comma_means_the_same(form: str) -> None:
    _, point, _ = hear(lines(numbers(form)))
    _, comma, _ = hear(lines([row.replace(".", ",") for row in numbers(form)]))
    assert np.array_equal(point.values, comma.values)


def test_a_lone_comma_that_does_not_count_on_is_a_decimal_mark() -> None:
    _, received, _ = hear(lines([f"12,{50 + i % 3}" for i in range(30)]))
    assert received.values[:3, 0].tolist() == [12.50, 12.51, 12.52]


def test_a_heading_names_the_columns_and_the_clock() -> None:
    parser, received, _ = hear(lines(["time [ms];load [kN];temperature [°C]", *numbers("{t};{v:.1f};21.5")]))
    assert parser.dialect is not None
    assert parser.dialect.names == ("load", "temperature")
    assert parser.dialect.units == ("kN", "°C")
    assert parser.dialect.tick_s == pytest.approx(1e-3)
    assert len(received.values) == 40


def test_the_end_of_a_number_under_way_is_no_sample() -> None:
    """The line was opened in the middle of 125.00: its rest would be a wrong value."""
    _, received, _ = hear(b"5.00\n" + lines(numbers("{v:.2f}"))[5:])
    assert received.values[0, 0] == pytest.approx(READINGS[0], abs=0.01)


def test_another_unit_in_mid_stream_is_no_sample() -> None:
    rows = [*numbers("{v:.2f} kN"), "101250 N", *numbers("{v:.2f} kN")]
    _, received, line_flags = hear(lines(rows))
    assert len(received.values) == 80
    assert [(each.kind, each.at, each.count) for each in line_flags] == [("garbage", 40, 1)]


def test_overload_words_are_samples_without_a_value() -> None:
    _, received, line_flags = hear(lines([*numbers("{v:.2f}"), "OL", "12.5"]))
    assert np.isnan(received.values[40, 0]) and received.values[41, 0] == 12.5
    assert line_flags == ()


def test_what_the_rig_says_to_people_is_not_garbage() -> None:
    _, received, line_flags = hear(lines([*numbers("{v:.2f}"), "# 3 volts left", "ready", "12.5"]))
    assert len(received.values) == 41
    assert line_flags == ()


@pytest.mark.parametrize(("payload", "scale"), [("int16", 0.01), ("int24", 1e-4), ("float32", 1.0)])
def test_frames_give_back_their_readings(payload: str, scale: float) -> None:
    parser, received, line_flags = hear(frames(READINGS, payload=payload, scale=scale))  # type: ignore[arg-type]
    assert np.allclose(received.values[:, 0], READINGS, atol=scale / 2 if payload != "float32" else 1e-5)
    assert received.ticks is not None and np.array_equal(received.ticks, np.arange(400))
    assert parser.dialect is not None and parser.dialect.rate_hz == 1000.0
    assert line_flags == ()


def test_int24_holds_its_whole_range() -> None:
    ends = np.array([[-(2.0**23)], [2.0**23 - 1], [-1.0], [0.0], [1e9], [-1e9]])
    data = pack_frame(0, 0, ends, rate_hz=10.0, payload="int24")
    _, received, _ = hear(data)
    assert received.values[:, 0].tolist() == [-(2.0**23), 2.0**23 - 1, -1.0, 0.0, 2.0**23 - 1, -(2.0**23)]


def test_the_check_of_a_frame_is_the_common_crc_32() -> None:
    """ISO 3309 / ITU-T V.42 polynomial, check value CBF43926 of "123456789"."""
    assert zlib.crc32(b"123456789") == 0xCBF43926
    data = pack_frame(3, 60, READINGS[:4, None], rate_hz=1000.0, payload="int16", scale=0.01)
    assert data[:2] == SYNC
    assert int.from_bytes(data[-4:], "little") == zlib.crc32(data[:-4])


def test_a_lost_frame_is_told_with_its_samples() -> None:
    _, received, line_flags = hear(frames(READINGS, lost=(3, 4)))
    assert len(received.values) == 360
    assert [(each.kind, each.at, each.count) for each in line_flags] == [("gap", 60, 40)]
    assert received.breaks == (60,)


def test_a_frame_with_one_wrong_bit_is_left_out() -> None:
    data = bytearray(frames(READINGS))
    data[5 * len(data) // 20 + 40] ^= 0x10
    _, received, line_flags = hear(bytes(data))
    assert len(received.values) == 380
    assert {each.kind for each in line_flags} == {"garbage", "gap"}


def test_garbage_between_frames_costs_no_sample() -> None:
    data = frames(READINGS)
    half = len(data) // 2
    junk = np.random.default_rng(4).bytes(3000) + SYNC + b"\x01"
    _, received, line_flags = hear(b"\xd5 noise" + data[:half] + junk + data[half:])
    assert np.allclose(received.values[:, 0], READINGS, atol=1e-5)
    assert sum(each.count for each in line_flags) == len(
        junk
    )  # before the first frame it may be the rest of one


def test_what_is_neither_is_said_and_not_kept() -> None:
    parser = RigParser()
    junk = np.random.default_rng(5).bytes(400_000)
    received = [parser.feed(junk[i : i + 5000]) for i in range(0, len(junk), 5000)]
    assert parser.dialect is None
    assert parser.unknown_bytes <= 1 << 16
    assert sum(each.count for part in received for each in part.line_flags) > 300_000


STREAMS = [
    lines(["t [ms];load [kN]", *numbers("{t};{v:.2f}"), "garbage 12 34", *numbers("{t};{v:.2f}")]),
    lines(numbers("{v:.2f} kN"), end="\n"),
    b"\xff\xd5junk" + frames(READINGS, payload="int24", scale=1e-4, lost=(2,)) + b"\xd5\x3a\x01",
    np.random.default_rng(1).bytes(300) + lines(numbers("{t},{v:.2f}")),
]


@given(which=st.integers(0, len(STREAMS) - 1), cuts=st.lists(st.integers(0, 3000), max_size=40))
def test_any_cut_of_a_stream_gives_the_same_samples(which: int, cuts: list[int]) -> None:
    data = STREAMS[which]
    _, whole, told = hear(data)
    _, pieces, told_too = hear(data, cuts)
    assert np.array_equal(whole.values, pieces.values, equal_nan=True)
    assert (whole.ticks is None) == (pieces.ticks is None)
    if whole.ticks is not None and pieces.ticks is not None:
        assert np.array_equal(whole.ticks, pieces.ticks)
    assert told == told_too
    assert whole.breaks == pieces.breaks


@given(junk=st.binary(max_size=400), which=st.integers(0, len(STREAMS) - 1), at=st.integers(0, 3000))
def test_no_bytes_whatever_break_a_parser(junk: bytes, which: int, at: int) -> None:
    data = STREAMS[which]
    _, received, _ = hear(data[:at] + junk + data[at:], [at, at + 7, at + len(junk)])
    assert received.values.ndim == 2


def test_a_frame_cannot_be_packed_out_of_its_range() -> None:
    with pytest.raises(BadInput, match="frame"):
        pack_frame(0, 0, np.zeros((5000, 1)), rate_hz=1.0, payload="int16")


def test_a_rig_that_says_so_is_simulated_and_no_other() -> None:
    frame = {"rate_hz": 1000.0, "payload": "int16", "scale": 0.01}
    true, invented = (
        pack_frame(0, 0, READINGS[:20, None], simulated=told, **frame) for told in (False, True)
    )
    parser, received, _oddities = hear(invented)
    assert parser.is_simulated
    real, same, _oddities = hear(true)
    assert not real.is_simulated and np.array_equal(received.values, same.values)
    rows = [f"{value:.2f}" for value in READINGS[:20]]
    assert hear(lines([*rows, "# simulated", *rows]))[0].is_simulated
    assert not hear(lines([*rows, "# simulated annealing oven 12", *rows]))[0].is_simulated
