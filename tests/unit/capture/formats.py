"""Writes one known signal as a log of any format, for the tests that read it back."""

from __future__ import annotations

import datetime
import gzip
from dataclasses import dataclass
from pathlib import Path

import numpy as np

SEPARATORS = (",", ";", "\t", "  ", "|")
DECIMALS = (".", ",")
ENCODINGS = ("utf-8", "utf-8-sig", "utf-16", "utf-16-le", "utf-16-be", "latin-1", "cp1252", "gzip")
TIMES = (
    "s",
    "ms",
    "us",
    "clock",
    "clock comma",
    "iso",
    "iso zone",
    "dotted",
    "date and clock",
    "serial",
    "unix",
    "none",
)
PREAMBLES = ("none", "keys", "separators", "long")
HEADINGS = ("brackets", "parentheses", "slash", "unit row", "commented", "none")
LINE_ENDS = ("\n", "\r\n", "\r")

START = datetime.datetime(2026, 3, 17, 23, 59, 58, 500_000)  # two seconds before midnight


@dataclass(frozen=True)
class Format:
    separator: str = ","
    decimal: str = "."
    encoding: str = "utf-8"
    time: str = "s"
    preamble: str = "none"
    heading: str = "brackets"
    line_end: str = "\n"
    quoted: bool = False


def write_log(path: Path, form: Format, time: np.ndarray, load: np.ndarray, second: np.ndarray) -> None:
    """`time` [s] to 0.1 ms, `load` to 3 decimals, `second` to 2."""
    stamps = [_stamp(each, form) for each in time]
    rows = [
        [*stamp, _number(a, 3, form), _number(b, 2, form)]
        for stamp, a, b in zip(stamps, load, second, strict=True)
    ]
    lines = [*_preamble(form, len(time) / (time[-1] - time[0] + time[1] - time[0])), *_heading(form)]
    lines += [_join(row, form) for row in rows]
    text = form.line_end.join([*lines, ""])
    if form.encoding == "gzip":
        path.write_bytes(gzip.compress(text.encode()))
    else:
        path.write_bytes(text.encode(form.encoding))


def _number(value: float, decimals: int, form: Format) -> str:
    return f"{value:.{decimals}f}".replace(".", form.decimal)


def _join(cells: list[str], form: Format) -> str:
    return form.separator.join(f'"{cell}"' for cell in cells) if form.quoted else form.separator.join(cells)


def _stamp(seconds: float, form: Format) -> list[str]:
    moment = START + datetime.timedelta(microseconds=round(seconds * 1e6))
    clock = moment.strftime("%H:%M:%S.%f")
    mark = form.decimal
    styles = {
        "s": lambda: [_number(seconds, 4, form)],
        "ms": lambda: [_number(seconds * 1e3, 1, form)],
        "us": lambda: [str(round(seconds * 1e6))],
        "clock": lambda: [clock],
        "clock comma": lambda: [clock.replace(".", mark)],
        "iso": lambda: [moment.isoformat(timespec="microseconds")],
        "iso zone": lambda: [moment.isoformat(timespec="microseconds") + "+01:00"],
        "dotted": lambda: [moment.strftime("%d.%m.%Y ") + clock],
        "date and clock": lambda: [moment.strftime("%Y-%m-%d"), clock],
        "serial": lambda: [
            _number((moment - datetime.datetime(1899, 12, 30)) / datetime.timedelta(days=1), 11, form)
        ],
        "unix": lambda: [_number((moment - datetime.datetime(1970, 1, 1)).total_seconds(), 4, form)],
        "none": lambda: [],
    }
    return styles[form.time]()


def _names(form: Format) -> list[tuple[str, str]]:
    units = {"s": "s", "ms": "ms", "us": "µs"}
    if form.time == "none":
        times = []
    elif form.time == "date and clock":
        times = [("Date", ""), ("Time", "")]
    else:
        times = [("Time", units.get(form.time, ""))]
    return [*times, ("Load", "kN"), ("Air", "bar")]


def _heading(form: Format) -> list[str]:
    names = _names(form)
    if form.heading == "none":
        return []
    if form.heading == "unit row":
        return [_join([name for name, _ in names], form), _join([unit or "-" for _, unit in names], form)]
    shapes = {"brackets": "{} [{}]", "commented": "{} [{}]", "parentheses": "{} ({})", "slash": "{}/{}"}
    cells = [shapes[form.heading].format(name, unit) if unit else name for name, unit in names]
    return [("# " if form.heading == "commented" else "") + _join(cells, form)]


def _preamble(form: Format, rate: float) -> list[str]:
    told = [f"Sample rate: {rate:.6g} Hz"] if form.time == "none" else []
    keys = ["Rig: bench 4", "Operator: simulated", *told, ""]
    cut = [
        f"Channels{form.separator}2",
        f"Comment{form.separator} a{form.separator}b{form.separator}c, d; e",
        *told,
    ]
    return {
        "none": told,
        "keys": keys,
        "separators": cut,
        "long": [*keys, *(f"key {i}: {i}" for i in range(90))],
    }[form.preamble]
