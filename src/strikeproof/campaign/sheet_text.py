"""A run sheet as text: what is planned and what was made, in the columns that every reader knows."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from strikeproof.campaign.run_sheet import COLUMNS, FURTHER_COLUMNS
from strikeproof.plain_text import clean_text, write_csv_text

__all__ = ["write_run_sheet_text"]


def write_run_sheet_text(rows: Iterable[Mapping[str, object]], head: str = "") -> str:
    """The rows as CSV; `head` is above them as a comment.

    Columns that a new sheet does not have are written where a row says something in them.
    """
    rows = list(rows)
    further = [name for name in FURTHER_COLUMNS if any(row.get(name) for row in rows)]
    above = "".join(f"# {clean_text(line)}\n" for line in head.splitlines())
    return above + write_csv_text(rows, (*COLUMNS, *further))
