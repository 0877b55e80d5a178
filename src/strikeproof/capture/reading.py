"""One log file of any kind, read into a `Log`."""

from __future__ import annotations

import re
from dataclasses import replace
from functools import partial
from pathlib import Path

import numpy as np

from strikeproof.campaign.text import decode, find_encoding, read_file, unpack
from strikeproof.campaign.workbook import is_workbook, read_workbook, write_cell
from strikeproof.capture.body import read_body
from strikeproof.capture.clock import Clock, read_clock
from strikeproof.capture.columnar import is_parquet, read_parquet
from strikeproof.capture.columns import Columns, Numbers, with_plain_names
from strikeproof.capture.flags import find_clipping, find_overflow_codes
from strikeproof.capture.hdf5 import is_hdf5, read_hdf5
from strikeproof.capture.layout import find_layout
from strikeproof.capture.log import LARGEST_UNREADABLE_SHARE, Channel, Finding, Log
from strikeproof.capture.many_runs import ManyRuns
from strikeproof.capture.markup import refuse_markup
from strikeproof.capture.mdf import is_mdf, read_mdf
from strikeproof.capture.minus_signs import plain_minus
from strikeproof.capture.parts import is_parts, join_parts, read_parts
from strikeproof.capture.recording import is_recording, read_recording_columns
from strikeproof.capture.restarts import find_restarts
from strikeproof.capture.sideways import turn_rows
from strikeproof.capture.sound_file import is_sound, read_sound_log
from strikeproof.capture.tdms import is_tdms, read_tdms
from strikeproof.capture.timing import Rhythm, find_rhythm
from strikeproof.capture.unit_cells import move_units
from strikeproof.errors import BadFile, BadInput, Problem
from strikeproof.quantity import FloatArray, IntArray

__all__ = ["log_text", "read_log", "read_log_of", "read_rows"]


_Rows = IntArray | range  # a range where it is all of them: a long log has no room for a list

_SLOWEST_HZ, _FASTEST_HZ = 1e-4, 1e9

_BINARY = (
    (is_tdms, read_tdms),
    (is_mdf, read_mdf),
    (is_hdf5, read_hdf5),
    (is_sound, read_sound_log),
)


def read_log(path: Path, *, sample_rate_hz: float | None = None, channel: str | None = None) -> Log:
    """A log file of any kind, recognised by content and not by name.

    CSV of any make, gzip or not, XLSX, Parquet; grouped channels (.tdms), MDF 4, HDF5 and sound by extras.

    Nothing is silently repaired: cells that hold no number become NaN, rows whose time cannot be read and a
    last line that was cut off are left out, and each is a finding of the log.

    Parameters
    ----------
    path
        The file.
    sample_rate_hz
        Used where the file has no time column; wins over a rate the file states. [Hz]
    channel
        The judged channel: where a file holds several clocks, its clock is the log's, and channels on
        other clocks are left out. Such a file cannot be read without it.

    Raises
    ------
    BadFile
        If the file cannot be used, with everything that is wrong with it.
    BadInput
        If `sample_rate_hz` is not a rate.
    """
    path = Path(path)
    return read_log_of(path, read_file(path), sample_rate_hz=sample_rate_hz, channel=channel)


def read_log_of(
    path: Path, content: bytes, *, sample_rate_hz: float | None = None, channel: str | None = None
) -> Log:
    """The same for a log whose bytes are read already.

    Raises
    ------
    BadFile, BadInput
        As `read_log`.
    """
    if sample_rate_hz is not None and not 0 < sample_rate_hz < float("inf"):
        raise BadInput(
            f"{sample_rate_hz!r}", where="sample_rate_hz", allowed="> 0", fix="give samples a second"
        )
    raw = unpack(path, content)
    if is_parts(raw):
        return join_parts(path, read_parts(path, raw), partial(_read_one, sample_rate_hz, channel))
    return _read_one(sample_rate_hz, channel, path, raw)


def _read_one(sample_rate_hz: float | None, channel: str | None, path: Path, content: bytes) -> Log:
    columns = with_plain_names(_read_columns(path, unpack(path, content), channel))
    stated = columns.sample_rate_hz
    return _build_log(path, columns, sample_rate_hz or (stated if _is_rate(stated) else None))


def _is_rate(stated: float | None) -> bool:
    """Whether anything is sampled so: a damaged file may state any number."""
    return stated is not None and _SLOWEST_HZ <= stated <= _FASTEST_HZ


def _read_columns(path: Path, raw: bytes, channel: str | None) -> Columns:
    if is_parquet(raw):
        return read_parquet(path, raw)
    if is_recording(raw):
        return read_recording_columns(path, raw)
    for is_of_kind, read in _BINARY:
        if is_of_kind(raw):
            return read(path, raw, channel)
    text = log_text(path, raw)
    text = turn_rows(plain_minus(move_units(path, text)))
    return read_body(path, text, find_layout(path, text))


def log_text(path: Path, raw: bytes) -> bytes:
    """The lines of a text log or a workbook as UTF-8, each ended by a line feed.

    Raises
    ------
    BadFile
        If it is neither.
    """
    return _workbook_text(path, raw) if is_workbook(raw) else _plain_text(path, raw)


def read_rows(path: Path, text: bytes) -> Columns:
    """The columns of the lines that `log_text` gives, each row on the line that `find_lines` says.

    Raises
    ------
    BadFile
        If they hold no rows of numbers.
    """
    text = plain_minus(move_units(path, text))
    return with_plain_names(read_body(path, text, find_layout(path, text)))


def _plain_text(path: Path, raw: bytes) -> bytes:
    """UTF-8 without mark, lines ended by a line feed; long logs mostly are and are not touched."""
    encoding = find_encoding(path, raw)
    if encoding == "utf-8-sig":
        raw, encoding = raw[3:], "utf-8"
    if encoding not in ("ascii", "utf-8"):
        raw = decode(path, raw, encoding).encode()
        refuse_markup(path, raw)
        return raw
    refuse_markup(path, raw)
    if b"\r" in raw:
        raw = raw.replace(b"\r\n", b"\n").replace(b"\r", b"\n")
    return raw.rstrip(b"\x1a")


def _workbook_text(path: Path, raw: bytes) -> bytes:
    """The rows of a workbook as lines of tabs, so that one reader does for all."""
    rows = read_workbook(path, raw)
    blank = str.maketrans('\t\n\r"', "    ")
    return "".join(
        "\t".join(write_cell(cell).translate(blank) for cell in row) + "\n" for row in rows
    ).encode()


def _build_log(path: Path, columns: Columns, rate: float | None) -> Log:
    clock = read_clock(columns, rate)
    channels = {
        i: numbers
        for i, numbers in columns.numbers.items()
        if i not in clock.taken and not _is_blank(columns.names[i], numbers)
    }
    problems = _find_problems(path, columns, clock, channels, rate)
    if problems:
        raise BadFile(problems)
    at = _readable_rows(clock, columns.row_count)
    _refuse_many_runs(path, columns, clock, at)
    rhythm = _find_rhythm(path, clock, at, rate)
    built = [_build_channel(columns.names[i], columns.units[i], each, at) for i, each in channels.items()]
    late = [*_time_findings(columns, clock, at), *_moved(rhythm.findings, at)]
    for _, own in built:
        late += own
    return Log(
        path=path,
        time=rhythm.time,
        channels=tuple(channel for channel, _ in built),
        started=(clock.stamps.started if clock.stamps else None) or columns.started,
        sample_rate_hz=1.0 / rhythm.period,
        findings=(*_with_lines(late, columns), *columns.findings),
        begins_s=clock.stamps.begins_s if clock.stamps else None,
    )


_UNNAMED = re.compile(r"column \d+")


def _is_blank(name: str, numbers: Numbers) -> bool:
    """Whether a column has neither a name nor a value: it is only between or behind others."""
    return (
        bool(_UNNAMED.fullmatch(name)) and not numbers.overflow.any() and bool(np.isnan(numbers.values).all())
    )


def _find_problems(
    path: Path, columns: Columns, clock: Clock, channels: dict[int, Numbers], rate: float | None
) -> list[Problem]:
    """All that keeps the log from being used."""
    problems = []

    def tell(problem: str, fix: str, line: int | None = None) -> None:
        problems.append(Problem(str(path), line, problem, fix))

    if columns.row_count < 2:
        tell("holds fewer than two samples", "check that the recording was finished")
    if not channels:
        tell("holds no column of numbers beside the time", "export the load with it")
    if clock.stamps is None and rate is None:
        fix = "name the time column, like 'time [s]', or give the sample rate of the rig"
        what = (
            "the first column counts 1, 2, 3 and nothing says what"
            if clock.counts_only
            else "has no time column"
        )
        tell(f"{what}, and no sample rate is known", fix)
    if clock.other is not None:
        what = f"has two clocks that differ, {clock.name!r} and {clock.other!r}"
        tell(what, "export one clock a file, with the channels that are on it")
    readable = {columns.names[i]: np.isfinite(each.values) for i, each in channels.items()}
    if clock.stamps is not None:
        readable |= {clock.name or "time": np.isfinite(clock.stamps.seconds)}
    bad = {name: ok for name, ok in readable.items() if ok.size and ok.mean() < 1 - LARGEST_UNREADABLE_SHARE}
    time_is_bad = clock.stamps is not None and (clock.name or "time") in bad
    if time_is_bad or (channels and len(bad) >= len(channels)):
        lines = columns.find_lines()
        numbers = {columns.names[i]: each for i, each in columns.numbers.items()}
        for name, ok in bad.items():
            at = int(np.argmin(ok))
            two_ways = name in numbers and numbers[name].has_two_meanings(at)
            what = f"{1 - ok.mean():.0%} of the cells of {name!r} cannot be read"
            what += f": {numbers[name].describe(at)}" if two_ways else ""
            fix = "export it without thousands separators" if two_ways else "export it again"
            tell(what, fix, int(lines[at]))
    return problems


def _readable_rows(clock: Clock, count: int) -> _Rows:
    """Rows whose time is known."""
    if clock.stamps is None or np.isfinite(clock.stamps.seconds).all():
        return range(count)
    return np.asarray(np.flatnonzero(np.isfinite(clock.stamps.seconds)), dtype=np.int64)


def _refuse_many_runs(path: Path, columns: Columns, clock: Clock, at: _Rows) -> None:
    """A log of several runs one after another is none: what is judged would be of all of them."""
    if clock.stamps is None:
        return
    seconds = clock.stamps.seconds
    begins = find_restarts(seconds if len(at) == len(seconds) else seconds[at])
    if _is_clockwork(np.diff([0, *begins])):
        what, fix = "its time begins again and again", "record times that go on, or give the rate of the rig"
        raise BadFile([Problem(str(path), None, what, fix)])
    if begins.size:
        raise ManyRuns(path, [int(columns.find_lines()[at[i]]) for i in (0, *begins)])


_MOST_ALIKE = 5


def _is_clockwork(lengths: IntArray) -> bool:
    """Whether the time begins again after ever so many samples, as milliseconds of the second do."""
    return len(lengths) >= _MOST_ALIKE and bool(np.all(lengths == lengths[0]))


def _find_rhythm(path: Path, clock: Clock, at: _Rows, rate: float | None) -> Rhythm:
    if clock.stamps is None:
        assert rate is not None  # or _find_problems had refused the log
        time = np.arange(len(at), dtype=np.float64)
        time /= rate
        return Rhythm(time, 1.0 / rate, ())
    seconds = clock.stamps.seconds
    rhythm = find_rhythm(seconds if len(at) == len(seconds) else seconds[at], rate)
    if rhythm is None or rhythm.period <= 0:
        what = "its time stamps are too coarse to place the samples"
        if rhythm is not None:
            what = "its time runs backward" if rhythm.period < 0 else "its time begins again and again"
        fix = "record finer time stamps, or give the sample rate of the rig"
        raise BadFile([Problem(str(path), None, what, fix)])
    return rhythm


def _build_channel(name: str, unit: str | None, numbers: Numbers, at: _Rows) -> tuple[Channel, list[Finding]]:
    """The channel and its findings, whose line is the row so far."""
    complete = len(at) == len(numbers.values)  # then a long log is not copied
    values: FloatArray = numbers.values if complete else numbers.values[at]
    overflow = numbers.overflow if complete else numbers.overflow[at]
    findings = []
    unreadable = np.flatnonzero(np.isnan(values) & ~overflow)
    if unreadable.size:
        row = int(at[unreadable[0]])
        findings.append(Finding("not-a-number", name, row, int(unreadable.size), numbers.describe(row)))
    words = np.flatnonzero(overflow)
    if words.size:
        detail = "cells say that the range was left; their value is unknown"
        findings.append(Finding("overflow-code", name, int(at[words[0]]), int(words.size), detail))
    if mark := numbers.decimal_by_others:
        first = numbers.cells[int(at[0])].as_py()
        detail = (
            f"numbers such as {first!r} are read as thousands: {mark!r} is the decimal mark of other columns"
        )
        findings.append(Finding("assumed", name, int(at[0]), len(values), detail))
    codes, code_finding = find_overflow_codes(name, values)
    clipping = find_clipping(name, values, codes)
    findings += _moved(tuple(each for each in (code_finding, clipping) if each), at)
    return Channel(name, unit, values), findings


def _moved(findings: tuple[Finding, ...], at: _Rows) -> list[Finding]:
    """From sample index to row."""
    return [replace(each, first_line=int(at[each.first_line or 0])) for each in findings]


def _time_findings(columns: Columns, clock: Clock, at: _Rows) -> list[Finding]:
    if clock.stamps is None:
        return []
    findings = []
    if clock.stamps.assumed:
        findings.append(Finding("assumed", None, 0, columns.row_count, clock.stamps.assumed))
    lost = (
        np.setdiff1d(np.arange(columns.row_count), at, assume_unique=True)
        if len(at) < columns.row_count
        else np.zeros(0, dtype=np.int64)
    )
    if lost.size:
        detail = "rows whose time cannot be read are left out"
        findings.append(Finding("not-a-number", None, int(lost[0]), int(lost.size), detail))
    return findings


def _with_lines(findings: list[Finding], columns: Columns) -> list[Finding]:
    if not findings:
        return []
    lines = columns.find_lines()
    return [replace(each, first_line=int(lines[each.first_line or 0])) for each in findings]
