"""Whether an article fits where the bolt is, where it touches, and what would fix it."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

from strikeproof.campaign.toml_reader import read_toml
from strikeproof.design.envelope import Body, Touch, find_touches, swept_bodies
from strikeproof.design.fixes import Fix, find_fixes
from strikeproof.design.reading import read_envelope
from strikeproof.design.records import Envelope
from strikeproof.desk.articles.article import describe_article
from strikeproof.desk.designing.brief import campaign_tables, load_envelope
from strikeproof.desk.designing.brief_draft import design_folder, open_brief
from strikeproof.desk.designing.pocket_drawing import Outline, draw_room, read_room
from strikeproof.desk.designing.views import FitView
from strikeproof.desk.workspace.opening import open_campaign
from strikeproof.errors import NotFound, StoreError
from strikeproof.parts import Article
from strikeproof.parts.layout import place
from strikeproof.parts.materials import MaterialBook
from strikeproof.plain_json import to_json
from strikeproof.quantity import from_si, unit_label, write_number

__all__ = ["FitFacts", "check_fit", "fit_names", "fit_to_show", "judge_fit"]

_SEAT = (
    "The bolt end is taken to sit on the seat of the bolt's head: one that rides on the head or on a washer "
    "sits higher and needs that much more free length."
)
_TOOL = "The tool is not checked: see that its nose and the hand that holds it have room above {top:.4g} mm."
_INSIDE = (
    "The drive end is {under:.4g} mm below the mouth of the pocket: the tool's nose must go in that far."
)
_TURN = (
    "Turn it round once by hand with the tool cut off from its supply before the first blow; keep hands out "
    "of the gap, wear eye, ear and hand protection, and prove a new article behind a guard."
)
_DEFER = "Local codes, the makers' instructions and licensed practice come first."


@dataclass(frozen=True, slots=True)
class FitFacts:
    """An article in an envelope, in SI; `as_json` and `lines` put units to it.

    Parameters
    ----------
    name
        Of the article.
    length, swept
        From the seat to its drive end; the widest circle it sweeps. [m]
    touches, fixes
        Where it goes beyond the envelope, worst first, and what would be enough.
    cautions
        What is not checked, and what to do before use.
    """

    name: str
    length: float
    swept: float
    touches: tuple[Touch, ...]
    fixes: tuple[Fix, ...]
    cautions: tuple[str, ...]

    @property
    def fits(self) -> bool:
        """Whether it touches nothing."""
        return not self.touches

    @property
    def exit_code(self) -> int:
        """0 when it fits, 1 when it touches."""
        return 0 if self.fits else 1

    def as_json(self) -> dict[str, Any]:
        """The facts with their units in the keys; heights are above the seat."""
        return {
            "article": self.name,
            "fits": self.fits,
            "length_m": self.length,
            "swept_diameter_m": self.swept,
            "touches": [
                to_json(each) | {"step_to_depth_m": each.depth or None, "words": tell_touch(each)}
                for each in self.touches
            ],
            "fixes": self.fixes,
            "cautions": self.cautions,
        }

    def lines(self) -> list[tuple[str, ...]]:
        """What to print, row by row."""
        head = "fits" if self.fits else "touches"
        size = f"{self.length * 1e3:.4g} mm long, sweeps {self.swept * 1e3:.4g} mm"
        rows: list[tuple[str, ...]] = [(self.name, head, size)]
        rows += [(touch.part, touch.limit, tell_touch(touch)) for touch in self.touches]
        return rows + [("", "fix", fix.words) for fix in self.fixes]


def tell_touch(touch: Touch) -> str:
    """One touch in words."""
    over = f"{touch.excess * 1e3:.3g} mm"
    where = f"from {touch.low * 1e3:.4g} to {touch.high * 1e3:.4g} mm above the seat"
    most = f"{touch.allowed * 1e3:.4g} mm would do"
    if touch.limit == "pocket":
        step = f"the step to {touch.depth * 1e3:.4g} mm of depth"
        return f"too wide by {over} on the radius {where}: {step}; {most}"
    if touch.limit == "wall":
        return f"too wide by {over} on the radius {where}: the nearest wall; {most}"
    if touch.limit == "seat":
        return f"reaches {over} below the seat"
    return f"too long by {over}; {most}"


def check_fit(article: Path, envelope: Path, *, name: str | None = None) -> FitFacts:
    """An article of one file in the envelope of another.

    Parameters
    ----------
    name
        Which article, where the file has several.

    Raises
    ------
    BadFile, BadInput, NotFound
        If a file, a value in it, or a name cannot be used, or the article has no dimensions.
    """
    facts = describe_article(article, name=name)
    return judge_fit(facts.article, load_envelope(envelope), facts.materials)


def judge_fit(article: Article, limits: Envelope, materials: MaterialBook | None) -> FitFacts:
    """An article in an envelope.

    Raises
    ------
    BadInput
        If the article has no dimensions.
    """
    touches = find_touches(article, limits, materials)
    bodies = swept_bodies(place(article, materials))
    length = max(body.high for body in bodies)
    swept = 2 * max(body.reach(body.low, body.high) for body in bodies)
    fixes = find_fixes(article, limits, materials)
    return FitFacts(article.name, length, swept, touches, fixes, _cautions(limits, length))


def _cautions(envelope: Envelope, length: float) -> tuple[str, ...]:
    under = envelope.depth - length
    inside = (_INSIDE.format(under=under * 1e3),) if under > 0 else ()
    return (_SEAT, _TOOL.format(top=length * 1e3), *inside, _TURN, _DEFER)


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
    return FitView(to_json(facts), section, f"{says}; {article} is drawn in it")


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
