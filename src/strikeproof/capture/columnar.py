"""Parquet files as columns."""

from __future__ import annotations

from collections import Counter
from pathlib import Path
from typing import Any

import numpy as np
import pyarrow as pa
import pyarrow.parquet as pq

from strikeproof.campaign.text import bad_file
from strikeproof.capture.body import read_number_columns
from strikeproof.capture.cells import CellKind, cell_kind
from strikeproof.capture.columns import Columns, Numbers, find_numbers, refuse_claim
from strikeproof.capture.heading import split_name

__all__ = ["is_parquet", "read_parquet"]

_TIMES: tuple[tuple[Any, CellKind], ...] = (
    (pa.types.is_timestamp, "stamp"),
    (pa.types.is_time, "clock"),
    (pa.types.is_date, "date"),
)


def is_parquet(raw: bytes) -> bool:
    """Whether the bytes begin like a Parquet file, whatever it is called."""
    return raw.startswith(b"PAR1")


def read_parquet(path: Path, raw: bytes) -> Columns:
    """The columns of a Parquet file; a `unit` in a field's metadata wins over one in its name.

    Raises
    ------
    BadFile
        If the file is damaged or claims more cells than can be held.
    """
    try:
        file = pq.ParquetFile(pa.BufferReader(raw))
        refuse_claim(path, file.metadata.num_rows * file.metadata.num_columns, len(raw))
        table = file.read()
        return _read_table(table)
    except MemoryError:  # Arrow's own is also one of its exceptions
        raise
    except (pa.ArrowException, OSError, UnicodeDecodeError) as cause:
        problem = f"is a damaged Parquet file ({str(cause)[:120]})"
        raise bad_file(path, problem, "copy or export it again") from cause


def _read_table(table: Any) -> Columns:
    kinds: list[CellKind] = []
    units: list[str | None] = []
    numbers: dict[int, Numbers] = {}
    texts: dict[int, Any] = {}
    written: dict[int, Any] = {}
    names = [split_name(name) for name in table.column_names]
    for i, (_, unit) in enumerate(names):
        column = table.column(i).combine_chunks()
        if pa.types.is_dictionary(column.type):
            column = column.cast(column.type.value_type)
        kind, own_unit, values = _read_column(column)
        given = (table.schema.field(i).metadata or {}).get(b"unit", b"").decode("utf-8", "replace")
        kinds.append(kind)
        units.append(given or own_unit or unit)
        if isinstance(values, Numbers):
            numbers[i] = values
        elif kind == "number":
            written[i] = values
        elif values is not None:
            texts[i] = values
    numbers |= read_number_columns(written)
    numbers = dict(sorted(numbers.items()))
    lines = np.arange(1, table.num_rows + 1)
    plain = tuple(name for name, _ in names)
    return Columns(plain, tuple(units), tuple(kinds), True, None, numbers, texts, (), lambda: lines)


def _read_column(column: Any) -> tuple[CellKind, str | None, Any]:
    """Kind, unit where the type gives one, and the numbers or texts of one column."""
    kind = column.type
    if pa.types.is_duration(kind):
        return "number", kind.unit, _as_numbers(column.cast(pa.int64()))
    if pa.types.is_floating(kind) or pa.types.is_integer(kind) or pa.types.is_decimal(kind):
        return "number", None, _as_numbers(column)
    for is_kind, word in _TIMES:
        if is_kind(kind):
            return word, None, column.cast(pa.string())
    if pa.types.is_string(kind) or pa.types.is_large_string(kind):
        return _read_strings(column.cast(pa.string()))
    return "text", None, None


def _as_numbers(column: Any) -> Numbers:
    values = column.cast(pa.float64(), safe=False).to_numpy(zero_copy_only=False)
    return find_numbers(np.array(values, dtype=np.float64))


def _read_strings(column: Any) -> tuple[CellKind, str | None, Any]:
    counted = Counter(cell_kind((cell or "").strip()) for cell in column[:60].to_pylist())
    counted.pop("missing", None)
    kind: CellKind = counted.most_common(1)[0][0] if counted else "text"
    if kind in ("number", "overflow"):
        return "number", None, column
    return kind, None, None if kind == "text" else column
