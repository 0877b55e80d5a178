"""Whether a table that was computed again says what is stated, cell by cell and digit by digit."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, ClassVar

from strikeproof.plain_text import unguard_cell
from strikeproof.publish.data.tables import Cell, Column, DataTable

__all__ = ["Agreement", "Difference", "Tolerances", "compare_table", "tolerances_of", "typed_rows"]

Tolerances = Mapping[str, tuple[float, float]]
"""Relative and absolute, by column."""
_MOST_DIGITS = 17


@dataclass(frozen=True, slots=True)
class Difference:
    """One cell that differs: whose row, which column, what is stated and what was found.

    `digits` is how many leading digits of two numbers agree; None where one of them is no number.
    """

    row: str
    column: str
    stated: Any
    found: Cell
    digits: int | None


@dataclass(frozen=True, slots=True)
class Agreement:
    """One table set against what is stated.

    Parameters
    ----------
    numbers
        Numbers that were compared.
    largest
        Largest difference of two numbers that agree, as a share of the larger.
    problem
        Why it could not be compared, empty where it could.
    """

    table: str
    rows: int
    numbers: int
    largest: float
    differences: tuple[Difference, ...]
    problem: str = ""
    JSON_ALSO: ClassVar = ("agrees",)

    @property
    def agrees(self) -> bool:
        """Whether everything does."""
        return not self.differences and not self.problem


def tolerances_of(table: DataTable) -> dict[str, tuple[float, float]]:
    """What a bundle states beforehand: how far each number may be off when it is computed again."""
    return {each.name: (each.relative, each.absolute) for each in table.columns if each.kind == "number"}


def compare_table(
    found: DataTable, heads: Sequence[Any], rows: Sequence[Any], stated: Tolerances | None = None
) -> Agreement:
    """Set a table against the heads and typed rows that are stated.

    A stated tolerance counts where it is the stricter one: what is compared does not say how loosely.
    """
    expected = [each.name for each in found.columns]
    if list(heads) != expected:
        return _not_compared(found, "its columns are others")
    if any(not isinstance(row, list | tuple) or len(row) != len(expected) for row in rows):
        return _not_compared(found, "its rows have other lengths than its head")
    theirs = {_key(row, found.keys): row for row in rows}
    ours = {_key(row, found.keys): row for row in found.rows}
    differences, numbers, largest = [], 0, 0.0
    if len(theirs) != len(rows):
        differences.append(Difference("", found.columns[0].name, "a row twice", None, None))
    for key in dict.fromkeys((*theirs, *ours)):
        if key not in ours or key not in theirs:
            there = "a row" if key in theirs else "no row"
            differences.append(Difference(key, "", there, "no row" if key in theirs else "a row", None))
            continue
        for column, said, got in zip(found.columns, theirs[key], ours[key], strict=True):
            numbers += isinstance(got, float | int)
            if _agree(column, said, got, (stated or {}).get(column.name)):
                largest = max(largest, _apart(said, got))
            else:
                differences.append(Difference(key, column.head, said, got, _digits(said, got)))
    return Agreement(found.name, len(found.rows), numbers, largest, tuple(differences))


def _not_compared(found: DataTable, why: str) -> Agreement:
    return Agreement(found.name, len(found.rows), 0, 0.0, (), why)


def _key(row: Sequence[Any], keys: int) -> str:
    return ", ".join("all" if each is None else str(each) for each in row[:keys])


def _is_number(value: Any) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool) and math.isfinite(value)


def _agree(column: Column, stated: Any, found: Cell, allowed: tuple[float, float] | None) -> bool:
    if column.kind != "number" or not (_is_number(stated) and _is_number(found)):
        return type(stated) is type(found) and bool(stated == found)
    relative, absolute = column.relative, column.absolute
    if allowed is not None:
        relative, absolute = min(relative, allowed[0]), min(absolute, allowed[1])
    return math.isclose(float(stated), float(found or 0.0), rel_tol=relative, abs_tol=absolute)


def _apart(stated: Any, found: Cell) -> float:
    if not (_is_number(stated) and _is_number(found)):
        return 0.0
    one, other = float(stated), float(found or 0.0)
    return abs(one - other) / max(abs(one), abs(other), 1e-300)


def _digits(stated: Any, found: Cell) -> int | None:
    """Leading digits that agree: 412.35 and 412.36 have four."""
    if not (_is_number(stated) and _is_number(found)):
        return None
    apart = _apart(stated, found)
    return _MOST_DIGITS if apart == 0.0 else max(min(math.floor(-math.log10(apart)), _MOST_DIGITS), 0)


def typed_rows(table: DataTable, rows: Sequence[Sequence[str]]) -> tuple[list[str], list[list[Any]]]:
    """Heads and rows of a CSV file as `compare_table` takes them; a cell that is no number stays a text."""
    names = {each.head: each.name for each in table.columns}
    heads = [names.get(head, head) for head in (rows[0] if rows else ())]
    kinds = [each.kind for each in table.columns]
    return heads, [
        [_typed(cell, kind) for cell, kind in zip(row, kinds, strict=False)] + list(row[len(kinds) :])
        for row in rows[1:]
    ]


def _typed(cell: str, kind: str) -> Any:
    if not cell:
        return None
    if kind == "string":
        return unguard_cell(cell)
    try:
        return int(cell) if kind == "integer" else float(cell)
    except ValueError:
        return cell
