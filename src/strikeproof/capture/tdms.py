"""Files of grouped channels (.tdms), each with its own sampling interval or with a channel of times."""

from __future__ import annotations

import io
import logging
from collections import defaultdict
from collections.abc import Iterator, Mapping
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import numpy as np

from strikeproof.capture.columns import Columns
from strikeproof.capture.heading import split_name
from strikeproof.capture.log import Finding
from strikeproof.capture.tracks import Track, TrackGroup, import_library, read_tracks, told_as_damaged

__all__ = ["is_tdms", "read_tdms"]

_KIND = "a file of grouped channels (.tdms)"
_UNIT_KEYS = ("unit_string", "NI_UnitDescription", "unit")


def is_tdms(raw: bytes) -> bool:
    """Whether the bytes begin like such a file, whatever it is called."""
    return raw.startswith(b"TDSm")


def read_tdms(path: Path, raw: bytes, channel: str | None) -> Columns:
    """The channels on the clock of `channel`, scaled as the file says.

    Raises
    ------
    BadFile
        If the library is missing, the file is damaged, or the channel is not one of its own.
    """
    nptdms = import_library(path, _KIND, "nptdms")
    nptdms.log.log_manager.set_level(logging.CRITICAL)  # what it warns of is reported as a finding
    with told_as_damaged(path, _KIND), nptdms.TdmsFile.open(io.BytesIO(raw)) as file:
        findings: tuple[Finding, ...] = ()
        if file.file_status.incomplete_final_segment:
            detail = "its last segment was not written to the end; what is there is read"
            findings = (Finding("cut-off", None, None, 1, detail),)
        return read_tracks(path, len(raw), list(_groups(file)), channel, findings)


def _groups(file: Any) -> Iterator[TrackGroup]:
    for group in file.groups():
        of_clock = defaultdict(list)
        for each in group.channels():
            if each.dtype.kind in "iufbM":
                of_clock[_clock(each.properties)].append(_track(each))
        for (step, epoch), tracks in of_clock.items():
            yield TrackGroup(group.name, tuple(tracks), 1.0 / step if step else None, epoch)


def _track(channel: Any) -> Track:
    name, unit = split_name(channel.name)
    given = (str(channel.properties[key]) for key in _UNIT_KEYS if channel.properties.get(key))
    return Track(name, next(given, unit), len(channel), lambda: channel[:])


def _clock(properties: Mapping[str, Any]) -> tuple[float | None, datetime | None]:
    """Interval [s], None where none is stated, and the instant of the first sample."""
    step = properties.get("wf_increment")
    if not isinstance(step, (int, float)) or not 0 < step < np.inf:
        return None, None
    start, offset = properties.get("wf_start_time"), properties.get("wf_start_offset", 0.0)
    if not isinstance(start, np.datetime64) or np.isnat(start):
        return float(step), None
    epoch = start.astype("datetime64[us]").item().replace(tzinfo=UTC) + timedelta(seconds=float(offset))
    return float(step), epoch if epoch.year > 1904 else None  # 1904 is the format's zero: never set
