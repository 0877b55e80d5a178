"""What a front shows of a design and of a fit: frozen, and light to import."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Final

from strikeproof.desk.designing.brief_draft import LoweredMargin
from strikeproof.desk.publishing.views import Drawing
from strikeproof.errors import StrikeproofError

__all__ = ["FILES", "DesignView", "FitView", "Refusal"]

FILES: Final[Mapping[str, tuple[str, str]]] = {
    "article.toml": ("Article file", "application/toml"),
    "drawing.svg": ("Drawing, SVG", "image/svg+xml"),
    "drawing.pdf": ("Drawing, PDF", "application/pdf"),
    "drawing.dxf": ("Drawing, DXF", "image/vnd.dxf"),
    "parts.csv": ("Parts", "text/csv; charset=utf-8"),
    "cuts.csv": ("Cuts", "text/csv; charset=utf-8"),
    "welds.csv": ("Welds", "text/csv; charset=utf-8"),
}
"""The files of a proposal that can be saved, each with what it is and its media type."""


@dataclass(frozen=True, slots=True)
class DesignView:
    """A design that was stored: what its JSON holds, and its chart.

    Attributes
    ----------
    told
        As the command line prints it; each proposal also has `number`, `folder`, `gain_words`, `why`,
        `near`, `half_section`, `says` and `stops`.
    drawing
        Gain against price; None where fewer than two have a price.
    stale
        Whether the brief was changed since.
    outdated
        Whether a version of the program found it that worked margins out otherwise.
    """

    told: Mapping[str, Any]
    drawing: Drawing | None
    stale: bool
    outdated: bool

    @property
    def proposals(self) -> list[Mapping[str, Any]]:
        """The best first."""
        found: list[Mapping[str, Any]] = self.told["proposals"]
        return found


@dataclass(frozen=True, slots=True)
class Refusal:
    """A search that found nothing which keeps its brief.

    Attributes
    ----------
    why
        What no article keeps, and every way out.
    nearest
        The tables of the nearest brief that can be met; None where moving limits is no way out.
    mark
        Of the brief that was searched.
    lowered
        Margins against failure that `nearest` asks less of.
    """

    why: StrikeproofError
    nearest: dict[str, Any] | None
    mark: str
    lowered: tuple[LoweredMargin, ...] = ()


@dataclass(frozen=True, slots=True)
class FitView:
    """An article in the room of a brief; lengths in metres.

    Attributes
    ----------
    facts
        As `fit-check --json` prints them.
    section, says
        The article drawn in its place, as markup and in words.
    """

    facts: Mapping[str, Any]
    section: str
    says: str
