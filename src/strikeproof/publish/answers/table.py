"""A table of an answer: rows with a sign, cells of text."""

from __future__ import annotations

from dataclasses import dataclass

from strikeproof.publish.results import Cell
from strikeproof.publish.verdicts import Sign

__all__ = ["AnswerTable"]


@dataclass(frozen=True, slots=True)
class AnswerTable:
    """Heads and rows; the sign of a row is in its cell number `verdict`, numbers come after it."""

    caption: str
    heads: tuple[str, ...]
    rows: tuple[tuple[Sign, tuple[Cell, ...]], ...]
    verdict: int
