"""What a front shows of results: frozen, and light to import, since they come from another process."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Final

__all__ = [
    "ENDINGS",
    "AgreementView",
    "AnswerPanel",
    "AnswerRows",
    "BundleView",
    "ChartSection",
    "ComparisonView",
    "Drawing",
    "ExplanationView",
    "FilmView",
    "Mark",
    "PaperView",
    "ReplicationPlanView",
    "ReplicationView",
    "ShelfView",
    "ToolResults",
]

ENDINGS: Final[Mapping[str, str]] = {
    "svg": "image/svg+xml",
    "png": "image/png",
    "csv": "text/csv; charset=utf-8",
}
"""How a chart can be saved, with the media type."""


@dataclass(frozen=True, slots=True)
class Mark:
    """How a verdict looks without colour: its word, and a shape in a square from -5 to 5."""

    word: str
    role: str
    path: str
    hollow: bool


@dataclass(frozen=True, slots=True)
class Drawing:
    """A chart as bare `<svg>` elements in style variables, wide and narrow, with its words."""

    name: str
    title: str
    says: str
    wide: str
    narrow: str


@dataclass(frozen=True, slots=True)
class ChartSection:
    """Charts that belong together: their heading, and what is said above them."""

    heading: str
    says: str
    drawings: tuple[Drawing, ...]


@dataclass(frozen=True, slots=True)
class ToolResults:
    """What was found with one tool: sentences with their marks, and the table of results as the page has it.

    The second cell of a row is its verdict; a cell holds what it says, then what it says smaller below that.
    """

    tool: str
    said: tuple[tuple[Mark, str], ...]
    heads: tuple[str, ...]
    rows: tuple[tuple[Mark, tuple[tuple[str, ...], ...]], ...]


@dataclass(frozen=True, slots=True)
class AnswerRows:
    """A table of an answer; the sign of a row is in its cell number `verdict`, numbers come after it."""

    caption: str
    heads: tuple[str, ...]
    rows: tuple[tuple[Mark, tuple[tuple[str, ...], ...]], ...]
    verdict: int


@dataclass(frozen=True, slots=True)
class AnswerPanel:
    """A question that was answered: sentences with their marks, tables, what they mean."""

    key: str
    heading: str
    said: tuple[tuple[Mark, str], ...]
    tables: tuple[AnswerRows, ...]
    notes: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class ComparisonView:
    """A comparison to show. `alarms` come before any result."""

    alarms: tuple[str, ...]
    rig: tuple[str, ...]
    summary: tuple[str, ...]
    uncalibrated: str | None
    quantity: str
    unit: str
    reference: str
    margin_percent: float
    tools: tuple[ToolResults, ...]
    set_aside: tuple[Mapping[str, Any], ...]
    warnings: tuple[str, ...]
    charts: Mapping[str, ChartSection]
    answers: tuple[AnswerPanel, ...]
    articles: tuple[str, ...]
    simulated: bool


@dataclass(frozen=True, slots=True)
class ExplanationView:
    """An explanation to show: the rows of the page's section on why, and its drawings."""

    section: Mapping[str, Any]
    tables: tuple[tuple[tuple[str, ...], ...], ...]
    drawings: tuple[Drawing, ...]
    quick: bool


@dataclass(frozen=True, slots=True)
class BundleView:
    """A bundle that was made, or, where `file` is empty, what may be personal and nobody chose about yet.

    `size` is in megabytes.
    """

    file: str
    size: float
    files: int
    sha256: str
    personal: tuple[str, ...]
    notes: tuple[str, ...]
    command: str


@dataclass(frozen=True, slots=True)
class FilmView:
    """A film that was made: names of film and captions, size in megabytes, length [s], what to know of it."""

    file: str
    captions: str
    size: float
    length_s: float
    notes: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class AgreementView:
    """What computing a bundle again gave, in lines."""

    agrees: bool
    lines: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class PaperView:
    """A document that was made as PDF: which, name of the file, size in kilobytes."""

    what: str
    file: str
    size: float


@dataclass(frozen=True, slots=True)
class ShelfView:
    """A site over bundles, packed with them; size in megabytes, and why bundles are left out."""

    bundles: int
    files: int
    size: float
    problems: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class ReplicationPlanView:
    """A campaign that repeats a bundle: its name, runs, where gains are to be expected, what to know."""

    campaign: str
    runs: int
    expected: tuple[str, ...]
    notes: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class ReplicationView:
    """Two benches side by side: a table, and what it says."""

    heads: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    said: tuple[str, ...]
