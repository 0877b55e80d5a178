"""A run recorded as it arrives: an Arrow stream, on the disk at least twice a second.

Every batch carries what was odd before its samples; the last one, without samples, says how the recording
ended. A stream that was cut off at any byte gives back all its whole batches and says that it was cut. Its
beginning and every batch carry a checksum, so that a damaged byte is never taken for a reading.
"""

from __future__ import annotations

import contextlib
import json
import os
import zlib
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

import numpy as np
import pyarrow as pa

from strikeproof.campaign.files import TIME, arrow_column
from strikeproof.campaign.text import bad_file
from strikeproof.campaign.whole_file import sync_folder
from strikeproof.capture.columns import Columns, Numbers
from strikeproof.capture.heading import split_name
from strikeproof.capture.log import Finding
from strikeproof.capture.received import LineFlag
from strikeproof.errors import BadFile, StoreError
from strikeproof.quantity import FloatArray

__all__ = [
    "CUT_SHORT",
    "HEAD_BYTES",
    "LINE_LOST",
    "RECORDER_FAILED",
    "Recorded",
    "RecordingWriter",
    "claims_to_be_ours",
    "is_recording",
    "read_recording",
    "read_recording_columns",
]

CUT_SHORT = "cut short: the recorder stopped"
LINE_LOST = "the line was lost"
RECORDER_FAILED = "the recorder failed"
_START = b"\xff\xff\xff\xff"  # of an encapsulated message in the Arrow columnar format's stream
_ABOUT, _ODD, _END, _SUM, _NAMES = b"strikeproof", b"odd", b"end", b"checksum", b"names"
_KEEP_S = 0.2
HEAD_BYTES = 1 << 16  # bytes that hold the whole beginning of a recording
_BATCH = 1024  # samples; what a full disk cuts off in its middle is lost


class RecordingWriter:
    """One recording on disk while it grows.

    Parameters
    ----------
    path
        Where; it must not be there yet.
    channels
        Name and unit of each.
    about
        What a person or program should know of the run without any other file.

    Raises
    ------
    StoreError
        If the file is there already, or cannot be made or written.
    """

    def __init__(
        self, path: Path, channels: Sequence[tuple[str, str | None]], about: Mapping[str, Any]
    ) -> None:
        self.path = path
        self.samples = 0
        self._zero: float | None = None
        self._waiting: list[tuple[FloatArray, FloatArray]] = []
        self._odd: list[LineFlag] = []
        self._kept_at: float | None = None
        names = [TIME, *(f"{name} [{unit}]" if unit else name for name, unit in channels)]
        said = {_ABOUT: json.dumps(dict(about)).encode()}
        said[_SUM] = _checksum((), {**said, _NAMES: "\n".join(names).encode()})
        self._schema = pa.schema([pa.field(name, pa.float64()) for name in names], metadata=said)
        try:
            self._file = path.open("xb")
        except OSError as cause:
            raise self._trouble(cause) from cause
        try:
            self._stream = pa.ipc.new_stream(self._file, self._schema)
            self._sync()
            sync_folder(path.parent)
        except OSError as cause:
            self.abandon()
            with contextlib.suppress(OSError):
                path.unlink()  # made just now, and nothing is in it
            raise self._trouble(cause) from cause

    def add(self, time: FloatArray, values: FloatArray, line_flags: Sequence[LineFlag], now: float) -> None:
        """Samples (n,) [s] and (n, channels); `line_flags` count from the recording's first sample.

        They are on disk when a fifth of a second has gone since the last time.
        """
        if len(time):
            self._zero = float(time[0]) if self._zero is None else self._zero
            self._waiting.append((time - self._zero, values))
        self._odd += line_flags
        if self._kept_at is None or now - self._kept_at >= _KEEP_S:
            self.keep(now)

    def keep(self, now: float) -> None:
        """Put on disk what waits."""
        self._kept_at = now
        if self._waiting or self._odd:
            self._write({})

    def finish(self, ending: str) -> None:
        """End the recording, with the word that says how."""
        if self._waiting or self._odd:
            self._write({})
        self._write({_END: ending.encode()})
        try:
            self._stream.close()
            self._sync()
            self._file.close()
        except OSError as cause:
            raise self._trouble(cause) from cause

    def abandon(self) -> None:
        """Close the file as it is, after a write has failed."""
        with contextlib.suppress(OSError):
            self._file.close()

    def _write(self, about: dict[bytes, bytes]) -> None:
        width = len(self._schema) - 1
        time = np.concatenate([t for t, _ in self._waiting]) if self._waiting else np.empty(0)
        values = np.concatenate([v for _, v in self._waiting]) if self._waiting else np.empty((0, width))
        if self._odd:
            about = about | {_ODD: json.dumps([asdict(each) for each in self._odd]).encode()}
        try:
            for begin in range(0, max(len(time), 1), _BATCH):
                part = [column[begin : begin + _BATCH] for column in (time, *values.T)]
                batch = pa.RecordBatch.from_arrays([arrow_column(each) for each in part], schema=self._schema)
                said = {} if begin else about
                self._stream.write_batch(batch, custom_metadata=said | {_SUM: _checksum(part, said)})
            self._sync()
        except OSError as cause:
            raise self._trouble(cause) from cause
        self.samples += len(time)
        self._waiting, self._odd = [], []

    def _sync(self) -> None:
        self._file.flush()
        os.fsync(self._file.fileno())

    def _trouble(self, cause: OSError) -> StoreError:
        return StoreError(
            f"{self.path}: cannot be recorded: {cause.strerror or cause}",
            "free some disk space, or check the folder's permissions",
        )


@dataclass(frozen=True, slots=True, eq=False)
class Recorded:
    """What a recording holds: what was said of it, (n,) time [s], (n, channels), and how it ended."""

    about: dict[str, Any]
    names: tuple[str, ...]
    time: FloatArray
    values: FloatArray
    line_flags: tuple[LineFlag, ...]
    ending: str | None


def is_recording(raw: bytes) -> bool:
    """Whether the bytes begin like an Arrow stream, whatever the file is called."""
    return raw.startswith(_START)


def claims_to_be_ours(raw: bytes) -> bool:
    """Whether a recorder of ours may have written the beginning: readable, damaged, or cut off within it."""
    length = int.from_bytes(raw[4:8], "little")
    cut = not raw or (raw.startswith(_START) and len(raw) < 8 + length)
    return cut or _ABOUT in raw[:HEAD_BYTES]


def read_recording(path: Path, raw: bytes) -> Recorded:
    """All whole batches of a recording, cut off or not.

    Raises
    ------
    BadFile
        If not even its beginning can be read, or it is another Arrow stream than a recording of numbers.
    """
    batches, ends, odd = [], None, []
    try:
        stream = pa.ipc.open_stream(pa.BufferReader(raw))
        names, about, is_summed = tuple(stream.schema.names), *_read_about(path, stream.schema)
    except (pa.ArrowException, OSError, ValueError) as cause:  # ValueError: a name or a text that is no text
        raise bad_file(
            path, "is a recording cut off before its first sample", "record the run again"
        ) from cause
    while True:
        try:
            batch, told = stream.read_next_batch_with_custom_metadata()
            batch.validate(full=True)
            words = dict(told or {})
            if not is_summed and _SUM in words:  # only the word that there are checksums was damaged
                raise _damaged_beginning(path)
            if is_summed and words.pop(_SUM, None) != _checksum(map(_as_numbers, batch.columns), words):
                break
            said = [LineFlag(**each) for each in json.loads(words.get(_ODD, b"[]"))]
            ending = words.get(_END)
        except StopIteration:
            break
        except MemoryError:  # Arrow's own is also one of its exceptions
            raise
        except (pa.ArrowException, OSError, ValueError, TypeError):  # what follows the damage is not read
            break
        odd += said
        ends = ending.decode("utf-8", "replace") if ending is not None else ends
        batches.append(batch)
    columns = _numbers(path, pa.Table.from_batches(batches, stream.schema))
    values = np.column_stack(columns[1:]) if len(columns) > 1 else np.empty((len(columns[0]), 0))
    return Recorded(about, names, columns[0], values, tuple(odd), ends)


def _read_about(path: Path, schema: Any) -> tuple[dict[str, Any], bool]:
    """What is said of the run, and whether the batches carry checksums: those of older recorders do not."""
    words = dict(schema.metadata or {})
    summed = words.pop(_SUM, None)
    if summed not in (None, _checksum((), {**words, _NAMES: "\n".join(schema.names).encode()})):
        raise _damaged_beginning(path)
    found = json.loads(words.get(_ABOUT, b"{}"))
    return found if isinstance(found, dict) else {}, summed is not None


def _damaged_beginning(path: Path) -> BadFile:
    what = "is a recording whose beginning is damaged"
    return bad_file(path, what, "put a copy of it back, or repeat the run")


def _checksum(columns: Iterable[FloatArray], words: Mapping[bytes, bytes]) -> bytes:
    """CRC-32 of (n,) columns and of what is said beside them: any burst of up to 32 bits is noticed."""
    found = 0
    for column in columns:
        found = zlib.crc32(np.ascontiguousarray(column).data, found)
    for name in sorted(words):
        found = zlib.crc32(name + b"=" + words[name], found)
    return b"%08x" % found


def _as_numbers(column: Any) -> FloatArray:
    return np.asarray(column.to_numpy(zero_copy_only=False), dtype=np.float64)


def _numbers(path: Path, table: Any) -> list[FloatArray]:
    if not table.num_columns or not all(
        pa.types.is_floating(field.type) or pa.types.is_integer(field.type) for field in table.schema
    ):
        raise bad_file(path, "holds columns that are no numbers", "export its numbers")
    return [np.asarray(column.to_numpy(), dtype=np.float64) for column in table.columns]


def read_recording_columns(path: Path, raw: bytes) -> Columns:
    """A recording as the columns of a log; what was odd while it was made is among its findings."""
    found = read_recording(path, raw)
    lines = np.arange(1, len(found.time) + 1)
    names = [split_name(name) for name in found.names]
    filled = [found.time, *found.values.T]
    numbers = {i: Numbers(values, np.isinf(values)) for i, values in enumerate(filled)}
    started = found.about.get("started")
    return Columns(
        tuple(name for name, _ in names),
        tuple(unit for _, unit in names),
        tuple("number" for _ in names),
        True,
        None,
        numbers,
        {},
        tuple(_findings(found)),
        lambda: lines,
        started if isinstance(started, str) else None,
    )


def _findings(found: Recorded) -> list[Finding]:
    told = [
        Finding(each.kind, None, min(each.at + 1, len(found.time)), each.count, each.detail)
        for each in found.line_flags
    ]
    if found.ending in (None, RECORDER_FAILED):
        detail = f"the recorder stopped; it holds {len(found.time)} samples"
        told.append(Finding("cut-short", None, len(found.time), 1, detail))
    elif found.ending == LINE_LOST:  # one that comes back is reported with the first samples that follow
        told.append(
            Finding(
                "unplugged", None, len(found.time), 1, "the connection to the rig broke and did not come back"
            )
        )
    return told
