"""Logs that write a row a channel: turned, so that one reader does for all."""

from __future__ import annotations

from strikeproof.capture.cells import cell_kind, split_line

__all__ = ["turn_rows"]

_MOST_ROWS = 64
_FEWEST_CELLS = 8
_HEAD_BYTES = 1 << 12
_SEPARATORS = ";\t|,"


def turn_rows(raw: bytes) -> bytes:
    """UTF-8 text of a log with a row a channel, led by its name, made a row a sample; any other as it is."""
    first = raw[:_HEAD_BYTES].split(b"\n", 1)[0].decode("utf-8", "replace")
    if not _may_be_sideways(first) or raw.count(b"\n") > _MOST_ROWS:
        return raw
    lines = [line for line in raw.decode("utf-8", "replace").split("\n") if line.strip()]
    for separator in _SEPARATORS:
        rows = [split_line(line, separator) for line in lines]
        if len(rows) > 1 and {len(row) for row in rows} == {len(rows[0])} and all(map(_is_channel, rows)):
            turned = zip(*rows, strict=True)
            return "".join("\t".join(_cell(each) for each in row) + "\n" for row in turned).encode()
    return raw


def _may_be_sideways(line: str) -> bool:
    return any(_is_channel(split_line(line, separator)[:-1]) for separator in _SEPARATORS)


def _is_channel(cells: list[str]) -> bool:
    """A name, then values; a line cut at its end counts too."""
    values = cells[1:]
    if len(values) < _FEWEST_CELLS or cell_kind(cells[0]) != "text":
        return False
    kinds = [cell_kind(cell) for cell in values]
    return "text" not in kinds and len(kinds) > 2 * kinds.count("missing")


def _cell(text: str) -> str:
    return text.replace("\t", " ").replace('"', " ")
