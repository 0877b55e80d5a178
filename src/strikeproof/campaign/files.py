"""The workspace's files: traces and originals, each named by the SHA-256 of its bytes.

A file appears under its name only when all of it is on disk. The name is its own check.
"""

from __future__ import annotations

import hashlib
import io
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import numpy as np
import pyarrow as pa
import pyarrow.parquet as pq

from strikeproof.campaign.whole_file import write_whole
from strikeproof.errors import StoreError
from strikeproof.quantity import FloatArray

__all__ = [
    "arrow_column",
    "hash_file",
    "is_whole",
    "keep_bytes",
    "read_original",
    "read_trace",
    "trace_bytes",
]

TIME = "time [s]"


def hash_file(path: Path) -> str:
    """SHA-256 of a file's bytes, hexadecimal."""
    with path.open("rb") as stream:
        return hashlib.file_digest(stream, "sha256").hexdigest()


def is_whole(path: Path, digest: str) -> bool:
    """Whether a file is there and its bytes have this hash."""
    return path.is_file() and hash_file(path) == digest


def keep_bytes(folder: Path, content: bytes, suffix: str) -> str:
    """Put `content` into `folder` under its own hash; return the hash.

    Saved twice, it is one file; a damaged file of that name is replaced.

    Raises
    ------
    StoreError
        If the disk is full or the folder cannot be written.
    """
    digest = hashlib.sha256(content).hexdigest()
    target = folder / f"{digest}{suffix}"
    if not is_whole(target, digest):
        write_whole(target, content)
    return digest


def arrow_column(values: FloatArray) -> Any:
    """Numbers (n,) as an Arrow array on the same memory.

    `pyarrow.array` would load pandas wherever that is installed: a hold-up in the middle of a run.
    """
    kept = np.ascontiguousarray(values)
    return pa.Array.from_buffers(pa.from_numpy_dtype(kept.dtype), len(kept), [None, pa.py_buffer(kept)])


def trace_bytes(time: FloatArray, channels: Mapping[str, FloatArray], *, source: str = "") -> bytes:
    """A trace as Parquet: time in double, channels in single precision (24 bits hold any converter's count).

    Byte-stream split with zstd and no dictionary is smallest and fastest for sampled floats.

    Parameters
    ----------
    source
        Hash of the log it was read from, stored in the file: two logs may hold the same samples, and each
        trace still has the one original that it came from.
    """
    with np.errstate(
        over="ignore"
    ):  # a recorder's overload code may be the largest double: it becomes infinite
        single = {name: arrow_column(values.astype(np.float32)) for name, values in channels.items()}
    columns = {TIME: arrow_column(time)} | single
    sink = io.BytesIO()
    pq.write_table(
        pa.Table.from_pydict(columns).replace_schema_metadata({"original": source} if source else None),
        sink,
        compression="zstd",
        use_dictionary=False,
        use_byte_stream_split=True,
        write_statistics=False,
    )
    return sink.getvalue()


def read_trace(folder: Path, digest: str, channel: str) -> tuple[FloatArray, FloatArray]:
    """Time [s] and one channel of a saved trace, from the very bytes whose hash was verified.

    Raises
    ------
    StoreError
        If the file is missing or damaged, or has no such channel.
    """
    path = folder / f"{digest}.parquet"
    content = _verified(path, digest, "load the campaign again: that makes it again from its log")
    try:
        table = pq.read_table(pa.BufferReader(content), columns=[TIME, channel])
        time = table.column(TIME).to_numpy().astype(np.float64)
        return time, table.column(channel).to_numpy().astype(np.float64)
    except (OSError, KeyError, pa.ArrowException) as cause:
        raise StoreError(
            f"{path}: no channel {channel!r} can be read from it",
            "load the campaign again: that makes it again from its log",
        ) from cause


def read_original(folder: Path, digest: str, name: str) -> bytes:
    """The bytes of a saved original, verified; `name` is what the person's file was called.

    Raises
    ------
    StoreError
        If the file is missing or damaged.
    """
    fix = f"load the campaign again with its {name!r}, or put a copy of it there under this name"
    return _verified(folder / digest, digest, fix)


def _verified(path: Path, digest: str, fix: str) -> bytes:
    try:
        content = path.read_bytes()
    except OSError as cause:
        raise StoreError(f"{path}: missing or damaged: {cause.strerror}", fix) from cause
    if hashlib.sha256(content).hexdigest() != digest:
        raise StoreError(f"{path}: missing or damaged: its bytes do not match its name", fix)
    return content
