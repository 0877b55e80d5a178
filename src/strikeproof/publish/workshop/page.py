"""The workshop sheet of one proposal: a page that is read at the bench and printed for the welder."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from markupsafe import Markup

from strikeproof.parts import Sheet, write_svg
from strikeproof.publish.colours import theme_css
from strikeproof.publish.documents import find_template, read_piece
from strikeproof.publish.texts import sentence
from strikeproof.publish.workshop.lists import Rows

__all__ = ["WorkshopJob", "write_workshop_page"]


@dataclass(frozen=True, slots=True)
class WorkshopJob:
    """All that stands on the page.

    Parameters
    ----------
    name, words
        Of the article.
    made_for
        The brief, and the campaign whose runs stand behind the figures.
    simulated
        Whether those runs were.
    facts
        Label and value.
    stops
        Why it must not be run; empty when it holds.
    gains
        Heads and a row a tool.
    why
        Sentences on what makes the gain.
    margins
        Heads and a row a place.
    parts, cuts, welds
        Lists with their heads.
    price_note
        How sure the price is.
    steps, cautions
        In order.
    closest
        The article already built that is nearest; None where there is none.
    made_by
        Program and seed.
    """

    name: str
    words: str
    made_for: str
    simulated: bool
    facts: Sequence[tuple[str, str]]
    stops: Sequence[str]
    gains: Rows
    why: Sequence[str]
    margins: Rows
    parts: Rows
    cuts: Rows
    welds: Rows
    price_note: str
    steps: Sequence[str]
    cautions: Sequence[str]
    closest: str | None
    made_by: str


def write_workshop_page(job: WorkshopJob, drawing: Sheet) -> str:
    """One HTML document that needs nothing else; what came from outside is escaped."""
    return find_template("workshop.html").render(
        job=job,
        drawing=Markup(_inline(write_svg(drawing))),
        sentence=sentence,
        style=Markup(theme_css() + read_piece("page.css") + read_piece("workshop.css")),
    )


def _inline(svg: str) -> str:
    """The drawing in the page's own colours, as wide as its place."""
    body = svg.strip().replace("#ffffff", "var(--paper)").replace("#1b1b1b", "var(--ink)")
    opening, _, rest = body.partition(">")
    box = opening[opening.index("viewBox") :]
    return f'<svg xmlns="http://www.w3.org/2000/svg" {box}>{rest}'
