"""Files that hold several columns on several clocks: each column listed at once, read only when wanted."""

from __future__ import annotations

import importlib
import re
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

import numpy as np

from strikeproof.campaign.bounds import uncounted
from strikeproof.campaign.text import bad_file
from strikeproof.capture.cells import CellKind
from strikeproof.capture.columns import Columns, Numbers, find_numbers, refuse_claim
from strikeproof.capture.heading import is_index_name, is_time_name
from strikeproof.capture.log import Finding, pick_name
from strikeproof.errors import BadFile
from strikeproof.quantity import FloatArray

__all__ = ["Track", "TrackGroup", "import_library", "read_tracks", "told_as_damaged"]

_NUMBER: CellKind = "number"
_ALIKE = 0.98  # of one clock's length: a recorder that was stopped leaves its columns a few samples apart
_OWN_NAME = re.compile(r'"?<_io\.BytesIO object at 0x\w+>"?')  # libraries see the bytes, not the file
_EXTRAS = {"asammdf": "mdf", "h5py": "logs", "nptdms": "logs", "soundfile": "logs"}


@dataclass(frozen=True, slots=True)
class Track:
    """One column: its name, unit and length; `read` gives (length,) numbers or datetime64.

    `is_time` says that the file itself calls it the time of its group.
    """

    name: str
    unit: str | None
    length: int
    read: Callable[[], Any]
    is_time: bool = False


@dataclass(frozen=True, slots=True)
class TrackGroup:
    """Columns on one clock.

    `sample_rate_hz` is what the file states of it, `epoch` when the clock shows 0, or when the first
    sample was taken where no column holds the time.
    """

    name: str
    tracks: tuple[Track, ...]
    sample_rate_hz: float | None = None
    epoch: datetime | None = None


def import_library(path: Path, kind: str, name: str) -> Any:
    """The library that reads files of this kind.

    Raises
    ------
    BadFile
        If it is not installed, with the extra to install.
    """
    try:
        with uncounted():
            return importlib.import_module(name)
    except (ImportError, OSError) as cause:  # OSError: a shared library that it needs is missing
        what = f"is {kind}, and the library that reads it ({name}) is not installed"
        fix = f"install it: pip install 'strikeproof[{_EXTRAS[name]}]'"
        raise bad_file(path, what, fix) from cause


@contextmanager
def told_as_damaged(path: Path, kind: str) -> Iterator[None]:
    """Whatever a library trips over in a damaged file, reported as a bad file."""
    try:
        yield
    except (BadFile, MemoryError):
        raise
    except Exception as cause:
        said = _OWN_NAME.sub("it", " ".join(str(cause).split()))
        why = said[:120] or type(cause).__name__
        fix = "copy it again from the recorder, or export it as CSV"
        raise bad_file(path, f"is {kind} that cannot be read ({why})", fix) from cause


def read_tracks(
    path: Path,
    size: int,
    groups: Sequence[TrackGroup],
    channel: str | None,
    findings: tuple[Finding, ...] = (),
) -> Columns:
    """The columns on the clock of `channel`, named in full (group/column) where there are several groups.

    Parameters
    ----------
    path, size
        The file, to name it, and its bytes.
    groups
        All that it holds; columns of one group whose lengths differ much are taken as on other clocks.
    channel
        The judged channel; needed when channels are on several clocks.
    findings
        What is odd about the file as a whole.

    Raises
    ------
    BadFile
        If there are no numbers, too many of them, or the channel is none or several of those there.
    """
    filled = [part for group in _named_in_full(groups) for part in _by_length(group)]
    useful = [group for group in filled if any(not _is_clock(track) for track in group.tracks)]
    if not useful:
        raise bad_file(path, "holds no columns of numbers", "check that the recording was finished")
    group = useful[0] if len(useful) == 1 else _pick_group(path, useful, channel)
    refuse_claim(path, max(track.length for track in group.tracks) * len(group.tracks), size)
    return _as_columns(group, findings)


def _named_in_full(groups: Sequence[TrackGroup]) -> list[TrackGroup]:
    """No empty columns; names without their group where only one group is left."""
    kept = [
        replace(group, tracks=tuple(track for track in group.tracks if track.length > 0)) for group in groups
    ]
    kept = [group for group in kept if group.tracks]
    if len({group.name for group in kept}) < 2:
        return kept
    return [
        replace(
            group,
            tracks=tuple(
                replace(track, name=f"{group.name}/{track.name}" if group.name else track.name)
                for track in group.tracks
            ),
        )
        for group in kept
    ]


def _by_length(group: TrackGroup) -> Iterator[TrackGroup]:
    """The group cut into parts whose columns are about equally long."""
    left = list(group.tracks)
    while left:
        longest = max(track.length for track in left)
        yield replace(group, tracks=tuple(track for track in left if track.length >= _ALIKE * longest))
        left = [track for track in left if track.length < _ALIKE * longest]


def _is_clock(track: Track) -> bool:
    return track.is_time or is_time_name(track.name) or is_index_name(track.name)


def _pick_group(path: Path, groups: Sequence[TrackGroup], channel: str | None) -> TrackGroup:
    of_name = {track.name: group for group in groups for track in group.tracks if not _is_clock(track)}
    return of_name[pick_name(list(of_name), channel, str(path))]


def _as_columns(group: TrackGroup, findings: tuple[Finding, ...]) -> Columns:
    count = max(track.length for track in group.tracks)
    numbers: dict[int, Numbers] = {}
    units: list[str | None] = []
    started = group.epoch
    for i, track in enumerate(group.tracks):
        values = np.asarray(track.read())
        unit = track.unit
        if values.dtype.kind == "M":
            values, started = _since_first(values)
            unit = "s"
        numbers[i] = find_numbers(_filled_up(values, count))
        units.append(unit)
        if track.is_time and group.epoch is not None:
            started = _later(group.epoch, numbers[i].values)
    return Columns(
        names=tuple(track.name for track in group.tracks),
        units=tuple(units),
        kinds=(_NUMBER,) * len(units),
        has_header=True,
        sample_rate_hz=group.sample_rate_hz,
        numbers=numbers,
        texts={},
        findings=findings,
        find_lines=lambda: np.arange(1, count + 1),
        started=None if started is None else started.isoformat(),
    )


def _since_first(stamps: Any) -> tuple[FloatArray, datetime | None]:
    """Seconds since the first stamp, NaN where there is none, and when that was."""
    stamps = stamps.astype("datetime64[ns]")
    known = np.flatnonzero(~np.isnat(stamps))
    if not known.size:
        return np.full(len(stamps), np.nan), None
    first = stamps[known[0]]
    return (stamps - first) / np.timedelta64(1, "s"), first.astype("datetime64[us]").item()


def _later(epoch: datetime, seconds: FloatArray) -> datetime | None:
    known = np.flatnonzero(np.isfinite(seconds))
    try:
        return epoch + timedelta(seconds=float(seconds[known[0]])) if known.size else None
    except OverflowError:
        return None


def _filled_up(values: Any, count: int) -> Any:
    """As float64; where the column ends before the others there is nothing."""
    if len(values) == count:
        return np.array(values, dtype=np.float64)
    filled = np.full(count, np.nan)
    filled[: len(values)] = values
    return filled
