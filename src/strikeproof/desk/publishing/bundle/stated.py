"""The tables that a bundle states, parsed; imports little: readers of foreign files load it."""

from __future__ import annotations

import csv
import io
import json
from pathlib import Path
from typing import Any

from strikeproof.errors import BadFile, Problem

__all__ = ["parse_csv", "parse_json"]


def parse_json(path: Path, content: bytes) -> tuple[list[Any], list[Any]]:
    """Names of the columns, and rows.

    Raises
    ------
    BadFile
        If it is no table as a bundle holds one.
    """
    try:
        document = json.loads(content)
        return [each["name"] for each in document["columns"]], list(document["rows"])
    except (ValueError, TypeError, KeyError, RecursionError) as cause:
        raise _unreadable(path) from cause


def parse_csv(path: Path, content: bytes) -> list[list[str]]:
    """All rows, the head first, as texts.

    Raises
    ------
    BadFile
        If it is no CSV file in UTF-8.
    """
    try:
        return list(csv.reader(io.StringIO(content.decode("utf-8"), newline="")))
    except (ValueError, csv.Error) as cause:
        raise _unreadable(path) from cause


def _unreadable(path: Path) -> BadFile:
    what = "cannot be read as a table of results"
    return BadFile([Problem(str(path), None, what, "get the bundle again from where it was published")])
