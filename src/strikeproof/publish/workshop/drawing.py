"""An article on a workshop sheet: half-section to scale, what a welder and a turner need beside it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final

from strikeproof.errors import BadInput
from strikeproof.parts import Article, ArticleProperties, Material, Part, Sheet, Stroke, Words
from strikeproof.parts.layout import Placed, place
from strikeproof.publish.workshop.frame import Box, Cell, draw_box, draw_notes, draw_table, draw_title
from strikeproof.publish.workshop.lists import tell_origin
from strikeproof.publish.workshop.notes import (
    SIGNS,
    millimetres,
    tell_fits,
    tell_holes,
    tell_tolerances,
    tell_welds,
)
from strikeproof.publish.workshop.raw import RawBook
from strikeproof.publish.workshop.view import draw_view, grow
from strikeproof.quantity import write_number

__all__ = ["Title", "at_full_size", "draw_workshop_sheet"]

_PAPERS: Final = (("A4", 297.0, 210.0), ("A3", 420.0, 297.0), ("A2", 594.0, 420.0))
_SCALES: Final = (5.0, 2.0, 1.0, 0.5, 0.2, 0.1)
"""Of ISO 5455 (from memory): the largest that fits, on the smallest paper that takes half size or more."""
_LEAST: Final = 0.5
_MARGIN: Final = 8.0
_NOTES: Final = 92.0
_TITLE: Final = 27.0
_ROW: Final = 5.0
_COLUMNS: Final = (0.0, 8.0, 40.0, 88.0, 126.0, 144.0, 160.0)
_HEADS: Final = ("no.", "part", "cut from", "material", "long mm", "mass g", "joint")


@dataclass(frozen=True, slots=True)
class Title:
    """What the title block says beside the article's own figures."""

    under: str
    brief: str
    price: str
    made_by: str


def draw_workshop_sheet(
    article: Article,
    properties: ArticleProperties,
    title: Title,
    materials: Mapping[str, Material] | None = None,
    raw: RawBook | None = None,
) -> tuple[Sheet, float]:
    """The sheet in millimetres of paper, and the scale of the view on it.

    Parameters
    ----------
    raw
        What each part is cut from; None where only its size is known.

    Raises
    ------
    BadInput
        If the article has no parts.
    """
    if not article.parts:
        raise BadInput(
            "no part to draw",
            where=f"article {article.name!r}",
            allowed="an article with [[article.part]] tables",
            fix="describe it by its dimensions",
        )
    placed = place(article, materials)
    rows = _part_rows(placed, properties, raw)
    for name, width, height in _PAPERS:
        frame = Box(_MARGIN, _MARGIN, width - _MARGIN, height - _MARGIN)
        list_top = frame.bottom + _TITLE + _ROW * len(rows) + 2.0
        room = Box(frame.left, list_top, frame.right - _NOTES - 4.0, frame.top)
        fitting = [(scale, view) for scale in _SCALES if (view := draw_view(placed, scale)).fits(room)]
        if fitting and (fitting[0][0] >= _LEAST or name == _PAPERS[-1][0]):
            break
    scale, view = fitting[0] if fitting else (_SCALES[-1], draw_view(placed, _SCALES[-1]))
    items = (
        *view.centred(room),
        *draw_box(frame),
        *draw_table((frame.left, frame.bottom + _TITLE), _COLUMNS, room.width, rows),
        *draw_title(
            Box(frame.left, frame.bottom, frame.right, frame.bottom + _TITLE),
            article.name,
            title.under,
            _cells(properties, title, scale, name),
        ),
        *draw_notes(
            Box(frame.right - _NOTES, frame.bottom + _TITLE + 3.0, frame.right - 3.0, frame.top - 3.0),
            _notes(article, properties, placed),
        ),
    )
    strokes = tuple(item for item in items if isinstance(item, Stroke))
    words = tuple(item for item in items if isinstance(item, Words))
    return Sheet(f"{article.name}, half-section", (0.0, 0.0), (width, height), strokes, words), scale


def at_full_size(sheet: Sheet, scale: float) -> Sheet:
    """The sheet with the article at its true size, for a program that measures."""
    by = 1.0 / scale
    return Sheet(
        sheet.title,
        (sheet.corner[0] * by, sheet.corner[1] * by),
        (sheet.size[0] * by, sheet.size[1] * by),
        tuple(replace(each, points=grow(each.points, by)) for each in sheet.strokes),
        tuple(
            replace(each, at=(each.at[0] * by, each.at[1] * by), height=each.height * by)
            for each in sheet.words
        ),
    )


def _size(part: Part) -> str:
    size = f"{SIGNS[part.outer.kind]}{millimetres(part.outer.size)}"
    return part.stock or f"{part.shape} {size}"


def _part_rows(
    placed: Sequence[Placed], properties: ArticleProperties, raw: RawBook | None
) -> list[tuple[str, ...]]:
    rows: list[tuple[str, ...]] = [_HEADS]
    for number, (each, facts) in enumerate(zip(placed, properties.parts, strict=True), start=1):
        part = each.part
        what = _size(part) if raw is None else tell_origin(part, raw)
        joint = facts.bond if part.carrier or (number > 1 and part.on_path) else "–"
        mass = write_number(facts.mass * 1e3, 3)
        rows.append((str(number), part.name, what, facts.material, millimetres(part.length), mass, joint))
    return rows


def _cells(properties: ArticleProperties, title: Title, scale: float, paper: str) -> list[list[Cell]]:
    ratio = f"{scale:g} : 1" if scale >= 1 else f"1 : {1 / scale:g}"
    outside = f"⌀{millimetres(properties.outer_diameter or 0)} × {millimetres(properties.length or 0)}"
    return [
        [
            Cell("brief", title.brief, 2.4),
            Cell("scale", f"{ratio} on {paper}", 1.5),
            Cell("millimetres", "half-section", 1.5),
        ],
        [
            Cell("mass", f"{write_number(properties.mass, 3)} kg"),
            Cell("largest outside", outside, 1.3),
            Cell("polar inertia", f"{write_number(properties.polar_inertia * 1e6, 3)} kg·mm²", 1.4),
            Cell("price", title.price, 1.2),
        ],
        [
            Cell("by", title.made_by, 1.4),
            Cell("built by, date", ""),
            Cell("checked, date", ""),
            Cell("proved, date", ""),
        ],
    ]


def _notes(
    article: Article, properties: ArticleProperties, placed: Sequence[Placed]
) -> list[tuple[str, list[str]]]:
    prove = [
        "Prove it behind a guard with nobody near before anyone uses it; look for cracks before every run.",
        "An estimate from dimensions: local codes and a qualified welder come first.",
    ]
    return [
        ("Holes", list(tell_holes(placed))),
        ("Fits", list(tell_fits(placed))),
        ("Welds", list(tell_welds(properties, article.parts))),
        ("Where nothing else is said", list(tell_tolerances(properties, article.parts))),
        ("Before use", prove),
    ]
