"""Tables of a document: columns as wide as their words need, heads again on every page."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from math import sqrt

from strikeproof.publish.paper.tree import Element

__all__ = ["set_table"]

_NARROW = 13
"""Letters up to which a column is as wide as its longest cell; a wider one shares what is left."""
_LINE = 20
"""Letters up to which a number with its unit stays on one line."""
_SIZES = ((5, 8.0), (7, 7.2), (9, 6.4), (99, 5.8))
"""Most columns, and the size of letters for so many. [pt]"""


def set_table(table: Element, set_all: Callable[[Element], str]) -> str:
    """A table with its caption, in the language of the typesetter."""
    rows = list(table.find("tr"))
    heads = [each for part in table.find("thead") for each in part.find("tr")]
    columns = max((sum(_spans(cell) for cell in _cells(row)) for row in rows), default=0)
    if not columns:
        return ""
    is_written_on = any("write" in cell.classes for cell in table.find("td"))
    size, room = (10.0, 6) if is_written_on else (next(size for most, size in _SIZES if columns <= most), 3)
    caption = next((set_all(each) for each in table.find("caption")), "")
    body = "".join(_set_row(row, set_all) for row in rows if row not in heads)
    head = "".join(_set_cell(cell, set_all) for row in heads for cell in _cells(row))
    widths = ", ".join(_widths(rows, columns))
    top = f"table.header({head}), " if head else ""
    return f"\n#sheet([{caption}], {size}pt, {room}pt, ({widths},), {top}{body})\n"


def _cells(row: Element) -> Iterator[Element]:
    return (each for each in row.elements if each.tag in ("td", "th"))


def _spans(cell: Element) -> int:
    text = cell.attributes.get("colspan", "1")
    return int(text) if text.isdecimal() else 1


def _set_row(row: Element, set_all: Callable[[Element], str]) -> str:
    cells = "".join(_set_cell(cell, set_all) for cell in _cells(row))
    # The head of a group stays with the rows below it.
    return f"table.header(level: 2, {cells}), " if "block" in row.classes else cells


def _set_cell(cell: Element, set_all: Callable[[Element], str]) -> str:
    inside = set_all(cell)
    if "n" in cell.classes and cell.tag == "td" and len(cell.text) <= _LINE:
        inside = inside.replace(" ", "\u00a0")
    if cell.tag == "th":
        inside = f"#strong[{inside}]"
    side = "right" if "n" in cell.classes else "left"
    span = _spans(cell)
    return f"table.cell(align: {side}{f', colspan: {span}' if span > 1 else ''})[{inside}], "


def _widths(rows: list[Element], columns: int) -> Iterator[str]:
    lengths: list[list[int]] = [[] for _ in range(columns)]
    is_for_writing, is_number = [False] * columns, [False] * columns
    for row in rows:
        cells = list(_cells(row))
        if len(cells) != columns:
            continue
        for place, cell in enumerate(cells):
            lengths[place].append(len(cell.text))
            is_for_writing[place] |= "write" in cell.classes
            is_number[place] |= "n" in cell.classes
    wide = [
        max(each, default=0) > _NARROW and not number for each, number in zip(lengths, is_number, strict=True)
    ]
    for place, each in enumerate(lengths):
        if is_for_writing[place]:
            yield "20fr"
        elif wide[place] or not any(wide):
            mean = sum(each) / max(len(each), 1)
            yield f"{max(sqrt(mean * max(each, default=1)), 6.0):.1f}fr"
        else:
            yield "auto"
