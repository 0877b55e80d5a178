"""Names, units and rates as people and loggers write them."""

from __future__ import annotations

from pathlib import Path

import pytest

from strikeproof.capture.heading import find_names, find_sample_rate, is_index_name, is_time_name, split_name
from strikeproof.capture.reading import read_log
from strikeproof.errors import BadFile


@pytest.mark.parametrize(
    ("heading", "name", "unit"),
    [
        ("load [kN]", "load", "kN"),
        ("Load (kN)", "Load", "kN"),
        ("load/kN", "load", "kN"),
        ("Moment / N m", "Moment", "N m"),
        ("torque in lbf ft", "torque", "lbf ft"),
        ("load_kN", "load", "kN"),
        ("Kraft, kN", "Kraft", "kN"),
        ("bridge [mV/V]", "bridge", "mV/V"),
        ("clamp load", "clamp load", None),
        ("load_cell", "load_cell", None),
        ("Torque ft-lbs", "Torque", "ft-lbs"),
        ("Force, kip", "Force", "kip"),
        ("clamp load lbf", "clamp load", "lbf"),
        ("torque_lb-ft", "torque", "lb-ft"),
        ("load_min", "load_min", None),
        ("load in", "load in", None),
        ("channel A", "channel A", None),
        ("load_A", "load_A", None),
        ("on/off", "on/off", None),
        ("angle [°]", "angle", "°"),
        ("load []", "load", None),
        ("millis", "millis", "ms"),
        ("# time (ms)", "time", "ms"),
    ],
)
def test_units_in_headings(heading: str, name: str, unit: str | None) -> None:
    assert split_name(heading) == (name, unit)


@pytest.mark.parametrize(
    "name", ["Time", "t", "Zeit", "Timestamp", "elapsed time", "Date Time", "time_rel", "millis"]
)
def test_time_names(name: str) -> None:
    assert is_time_name(name)


@pytest.mark.parametrize("name", ["load", "torque", "Timer load", "temperature", "tension"])
def test_other_names(name: str) -> None:
    assert not is_time_name(name)


def test_index_names() -> None:
    assert all(map(is_index_name, ["No.", "Index", "#", "sample", "Sample number"]))
    assert not any(map(is_index_name, ["load", "sampled load", "knock"]))


@pytest.mark.parametrize(
    ("line", "rate"),
    [
        ("Sample rate: 10000 Hz", 10_000),
        ("Sample rate: 10,000.0 Hz", 10_000),
        ("Sample rate: 10 000 Hz", 10_000),
        ("Sample rate: 10'000 S/s", 10_000),
        ("Abtastrate: 10.000,0 Hz", 10_000),
        ("Sampling frequency [kHz];10", 10_000),
        ("Abtastrate;2,5;kHz", 2500),
        ("# rate = 80 S/s", 80),
        ("Sample interval: 0.1 ms", 10_000),
        ("dt = 1e-4", 10_000),
        ("Scan rate,50,kS/s", 50_000),
        ("Samplerate: 1200", 1200),
        ("fs = 250", 250),
        ("Serial number: 12345", None),
        ("Blow rate: 22 Hz", None),
        ("Baud rate: 115200", None),
        ("Sample rate: unknown", None),
        ("Sample rate: 0 Hz", None),
    ],
)
def test_rates_in_a_preamble(line: str, rate: float | None) -> None:
    found = find_sample_rate(["Rig: bench 4", line])
    assert found == (None if rate is None else pytest.approx(rate))


@pytest.mark.parametrize(
    ("above", "separator", "names"),
    [
        (["t;load", "s;kN"], ";", [("t", "s"), ("load", "kN")]),
        (["t;load", "[s];[kN]", ""], ";", [("t", "s"), ("load", "kN")]),
        (["Time [s]  Load cell [kN]"], " ", [("Time", "s"), ("Load cell", "kN")]),
        (["# t load"], " ", [("t", None), ("load", None)]),
        (["t,load"], ";", [("t", None), ("load", None)]),
        (["load;load"], ";", [("load", None), ("load (2)", None)]),
        (["t;"], ";", [("t", None), ("column 2", None)]),
        (["Rig: bench 4"], ";", [("column 1", None), ("column 2", None)]),
        ([], ";", [("column 1", None), ("column 2", None)]),
    ],
)
def test_headers(above: list[str], separator: str, names: list[tuple[str, str | None]]) -> None:
    assert find_names(above, separator, 2)[0] == names


@pytest.mark.parametrize(
    ("between", "names"),
    [
        ("max;100", [("t", "s"), ("load", "kN")]),
        ("float;double", [("t", "s"), ("load", "kN")]),
        ("0.000-0.391", [("column 1", None), ("column 2", None)]),
        ('"0.000;0.391', [("column 1", None), ("column 2", None)]),
        ("err;0.391", [("column 1", None), ("column 2", None)]),
        ('"0,000"|"0,391"', [("column 1", None), ("column 2", None)]),
    ],
)
def test_a_damaged_first_row_does_not_pass_for_a_line_of_the_heading(
    between: str, names: list[tuple[str, str | None]]
) -> None:
    """Else the row would be gone without a word; without names its channel cannot be picked by accident."""
    assert find_names(["t [s];load [kN]", between], ";", 2)[0] == names


@pytest.mark.parametrize(
    ("head", "row"),
    [("time,load", "{t:.2f},{c}"), ("time,load,temperature", "{d},{c},20"), ("time,load", "{d},{c}")],
)
def test_a_decimal_comma_between_commas_is_refused_and_called_so(tmp_path: Path, head: str, row: str) -> None:
    path = tmp_path / "log.csv"
    rows = [(i / 100, f"{0.37 * i:.2f}".replace(".", ",")) for i in range(60)]
    lines = [row.format(t=t, d=f"{t:.2f}".replace(".", ","), c=c) for t, c in rows]
    path.write_text("\n".join([head, *lines, ""]))
    with pytest.raises(BadFile, match="the comma seems to mark decimals too"):
        read_log(path)
