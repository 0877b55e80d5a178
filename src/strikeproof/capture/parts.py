"""One run over many files, of a logger that begins a new file every minute: packed, read, joined.

The files go together into one ZIP as they are, and that is the original of the run. A ZIP that a person
packed is read in the same way.
"""

from __future__ import annotations

import io
import re
import zipfile
from collections.abc import Callable, Sequence
from dataclasses import replace
from datetime import datetime
from pathlib import Path
from typing import Final

import numpy as np

from strikeproof.campaign.text import LARGEST_BYTES, bad_file, read_file
from strikeproof.campaign.zip_file import DAMAGED_ZIP
from strikeproof.capture.log import Channel, Finding, Log
from strikeproof.errors import BadFile, Problem
from strikeproof.quantity import FloatArray

__all__ = ["MOST_PARTS", "in_order", "is_parts", "join_parts", "pack_parts", "read_parts"]

MOST_PARTS: Final = 1000
_WORKBOOK: Final = ("[content_types].xml", "mimetype", "content.xml")
_FIRST_DAY: Final = (1980, 1, 1, 0, 0, 0)  # the same files always give the same bytes
_HALF_DAY_S: Final = 43200.0
_ALIKE: Final = 0.02
"""Share by which the rates of two files of one logger may differ; their first and last samples round it."""


def in_order(paths: Sequence[Path]) -> list[Path]:
    """By name, numbers in it as numbers: part 2 comes before part 10."""
    return sorted(paths, key=lambda path: _natural(path.name))


def _natural(name: str) -> list[tuple[int, int | str]]:
    pieces = re.split(r"(\d+)", name.casefold())
    return [(0, int(each)) if each.isdecimal() else (1, each) for each in pieces]


def pack_parts(paths: Sequence[Path]) -> bytes:
    """The files as one ZIP, each as it is.

    Raises
    ------
    BadFile
        If one cannot be read, two have one name, or all of them are too large together.
    """
    target, size, names = io.BytesIO(), 0, set()
    with zipfile.ZipFile(target, "w", zipfile.ZIP_STORED) as archive:
        for path in in_order(paths):
            if path.name in names:
                raise bad_file(path, "two files of one run have this name", "give each its own name")
            names.add(path.name)
            content = read_file(path)
            size += len(content)
            if size > LARGEST_BYTES:
                raise bad_file(path, f"the files of the run hold more than {LARGEST_BYTES >> 20} MiB", "")
            archive.writestr(zipfile.ZipInfo(path.name, _FIRST_DAY), content)
    return target.getvalue()


def is_parts(raw: bytes) -> bool:
    """Whether the bytes are a ZIP of files, and no workbook."""
    if not raw.startswith(b"PK\x03\x04"):
        return False
    try:
        with zipfile.ZipFile(io.BytesIO(raw)) as archive:
            names = {each.casefold() for each in archive.namelist()}
    except DAMAGED_ZIP:
        return False
    return bool(names) and not any(each in names for each in _WORKBOOK)


def read_parts(path: Path, raw: bytes) -> list[tuple[Path, bytes]]:
    """The files in the ZIP at `path`, in the order of their names.

    Raises
    ------
    BadFile
        If it is damaged, locked, or holds too much.
    """
    try:
        with zipfile.ZipFile(io.BytesIO(raw)) as archive:
            files = [each for each in archive.infolist() if not each.is_dir()]
            if len(files) > MOST_PARTS or sum(each.file_size for each in files) > LARGEST_BYTES:
                what = f"holds more than {MOST_PARTS} files or {LARGEST_BYTES >> 20} MiB"
                raise bad_file(path, what, "pack the files of one run alone")
            found = {path / each.filename: archive.read(each) for each in files}
    except DAMAGED_ZIP as cause:
        raise bad_file(path, f"is a damaged or locked ZIP ({cause})", "pack the files again") from cause
    return [(each, found[each]) for each in in_order(list(found))]


def join_parts(path: Path, parts: Sequence[tuple[Path, bytes]], read: Callable[[Path, bytes], Log]) -> Log:
    """One log of the files of one run, each placed by its own times.

    Pauses between two files are findings. Where each file's time begins again and none says when, they are
    taken one right after the other in the order of their names, and that is a finding too.

    Parameters
    ----------
    path
        Of them all together.
    parts
        In the order of their names.
    read
        What reads one of them.

    Raises
    ------
    BadFile
        If one of them cannot be read, two overlap, or they do not have the same channels and rate.
    """
    logs = [read(part, content) for part, content in parts]
    first = logs[0]
    for log in logs[1:]:
        _require_alike(first, log)
    period = 1.0 / float(np.median([log.sample_rate_hz for log in logs]))
    begins, slack, assumed = _place(path, logs, period) if len(logs) > 1 else (np.zeros(1), 0.0, "")
    order = np.argsort(begins, kind="stable")
    logs, begins = [logs[i] for i in order], begins[order]
    times: list[FloatArray] = []
    findings: list[Finding] = []
    end: float | None = None
    for log, begin in zip(logs, begins, strict=True):
        start = float(begin - begins[0])
        if end is not None:
            start = _after(times, end, start, period, slack, (logs[len(times) - 1].path, log.path), findings)
        times.append(start + (log.time - log.time[0]))
        end = float(times[-1][-1])
    if assumed:
        findings.insert(0, Finding("assumed", None, None, len(logs), assumed))
    return Log(
        path=path,
        time=np.concatenate(times),
        channels=tuple(_joined(logs, i) for i in range(len(first.channels))),
        started=logs[0].started,
        sample_rate_hz=1.0 / period,
        findings=(*findings, *(_of_part(log, each) for log in logs for each in log.findings)),
        begins_s=logs[0].begins_s,
    )


def _require_alike(first: Log, log: Log) -> None:
    names, others = ([f"{each.name} [{each.unit or ''}]" for each in of.channels] for of in (first, log))
    if names != others:
        what = f"its channels ({', '.join(others)}) are not those of {first.path.name} ({', '.join(names)})"
        raise BadFile([Problem(str(log.path), None, what, "name the files of one run of one logger")])
    if abs(log.sample_rate_hz / first.sample_rate_hz - 1.0) > _ALIKE:
        what = f"has {log.sample_rate_hz:.4g} samples a second, {first.path.name} {first.sample_rate_hz:.4g}"
        raise BadFile([Problem(str(log.path), None, what, "name the files of one run of one logger")])


def _place(path: Path, logs: Sequence[Log], period: float) -> tuple[FloatArray, float, str]:
    """When each begins [s], how surely that is known [s], and what was assumed for it."""
    lasts = np.array([log.time[-1] - log.time[0] for log in logs])
    instants = [_instant(log.started) for log in logs]
    known = [each for each in instants if each is not None]
    if len(known) == len(logs) and len({each.tzinfo is None for each in known}) == 1 and len(set(known)) > 1:
        whole = all(each.microsecond == 0 for each in known)
        return np.array([(each - known[0]).total_seconds() for each in known]), 1.0 if whole else 2e-3, ""
    own = [log.begins_s for log in logs]
    begins = np.array([np.nan if each is None else each for each in own])
    if np.isfinite(begins).all() and np.ptp(begins) > 0.5 * lasts.min():
        ordered = np.sort(begins)
        if np.any(np.diff(ordered) > _HALF_DAY_S):
            what = "more than half a day lies between its files by their clocks"
            raise bad_file(path, what, "name the files of one run; across midnight export them with dates")
        return begins, 0.0, ""
    if np.isnan(begins).all() or (np.isfinite(begins).all() and np.ptp(begins) <= 2 * period):
        said = (
            "each file's time begins again: taken in the order of their names, without a pause between them"
        )
        return np.concatenate([[0.0], np.cumsum(lasts + period)[:-1]]), 0.0, said
    raise bad_file(path, "the times of its files do not say their order", "export them with date and time")


def _instant(text: str | None) -> datetime | None:
    try:
        return None if text is None else datetime.fromisoformat(text)
    except ValueError:
        return None


def _after(
    times: Sequence[FloatArray],
    end: float,
    start: float,
    period: float,
    slack: float,
    names: tuple[Path, Path],
    findings: list[Finding],
) -> float:
    """Where a file begins that comes after those before; what lies between is put down among the findings.

    `slack` is how coarse the stated beginnings are: what is less than that away joins without a pause. [s]
    """
    before, after = names
    away = start - end - period
    if abs(away) <= slack + 0.5 * period:
        return end + period
    if away < 0.0:
        what = f"begins {-away:.4g} s before {before.name} ends"
        raise BadFile([Problem(str(after), None, what, "name each file of a run once, of one logger")])
    said = f"nothing was recorded for {away:.4g} s between {before.name} and {after.name}"
    row = sum(map(len, times))
    findings.append(Finding("gap", None, row + 1, max(1, round(away / period)), said))
    return start


def _joined(logs: Sequence[Log], i: int) -> Channel:
    values = np.concatenate([log.channels[i].values for log in logs])
    return replace(logs[0].channels[i], values=values)


def _of_part(log: Log, finding: Finding) -> Finding:
    return replace(finding, detail=f"{log.path.name}: {finding.detail}")
