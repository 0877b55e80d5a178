"""The calibration sheet: what was applied by the reference instrument and what the rig read."""

from __future__ import annotations

import math
from dataclasses import dataclass
from pathlib import Path
from typing import Literal, TypeAlias

from strikeproof.campaign.table import Row, Table, read_table_of
from strikeproof.campaign.text import LARGEST_SHEET_BYTES, read_file
from strikeproof.errors import BadFile, Problem

__all__ = ["CalibrationRow", "read_calibration_of", "read_calibration_sheet"]

_DIRECTIONS = {"": None, "up": "up", "down": "down", "rising": "up", "falling": "down"}
_NUMBERS = ("applied", "reading", "applied_uncertainty")


@dataclass(frozen=True, slots=True)
class CalibrationRow:
    """One reading: applied and reading in the sheet's units.

    `applied_uncertainty` is the standard uncertainty with which this one applied value was set, chance only;
    what all applied values share belongs to the reference instrument's own.
    """

    applied: float
    reading: float
    direction: Literal["up", "down"] | None
    repeat: str | None
    line: int
    applied_uncertainty: float | None = None


Units: TypeAlias = tuple[str | None, str | None]
_Read: TypeAlias = tuple[tuple[CalibrationRow, ...], tuple[Problem, ...]]


def read_calibration_sheet(path: Path, units: Units = (None, None)) -> _Read:
    """All rows of the sheet, or none and every problem: half a calibration is a wrong one.

    `units` are those of the applied values and of the readings; a cell may have another of the same kind.
    """
    try:
        content = read_file(path, LARGEST_SHEET_BYTES)
    except BadFile as wrong:
        return (), wrong.problems
    return read_calibration_of(path, content, units)


def read_calibration_of(path: Path, content: bytes, units: Units = (None, None)) -> _Read:
    """The same for a sheet whose bytes are read already."""
    try:
        table = read_table_of(path, content, _NUMBERS)
        table.require(("applied", "reading"), ("direction", "repeat", "applied_uncertainty", "note"))
    except BadFile as wrong:
        return (), wrong.problems
    rows: list[CalibrationRow] = []
    problems: list[Problem] = []
    for row in table.rows:
        try:
            rows.append(_read_row(table, row, units))
        except BadFile as wrong:
            problems += wrong.problems
    return (() if problems else tuple(rows)), (*problems, *table.cleaned.values())


def _read_row(table: Table, row: Row, units: Units) -> CalibrationRow:
    word = row.cells.get("direction", "").lower()
    if word not in _DIRECTIONS:
        raise BadFile(
            [Problem(str(table.path), row.line, f"direction {word!r} is not known", "write 'up' or 'down'")]
        )
    return CalibrationRow(
        applied=_number(table, row, "applied", units[0]),
        reading=_number(table, row, "reading", units[1]),
        direction=_DIRECTIONS[word],  # type: ignore[arg-type]  # the table above holds nothing else
        repeat=row.cells.get("repeat") or None,
        line=row.line,
        applied_uncertainty=_read_uncertainty(table, row, units[0]),
    )


def _read_uncertainty(table: Table, row: Row, unit: str | None) -> float | None:
    if not row.cells.get("applied_uncertainty"):
        return None
    value = table.number(row, "applied_uncertainty", unit)
    if value < 0:
        problem = Problem(
            str(table.path),
            row.line,
            f"applied_uncertainty {value:g} is below zero",
            "write it as zero or more",
        )
        raise BadFile([problem])
    return value


def _number(table: Table, row: Row, column: str, unit: str | None) -> float:
    value = table.number(row, column, unit)
    if not math.isfinite(value):
        what = f"{column}: {row.cells[column]!r} is too large"
        raise BadFile([Problem(str(table.path), row.line, what, "correct its exponent")])
    return value
