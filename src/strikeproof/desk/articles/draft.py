"""An article while it is being drawn: its figures, its half-section, and what is wrong, field by field.

Fast enough to follow a person's typing. What is wrong with one part leaves the others to be judged.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

from strikeproof.campaign.faults import Fault
from strikeproof.desk.articles.article import describe_article, own_materials
from strikeproof.desk.articles.facts import ArticleFacts
from strikeproof.errors import BadInput, StrikeproofError, at_place
from strikeproof.parts import Part, Sheet, read_article, write_svg
from strikeproof.parts.fields import Fields, Range
from strikeproof.parts.materials import MaterialBook
from strikeproof.parts.reading_cut import CUT_RANGES, Mates
from strikeproof.parts.reading_part import BOND_RANGES, PART_RANGES, read_part

__all__ = ["ArticleDraft", "draft_article", "page_markup"]

_LETTERS: Final = 1.35  # a drawing on a page is shown smaller than on paper
_PIXELS_PER_MM: Final = 3.3  # its letters are 11 px then; in less room it is scrolled instead


@dataclass(frozen=True, slots=True)
class ArticleDraft:
    """An article as far as it is drawn.

    Attributes
    ----------
    facts
        None while something is wrong, or where too little is known.
    drawing
        Its half-section as markup for a page, in the page's own colours; None where there is nothing to draw.
    says
        The drawing in words.
    faults
        What is wrong, each at its place within the article.
    """

    facts: ArticleFacts | None
    drawing: str | None
    says: str
    faults: tuple[Fault, ...]


def draft_article(
    table: Mapping[str, Any], peak_torque: float | None = None, *, folder: Path | None = None
) -> ArticleDraft:
    """What an article's table says so far.

    Parameters
    ----------
    table
        Keys as in a campaign's file.
    peak_torque
        Taken for every joint; margins are given for it. [N·m]
    folder
        Of the campaign, whose materials and prices are the person's own.
    """
    try:
        materials = own_materials({}, folder)
    except StrikeproofError as wrong:
        return ArticleDraft(None, None, "", (Fault((), wrong.problem, wrong.fix),))
    faults = tuple(_find_faults(table, materials))
    if faults or not _is_known(table):
        return ArticleDraft(None, None, "", faults)
    try:
        facts = describe_article({"article": table}, peak_torque, workspace=folder)
        sheet = facts.drawing(part_list=False, letters=_LETTERS) if table.get("part") else None
    except StrikeproofError as wrong:
        return ArticleDraft(None, None, "", (_fault(wrong),))
    return ArticleDraft(facts, None if sheet is None else page_markup(sheet), _says(facts), ())


def _is_known(table: Mapping[str, Any]) -> bool:
    return any(table.get(key) for key in ("part", "measured", "polar_inertia_kg_m2"))


def _find_faults(table: Mapping[str, Any], materials: MaterialBook) -> Iterator[Fault]:
    """Of the article's own keys, then of each part, then of how the parts go together."""
    own = {key: value for key, value in table.items() if key != "part"}
    try:
        read_article(own, materials=materials)
        mates = Mates(*(_metres(table, key) for key in ("drive_across_flats_mm", "bolt_across_flats_mm")))
    except StrikeproofError as wrong:
        yield _fault(wrong)
        mates = Mates()
    found = list(_faults_of_parts(table, mates))
    yield from found
    if found or not isinstance(table.get("part"), list):
        return
    try:
        read_article({"name": own.get("name", "article"), "part": table["part"]}, materials=materials)
    except StrikeproofError as wrong:
        yield _fault(wrong)


def _metres(table: Mapping[str, Any], key: str) -> float | None:
    value = table.get(key)
    return float(value) / 1e3 if isinstance(value, int | float) else None


def _faults_of_parts(table: Mapping[str, Any], mates: Mates) -> Iterator[Fault]:
    parts = table.get("part", [])
    good: list[Part] = []
    bad: set[str] = set()
    where = f"article {table.get('name', 'article')!r}"
    for number, part in enumerate(parts if isinstance(parts, list) else []):
        name = str(part.get("name", f"part {number + 1}")) if isinstance(part, Mapping) else ""
        if isinstance(part, Mapping) and bad & {str(part.get("carrier")), str(part.get("second_carrier"))}:
            bad.add(name)  # it can be judged when its carrier is fixed
            continue
        if name in {each.name for each in good} | bad:
            yield Fault(("part", number, "name"), f"two parts are named {name!r}", "give each its own name")
        reader = _Reader(where, number, good, mates)
        faults = list(reader.faults(part))
        yield from faults
        if faults:
            bad.add(name)
        else:
            good.append(reader.read(part))


@dataclass(frozen=True, slots=True)
class _Reader:
    """Reads one part as the file's reader does, and finds every number that cannot be used."""

    where: str
    number: int
    above: list[Part]
    mates: Mates

    def read(self, part: Any) -> Part:
        with at_place("part", self.number):
            return read_part(part, self.where, self.number + 1, self.above, self.mates)

    def faults(self, part: Any) -> Iterator[Fault]:
        numbers = list(self._wrong_numbers(part)) if isinstance(part, Mapping) else []
        yield from numbers
        if numbers:
            return
        try:
            self.read(part)
        except StrikeproofError as wrong:
            yield _fault(wrong)

    def _wrong_numbers(self, part: Mapping[str, Any]) -> Iterator[Fault]:
        """Every number that is none or out of its range, of the part, its bond and its cuts."""
        cuts = part.get("cut", ())
        inside: list[tuple[tuple[str | int, ...], Any, Mapping[str, Range]]] = [
            ((), part, PART_RANGES),
            (("bond",), part.get("bond"), BOND_RANGES),
            *((("cut", i), cut, CUT_RANGES) for i, cut in enumerate(cuts if isinstance(cuts, list) else ())),
        ]
        for place, table, ranges in inside:
            numbers = (
                {key: table[key] for key in ranges if key in table} if isinstance(table, Mapping) else {}
            )
            fields = Fields(numbers, self.where, ranges)
            for key in numbers:
                try:
                    with at_place("part", self.number, *place):
                        fields.maybe(key)
                except StrikeproofError as wrong:
                    yield _fault(wrong)


def _fault(wrong: StrikeproofError) -> Fault:
    if isinstance(wrong, BadInput):
        allowed = f"(allowed: {wrong.allowed})"
        beside = f"{wrong.bare} {allowed}"
        return Fault(wrong.place, f"{wrong.what} {allowed}", wrong.fix, beside=beside, says_allowed=True)
    return Fault(wrong.place, wrong.problem, wrong.fix)


def page_markup(sheet: Sheet) -> str:
    """The drawing for a page: its colours follow the page's, it takes the width it gets and can be read."""
    svg = write_svg(sheet)
    body = svg[svg.index("<svg") :]
    least = sheet.size[0] * _PIXELS_PER_MM
    head = re.sub(r' (?:width|height)="[\d.]+mm"', "", body[: body.index(">")])
    body = f'{head} style="width:100%;min-width:{least:.0f}px;height:auto"{body[body.index(">") :]}'
    return body.replace("#ffffff", "var(--paper)").replace("#1b1b1b", "var(--ink)")


def _says(facts: ArticleFacts) -> str:
    parts = ", ".join(part.name for part in facts.properties.parts) or "no parts drawn"
    length, outer = facts.properties.length, facts.properties.outer_diameter
    size = f", {1e3 * length:.3g} mm long, {1e3 * outer:.3g} mm across" if length and outer else ""
    return f"Half-section of {facts.properties.name}: {parts}{size}"
