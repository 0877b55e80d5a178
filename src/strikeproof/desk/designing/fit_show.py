"""An article drawn in its place: in the room that a campaign's brief leaves, with all that it touches."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any, Final

from strikeproof.campaign.toml_reader import read_toml
from strikeproof.design.envelope import Body, find_touches, swept_bodies
from strikeproof.design.reading import read_envelope
from strikeproof.desk.articles.article import describe_article
from strikeproof.desk.designing.brief import campaign_tables
from strikeproof.desk.designing.brief_draft import design_folder, open_brief
from strikeproof.desk.designing.fit_check import judge_fit
from strikeproof.desk.designing.pocket_drawing import Outline, draw_room, read_room
from strikeproof.desk.designing.views import FitView
from strikeproof.desk.workspace.opening import open_campaign
from strikeproof.errors import NotFound, StoreError
from strikeproof.parts.layout import place
from strikeproof.quantity import from_si, unit_label, write_number

__all__ = ["fit_names", "fit_to_show"]

_STEPS: Final = 16  # points along a ring of round stock


def fit_names(workspace: Path, name: str | None) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """The articles of a campaign that have dimensions, and the proposals of its design."""
    return tuple(_built(workspace, name)), tuple(_proposed(workspace, name))


def _built(workspace: Path, name: str | None) -> dict[str, Mapping[str, Any]]:
    tables = campaign_tables(open_campaign(workspace, name)[2])
    return {each: table for each, table in tables.items() if table.get("part")}


def _proposed(workspace: Path, name: str | None) -> dict[str, Mapping[str, Any]]:
    """Whole article files, since a proposal may be of a material that only its brief knows."""
    found: dict[str, Mapping[str, Any]] = {}
    for path in sorted(design_folder(workspace, name).glob("*/article.toml")):
        file = read_toml(path)[0]
        found[str(file["article"][0]["name"])] = file
    return found


def fit_to_show(workspace: Path, name: str | None, article: str, units: Mapping[str, str]) -> FitView:
    """Whether an article of the campaign or of its design fits the brief's room, drawn in it.

    Raises
    ------
    NotFound, StoreError, BadFile
        If there is no such article, no brief, or the brief's room cannot be used.
    """
    tables = open_brief(workspace, name).tables
    if tables is None:
        raise StoreError("there is no brief yet, so no room to fit into", "write one first")
    known = {**_proposed(workspace, name), **_built(workspace, name)}
    if article not in known:
        raise NotFound("article with dimensions", article, known)
    table = known[article]
    described = describe_article(table if "article" in table else {"article": table}, workspace=workspace)
    room = {**tables, "envelope": tables.get("envelope", {})}
    envelope = read_envelope(room, file="brief.toml")
    facts = judge_fit(described.article, envelope, described.materials)
    touched = {each.part for each in find_touches(described.article, envelope, described.materials)}
    bodies = swept_bodies(place(described.article, described.materials))
    section, says = draw_room(read_room(room), _writer(units), tuple(_outlines(bodies, touched)))
    return FitView(facts.as_json(), section, f"{says}; {article} stands in it")


def _writer(units: Mapping[str, str]) -> Callable[[float], str]:
    unit = units.get("length", "mm")
    return lambda value: (
        f"{write_number(from_si(value, unit, 'length'), 4).rstrip('0').rstrip('.')} {unit_label(unit)}"
    )


def _outlines(bodies: Sequence[Body], touched: set[str]) -> Iterator[Outline]:
    for body in bodies:
        yield Outline(body.part, tuple(_points(body)), body.part in touched)


def _points(body: Body) -> Iterator[tuple[float, float]]:
    count = _STEPS if body.stock > 0 else 1
    for step in range(count + 1):
        height = body.low + step / count * (body.high - body.low)
        yield body.reach(height, height), height
