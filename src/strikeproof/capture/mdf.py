"""MDF 4 files (ASAM): channel groups, each with its master channel of times."""

from __future__ import annotations

import io
import logging
from collections.abc import Iterator
from contextlib import closing
from datetime import datetime
from pathlib import Path
from typing import Any

import numpy as np

from strikeproof.campaign.text import bad_file
from strikeproof.capture.columns import Columns
from strikeproof.capture.heading import split_name
from strikeproof.capture.tracks import Track, TrackGroup, import_library, read_tracks, told_as_damaged

__all__ = ["is_mdf", "read_mdf"]

_KIND = "an MDF file"
_TIME_SYNC = 1  # ASAM MDF 4, channel block, cn_sync_type: 1 is time, others angle, distance or index
_MASTERS = (2, 3)  # cn_type: master, virtual master


def is_mdf(raw: bytes) -> bool:
    """Whether the bytes begin like an MDF file, whatever it is called."""
    return raw.startswith((b"MDF     ", b"UnFinMF "))


def read_mdf(path: Path, raw: bytes, channel: str | None) -> Columns:
    """The channels on the clock of `channel`, converted as the file says; invalid samples are NaN.

    Raises
    ------
    BadFile
        If the library is missing, the file is of an older version or damaged, or the channel is not there.
    """
    if raw[8:9] != b"4":
        version = raw[8:12].decode("latin-1").strip()
        raise bad_file(path, f"is MDF of version {version!r}; 4 is read", "save it as MDF 4 or as CSV")
    import_library(path, _KIND, "asammdf")
    with told_as_damaged(path, _KIND), closing(_open(raw)) as file:
        return read_tracks(path, len(raw), list(_groups(file)), channel)


def _open(raw: bytes) -> Any:
    from asammdf import MDF

    logging.getLogger("asammdf").setLevel(logging.CRITICAL)  # what it cannot read is reported as a bad file
    try:
        return MDF(io.BytesIO(raw))
    except Exception as cause:
        _call_closed(cause)
        raise


def _call_closed(cause: Exception) -> None:
    """Spare the half-made object its own clean-up, which trips over what it never got to and prints that."""
    from asammdf.blocks.mdf_v4 import MDF4

    trace = cause.__traceback__
    while trace is not None:
        made = trace.tb_frame.f_locals.get("self")
        if isinstance(made, MDF4):
            made._closed = True
            if made._tempfile is not None:
                made._tempfile.close()
        trace = trace.tb_next


def _groups(file: Any) -> Iterator[TrackGroup]:
    names: set[str] = set()
    for index, group in enumerate(file.groups):
        given = (group.channel_group.acq_name or "").strip() or f"group {index + 1}"
        name = f"{given} ({index + 1})" if given in names else given
        names.add(name)
        count = int(group.channel_group.cycles_nr)
        tracks = [
            _track(file, (index, place), each, count)
            for place, each in enumerate(group.channels)
            if _is_number(file, (index, place), each, count)
        ]
        yield TrackGroup(name, tuple(tracks), None, _start(file))


def _is_number(file: Any, at: tuple[int, int], channel: Any, count: int) -> bool:
    """Whether a channel gives one number a sample; tried on its first, since conversions may give words."""
    if count == 0:
        return False
    if channel.channel_type in _MASTERS:
        return bool(channel.sync_type == _TIME_SYNC)
    first = file.get(group=at[0], index=at[1], record_offset=0, record_count=1, ignore_invalidation_bits=True)
    return (
        first.samples.dtype.kind in "iufb" and first.samples.ndim == 1 and first.samples.dtype.names is None
    )


def _track(file: Any, at: tuple[int, int], channel: Any, count: int) -> Track:
    name, unit = split_name(channel.name)
    is_time = channel.channel_type in _MASTERS
    given = channel.unit or (channel.conversion.unit if channel.conversion else "")
    read = (lambda: file.get_master(at[0])) if is_time else (lambda: _values(file, at))
    return Track(name, (given or "").strip() or unit or ("s" if is_time else None), count, read, is_time)


def _values(file: Any, at: tuple[int, int]) -> Any:
    signal = file.get(group=at[0], index=at[1], ignore_invalidation_bits=True)
    values = np.array(signal.samples, dtype=np.float64)
    if signal.invalidation_bits is not None:
        values[np.asarray(signal.invalidation_bits, dtype=bool)] = np.nan
    return values


def _start(file: Any) -> datetime | None:
    start = file.header.start_time
    return start if isinstance(start, datetime) and start.year > 1970 else None
