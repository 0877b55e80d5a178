"""A run sheet as text: what is planned and what was made, in the columns that every reader knows."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Mapping

from strikeproof.campaign.run_sheet import COLUMNS

__all__ = ["write_run_sheet_text"]


def write_run_sheet_text(rows: Iterable[Mapping[str, object]], head: str = "") -> str:
    """The rows as CSV; `head` stands above them as a comment."""
    text = io.StringIO()
    text.write("".join(f"# {line}\n" for line in head.splitlines()))
    sheet = csv.DictWriter(text, COLUMNS, restval="", lineterminator="\n", extrasaction="ignore")
    sheet.writeheader()
    sheet.writerows({key: "" if value is None else value for key, value in row.items()} for row in rows)
    return text.getvalue()
