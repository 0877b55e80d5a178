"""Part list, cut list and weld list of an article: rows for a page, text for a spreadsheet."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final, TypeAlias

from strikeproof.language import comma_in_files
from strikeproof.parts import Article, ArticleProperties, Part
from strikeproof.plain_text import write_csv_text
from strikeproof.publish.workshop.notes import HARD, SIGNS, millimetres
from strikeproof.publish.workshop.raw import RawBook
from strikeproof.quantity import write_number

__all__ = ["SAW_MORE", "Rows", "cut_rows", "part_rows", "tell_origin", "weld_rows", "write_csv"]

Rows: TypeAlias = list[tuple[str, ...]]
"""The heads, then the lines."""

SAW_MORE: Final = 3e-3
"""What a piece is sawn longer by, to face both ends: common practice, no source. [m]"""


def part_rows(article: Article, properties: ArticleProperties, raw: RawBook, currency: str) -> Rows:
    """What the article is made of and what it costs; the last line is the whole."""
    rows: Rows = [("no.", "part", "from", "material", "mass g", f"price {currency}".strip())]
    for number, (part, facts) in enumerate(zip(article.parts, properties.parts, strict=True), start=1):
        mass = write_number(facts.mass * 1e3, 3)
        rows.append(
            (str(number), part.name, tell_origin(part, raw), facts.material, mass, _price(facts.price))
        )
    known = [each.price for each in properties.parts if each.price is not None]
    joints = None if properties.price is None else properties.price - sum(known)
    if joints is not None and joints > 0.005:
        rows.append(("", "joints", "welding, pressing", "", "", _price(joints)))
    whole = write_number(properties.mass * 1e3, 3)
    rows.append(("", "whole", "", "", whole, _price(properties.price)))
    return rows


def _price(price: float | None) -> str:
    return "–" if price is None else f"{price:.2f}"


def tell_origin(part: Part, raw: RawBook) -> str:
    """What a part is cut from, in words."""
    origin = raw[part.name]
    return {
        "bought": f"{origin.what}, as bought",
        "sawn": origin.what,
        "item": origin.what,
        "with": f"in one piece with {origin.what}",
    }[origin.source]


def cut_rows(article: Article, raw: RawBook) -> Rows:
    """What is sawn from stock, how long, and what it is turned to."""
    rows: Rows = [("part", "stock", "material", "saw to mm", "finished mm", "outside mm", "bore mm")]
    for part in article.parts:
        if raw[part.name].source != "sawn":
            continue
        outside = f"{SIGNS[part.outer.kind]}{millimetres(_widest(part, article, raw))}"
        bore = f"⌀{millimetres(part.bore.size)}" if part.bore else "–"
        long = millimetres(part.length)
        sawn = millimetres(part.length + SAW_MORE)
        rows.append((part.name, raw[part.name].what, part.material, sawn, long, outside, bore))
    return rows


def _widest(part: Part, article: Article, raw: RawBook) -> float:
    """Its own outside, or that of what is left on it."""
    on_it = [
        each.outer.size
        for each in article.parts
        if raw[each.name].source == "with" and each.carrier == part.name
    ]
    return max([part.outer.size, part.outer_end, *on_it])


def weld_rows(article: Article, properties: ArticleProperties) -> Rows:
    """Every weld with its bead and heat."""
    by_name = {part.name: part for part in article.parts}
    rows: Rows = [("no.", "part", "to", "throat mm", "circles", "bead mm", "heat")]
    for number, weld in enumerate(properties.welds, start=1):
        runs = f"{by_name[weld.part].bond.runs:g}"
        heat = HARD if weld.preheat else "none needed"
        bead = write_number(weld.length * 1e3, 3)
        rows.append((f"W{number}", weld.part, weld.to, millimetres(weld.throat), runs, bead, heat))
    return rows


def write_csv(rows: Sequence[Sequence[str]]) -> str:
    """Rows as text; a dash for what is not known becomes an empty cell."""
    return write_csv_text(
        (["" if cell == "–" else cell for cell in row] for row in rows), decimal_comma=comma_in_files()
    )
