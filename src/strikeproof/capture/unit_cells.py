"""Logs that write the unit behind every number: the units move into the header, the numbers stay."""

from __future__ import annotations

from pathlib import Path

from strikeproof.campaign.text import bad_file
from strikeproof.capture.cells import cell_kind, split_line
from strikeproof.capture.heading import split_name
from strikeproof.quantity import is_known_unit, split_number
from strikeproof.quantity.unit_table import UNITS, find_factors

__all__ = ["move_units"]

_TAIL_BYTES = 1 << 13
_SEPARATORS = ";\t|,"
_FEWEST = 3  # rows that show it


def move_units(path: Path, raw: bytes) -> bytes:
    """UTF-8 text of a log whose cells are like "77.1 lbf", with the units in its header; any other as it is.

    Raises
    ------
    BadFile
        If a column changes its unit on the way.
    """
    start = max(len(raw) - _TAIL_BYTES, 0)
    tail = [
        line
        for line in raw[start:].decode("utf-8", "replace").split("\n")[1 if start else 0 : -1]
        if line.strip() and not line.startswith("#")
    ][-20:]
    for separator in _SEPARATORS:
        units = _units_of(tail, separator)
        if units:
            return _rewritten(path, raw.decode("utf-8", "replace"), separator, units).encode()
    return raw


def _unit_of(cell: str) -> tuple[str, str] | None:
    """The number and the unit of a cell, None when it is no number with a known unit behind it."""
    number, unit = split_number(cell)
    is_word = any(each.isalpha() or each in "%°" for each in unit)
    found = number and is_word and cell_kind(number) == "number" and is_known_unit(unit)
    return (number, unit) if found else None


def _units_of(lines: list[str], separator: str) -> dict[int, str]:
    """The unit of each column whose every cell in the lines has one."""
    rows = [split_line(line, separator) for line in lines[-2 * _FEWEST :]]
    if len(rows) < _FEWEST or len({len(row) for row in rows}) != 1:
        return {}
    columns = [[_unit_of(cell) for cell in column] for column in zip(*rows, strict=True)]
    if not all(all(cells) or not any(cells) for cells in columns):
        return {}
    return {i: cells[0][1] for i, cells in enumerate(columns) if cells[0] is not None}


def _rewritten(path: Path, text: str, separator: str, units: dict[int, str]) -> str:
    lines = text.split("\n")
    width = 1 + max(units)
    header: int | None = None
    begun = False
    for at, line in enumerate(lines):
        cells = split_line(line, separator)
        if len(cells) < width or line.startswith("#"):
            continue
        found = {i: _unit_of(cells[i]) for i in units}
        if not any(found.values()):
            header = header if begun else at
            continue
        begun = True
        for i, each in found.items():
            if each is not None and each[1] != units[i]:
                what = f"column {i + 1} is in {each[1]} here and in {units[i]} at the end"
                raise bad_file(path, what, "export it with one unit a column", at + 1)
            cells[i] = each[0] if each is not None else cells[i]
        lines[at] = _joined(cells, separator)
    if header is not None:
        names = split_line(lines[header], separator)
        for i, unit in units.items():
            _refuse_other_unit(path, names[i], unit, header + 1)
            names[i] = names[i] if split_name(names[i])[1] else f"{names[i]} [{unit}]"
        lines[header] = _joined(names, separator)
    return "\n".join(lines)


def _refuse_other_unit(path: Path, name: str, unit: str, line: int) -> None:
    """A header that says another unit than the cells below it."""
    own = split_name(name)[1]
    if own is not None and not _are_same(own, unit):
        what = f"{name!r} says {own} and its cells say {unit}"
        raise bad_file(path, what, "export it with one unit a column", line)


def _are_same(unit: str, other: str) -> bool:
    """Whether two spellings are the same unit of anything."""
    return unit == other or any(
        of == find_factors(other, kind) for kind in UNITS if (of := find_factors(unit, kind))
    )


def _joined(cells: list[str], separator: str) -> str:
    return separator.join(f'"{cell}"' if separator in cell else cell for cell in cells)
