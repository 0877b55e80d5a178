"""A brief while it is being written: its file, everything wrong with it at its place, and what conflicts.

The file is `brief.toml` beside the campaign's own, an ordinary one that `strikeproof design` reads. Every
change is stored at once, right or wrong, so that nothing typed is lost; what is wrong is shown at its field.
"""

from __future__ import annotations

import copy
import hashlib
import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

from strikeproof.campaign.faults import Fault
from strikeproof.campaign.records import Campaign
from strikeproof.campaign.text import read_text
from strikeproof.campaign.toml_document import CAMPAIGN_HEAD, merge_document, write_document
from strikeproof.campaign.toml_reader import parse_toml
from strikeproof.campaign.whole_file import write_whole
from strikeproof.design.clashes import find_clashes, nearest_brief, tell_changes
from strikeproof.design.limits import LIMITS, LimitKind
from strikeproof.design.reading import read_brief
from strikeproof.design.records import Brief
from strikeproof.desk.articles.article import own_prices
from strikeproof.desk.articles.materials import campaign_materials
from strikeproof.desk.designing.brief import campaign_tables
from strikeproof.desk.designing.brief_form import Shelf, make_shelf
from strikeproof.desk.setting_up.edits import Place, Tables, clean
from strikeproof.desk.workspace.opening import open_campaign
from strikeproof.desk.workspace.recognise import own_place
from strikeproof.errors import BadFile, Problem, StoreError, StrikeproofError

__all__ = [
    "BriefDraft",
    "Clash",
    "LoweredMargin",
    "brief_path",
    "design_folder",
    "first_brief",
    "keep_brief",
    "lowered_margins",
    "open_brief",
    "small_margins",
    "start_brief",
]

_HEAD: Final = """\
# What the next article must meet. Every key is explained in docs/design.md.
# Written in the browser; you may edit it by hand, too.
"""


@dataclass(frozen=True, slots=True)
class Clash:
    """Limits that no article keeps together: the keys they stand at, what it is, and what would be enough."""

    places: tuple[Place, ...]
    problem: str
    fix: str


@dataclass(frozen=True, slots=True)
class LoweredMargin:
    """A margin against failure that a changed brief asks less of: its key of the file, before and after."""

    key: str
    before: float
    after: float


@dataclass(frozen=True, slots=True)
class BriefDraft:
    """A brief as it is.

    Attributes
    ----------
    tables
        As its file has them; None where there is none yet.
    mark
        Separates this state from any other; a change made from an older one is refused.
    faults
        Everything wrong, each at its key; while there are any, conflicts are not looked for.
    clashes
        Limits that cannot be met together.
    nearest, nearest_words
        The tables of the nearest brief that can be met, and what it has otherwise; None where nothing
        conflicts or nothing helps.
    shelf
        What there is to choose from.
    """

    tables: Tables | None
    mark: str
    faults: tuple[Fault, ...]
    clashes: tuple[Clash, ...]
    nearest: Tables | None
    nearest_words: str
    shelf: Shelf

    @property
    def ready(self) -> bool:
        """Whether it can be searched."""
        return self.tables is not None and not self.faults and not self.clashes

    def fault_at(self, place: Place) -> Fault | None:
        """The fault of one field."""
        return next((each for each in self.faults if each.place == place), None)


def lowered_margins(before: Mapping[str, Any], after: Mapping[str, Any]) -> tuple[LoweredMargin, ...]:
    """Which margins the tables of a changed brief ask less of; where they are silent a default counts."""
    found = []
    for kind in LIMITS.values():
        old, new = _asked_margin(kind, before), _asked_margin(kind, after)
        if kind.margin and new is not None:
            old = (kind.default or 0.0) if old is None else old
            found += [LoweredMargin(kind.key, old, new)] if new < old else []
    return tuple(found)


def _asked_margin(kind: LimitKind, tables: Mapping[str, Any]) -> float | None:
    """0 where none is asked, None where there is what no margin can be: that is refused at its field."""
    value = tables.get("brief", {}).get(kind.key)
    if value is None:
        return kind.default or 0.0
    known = isinstance(value, int | float) and kind.range.low <= value <= kind.range.high
    return float(value) if known else None


def small_margins(tables: Mapping[str, Any]) -> tuple[LoweredMargin, ...]:
    """Which margins a brief asks less of than is usual: before what is usual, after what it asks."""
    return lowered_margins({}, tables)


def brief_path(workspace: Path, name: str | None) -> Path:
    """Where the brief of a campaign lies.

    Raises
    ------
    StoreError, NotFound, BadInput
        If there is no such campaign.
    """
    store, _key, campaign = open_campaign(workspace, name)
    return own_place(store, campaign) / "brief.toml"


def design_folder(workspace: Path, name: str | None) -> Path:
    """Where the last design of a campaign is stored, beside its brief."""
    return brief_path(workspace, name).with_name("design")


def open_brief(workspace: Path, name: str | None) -> BriefDraft:
    """The brief of a campaign as it is, with all that is wrong with it.

    Raises
    ------
    StrikeproofError
        If there is no such campaign, or the file is no TOML.
    """
    store, _key, campaign = open_campaign(workspace, name)
    path = own_place(store, campaign) / "brief.toml"
    if not path.is_file():
        return BriefDraft(None, "", (), (), None, "", _shelf(workspace, campaign))
    text = read_text(path)
    return _judge(parse_toml(text, path), _mark(text), workspace, campaign)


def start_brief(workspace: Path, name: str | None) -> BriefDraft:
    """Begin a brief with what the campaign says: hexagon, square, tools and articles that a ring may go on.

    Raises
    ------
    StoreError
        If there is one already, or it cannot be written.
    """
    campaign = open_campaign(workspace, name)[2]
    return keep_brief(workspace, name, first_brief(campaign, campaign_tables(campaign)), mark="")


def keep_brief(workspace: Path, name: str | None, tables: Mapping[str, Any], *, mark: str) -> BriefDraft:
    """Write a brief whole, as it was typed.

    Parameters
    ----------
    mark
        Of the state that the person saw; empty for none. [BriefDraft.mark]

    Raises
    ------
    StoreError
        If it was changed elsewhere meanwhile, or cannot be written.
    """
    path = brief_path(workspace, name)
    before = read_text(path) if path.is_file() else ""
    if mark != (_mark(before) if before else ""):
        raise StoreError("the brief was changed in another window", "look at it again, then change it")
    wanted = clean(tables)
    text = merge_document(before, wanted) if before else write_document(wanted)
    if not before or parse_toml(before, path) != wanted:
        _write(path, _own_head(text))
    return open_brief(workspace, name)


def _own_head(text: str) -> str:
    """What a campaign's file says of itself is not said of a brief."""
    return text.replace(CAMPAIGN_HEAD, _HEAD, 1) if text.startswith(CAMPAIGN_HEAD) else text


def _write(path: Path, text: str) -> None:
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
    except OSError as cause:
        raise StoreError(f"{path.parent}: cannot be made: {cause.strerror}", "check the workspace") from cause
    write_whole(path, text)


def _mark(text: str) -> str:
    return hashlib.sha256(text.encode()).hexdigest()[:16]


def _shelf(workspace: Path, campaign: Campaign) -> Shelf:
    tools = tuple(each.name for each in campaign.tools)
    return make_shelf(
        tools, campaign_tables(campaign), campaign_materials(workspace, campaign.name), campaign.currency
    )


class _Places:
    """Takes the place of the lines of a file: each place asked for gets a number, by which it is found
    again."""

    def __init__(self) -> None:
        self.seen: list[Place] = []

    def __call__(self, place: Sequence[str | int]) -> int:
        self.seen.append(tuple(place))
        return len(self.seen) - 1

    def fault(self, problem: Problem) -> Fault:
        place = () if problem.line is None else self.seen[problem.line]
        return Fault(place, problem.problem, problem.fix)


def _judge(tables: Tables, mark: str, workspace: Path, campaign: Campaign) -> BriefDraft:
    places = _Places()
    shelf = _shelf(workspace, campaign)
    strange = tuple(_strange_tools(tables, shelf))
    try:
        brief = read_brief(
            tables,
            prices=own_prices(workspace),
            materials=campaign_materials(workspace, campaign.name),
            known_articles=campaign_tables(campaign),
            line_of=places,
        )
    except BadFile as wrong:
        faults = (*map(places.fault, wrong.problems), *strange)
        return BriefDraft(tables, mark, faults, (), None, "", shelf)
    except StrikeproofError as wrong:
        return BriefDraft(tables, mark, (Fault((), wrong.problem, wrong.fix), *strange), (), None, "", shelf)
    clashes = tuple(_clashes(tables, brief))
    after = nearest_brief(brief) if clashes else brief
    if after is brief:
        return BriefDraft(tables, mark, strange, clashes, None, "", shelf)
    return BriefDraft(
        tables, mark, strange, clashes, moved(tables, brief, after), tell_changes(brief, after), shelf
    )


def _strange_tools(tables: Tables, shelf: Shelf) -> Iterator[Fault]:
    """A tool that the campaign does not have would end the search only after its long beginning."""
    raw = tables.get("brief", {})
    tools = raw.get("tools", []) if isinstance(raw, Mapping) else []
    for each in tools if isinstance(tools, list) else []:
        if each not in shelf.tools:
            yield Fault(
                ("brief", "tools"), f"no tool {each!r} in this campaign", f"known: {', '.join(shelf.tools)}"
            )


def _clashes(tables: Tables, brief: Brief) -> Iterator[Clash]:
    for need in find_clashes(brief):
        yield Clash(tuple(_place(tables, key) for key in need.limits), need.problem, need.fix)


def _place(tables: Tables, key: str) -> Place:
    """Which table of a brief a limit is in."""
    if key == "stock":
        return ("stock",)
    in_envelope = key in ("pocket", "nearest_wall_mm", "free_length_mm", "clearance_mm")
    return ("envelope" if in_envelope else "brief", key)


def moved(tables: Tables, before: Brief, after: Brief) -> Tables:
    """The tables changed so that they say `after`, which differs from `before` only in what limits rule."""
    wanted: Tables = copy.deepcopy(tables)
    table = wanted.setdefault("brief", {})
    for key, kind in LIMITS.items():
        if kind.asked(before) != kind.asked(after):
            table[key] = kind.written(after)
    if before.processes != after.processes:
        table["processes"] = sorted(after.processes)
    _move_room(wanted, before, after)
    for offer in after.offers[len(before.offers) :]:
        length = None if offer.length is None else _mm(offer.length)
        wanted.setdefault("stock", []).append(
            clean({"item": offer.item, "material": offer.material, "length_mm": length})
        )
    return wanted


def _move_room(wanted: Tables, before: Brief, after: Brief) -> None:
    old, new = before.envelope, after.envelope
    if old == new:
        return
    room = wanted.setdefault("envelope", {})
    if old.wall != new.wall and new.wall is not None:
        room["nearest_wall_mm"] = _mm(new.wall)
    if old.free_length != new.free_length and new.free_length is not None:
        room["free_length_mm"] = _mm(new.free_length)
    for number, (was, now) in enumerate(zip(old.pocket, new.pocket, strict=True)):
        if was != now:
            room["pocket"][number]["diameter_mm"] = _mm(now.diameter)


def _mm(value: float) -> float:
    return round(1e3 * value, 6)


_DRIVES: Final = (6.3, 10.0, 12.5, 20.0, 25.0, 40.0)  # mm, nominal squares (ISO 1174-1, from memory)
_STEEL: Final = "4140 at 45 HRC"
"""Turned soft and hardened, as impact sockets are (common practice, no source): around a half-inch square no
wall of softer steel withstands an ordinary tool with the usual margin."""
_USUAL_HEAD: Final = 24.0  # mm


def first_brief(campaign: Campaign, articles: Mapping[str, Mapping[str, Any]]) -> dict[str, Any]:
    """The tables of a new brief; what a campaign does not say is left to be filled in."""
    brief: dict[str, Any] = {
        "name": f"next article for {campaign.name}",
        "tools": [each.name for each in campaign.tools],
        "objective": "highest score",
        "least_margin": 1.5,
        "start_from": [name for name, table in articles.items() if table.get("part")][:1],
    }
    head = _first(campaign, articles, "hexagon", "bolt_across_flats_mm")
    square = _first(campaign, articles, "square drive", "")
    drive = next((each.drive_mm for each in campaign.tools if each.drive_mm), square)
    if head is not None:
        brief["hexagon_mm"] = head
    if drive is not None:
        brief["drive_mm"] = min(_DRIVES, key=lambda size: abs(size - drive))
    return {"brief": brief, "envelope": {"clearance_mm": 1}, "stock": [_first_bar(head or _USUAL_HEAD)]}


def _first_bar(head: float) -> dict[str, Any]:
    """One piece to begin the list of stock with, from which something sound can be turned.

    The wall over the hexagon decides what an article withstands: three heads of bar leave room for one that
    is thick enough.
    """
    return {"item": f"bar {5 * math.ceil(0.6 * head):d} mm", "material": _STEEL, "length_mm": 300}


def _first(
    campaign: Campaign, articles: Mapping[str, Mapping[str, Any]], kind: str, given: str
) -> float | None:
    """Nominal size of the first hole of a kind, that of the reference before all others. [mm]"""
    ranked = sorted(articles.items(), key=lambda each: each[0] != campaign.reference)
    return next((size for _name, table in ranked for size in _sizes(table, kind, given)), None)


def _sizes(table: Mapping[str, Any], kind: str, given: str) -> Iterator[float]:
    for part in table.get("part", ()):
        for cut in part.get("cut", ()):
            size = cut.get("size_mm")
            if cut.get("kind") == kind and isinstance(size, int | float):
                yield size
    value = table.get(given)
    if isinstance(value, int | float):
        yield value
