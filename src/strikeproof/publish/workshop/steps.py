"""How an article is built, step by step, as its parts and joints ask for it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

from markupsafe import Markup

from strikeproof.parts import (
    Article,
    ArticleProperties,
    Cut,
    Part,
    Sheet,
    is_weldable,
    tell_holding,
    tell_hollows,
    tell_relief,
    temper_of,
    write_svg,
)
from strikeproof.publish.colours import theme_css
from strikeproof.publish.documents import find_template, read_piece
from strikeproof.publish.texts import join_words, sentence
from strikeproof.publish.workshop.lists import SAW_MORE, Rows
from strikeproof.publish.workshop.notes import SIGNS, millimetres
from strikeproof.publish.workshop.raw import RawBook

__all__ = ["WorkshopJob", "tell_steps", "write_workshop_page"]

_SWELL: Final = 12e-6
"""Linear expansion of steel per kelvin (common practice, no source)."""
_SLACK: Final = 0.05e-3
"""Play on the diameter that lets a warm ring drop over its seat by hand. [m]"""
_ROOM: Final = 20.0  # °C
_BALANCED: Final = 0.05e-6
"""Off balance that nobody could find: below what a figure would show. [kg·m]"""
_LATHE: Final = (
    "At the lathe: glasses on, gloves, rings and loose sleeves off, the key out of the chuck, the "
    "guard shut, "
    "chips off with a hook. What is chucked off centre runs slowly."
)  # common practice, no source
_ARC: Final = (
    "Before the arc: screens around it, helmet, gloves and covered skin, fumes drawn off; nothing that burns "
    "within 11 m, or a fire watch until half an hour after the last spark."
)
"""29 CFR 1910.252(a)(2), 35 ft and half an hour: from memory."""
_PROOF: Final = (
    "Prove it with nobody holding the tool: fix the tool in a frame that takes its reaction torque, "
    "put a guard "
    "that stops flying pieces around tool and test bolt, secure the hose against whipping, and work "
    "the trigger "
    "from outside the guard. Raise the supply in steps: 50, 75 and 100 % of the rating, 1 s, 3 s and 10 s at "
    "each. After each step shut off and vent the air or take the battery out; then look for cracks "
    "and measure "
    "square and hexagon. If either grew by 0.1 mm, scrap it."
)
_TURNED: Final = ("sawn", "item")


def tell_steps(article: Article, properties: ArticleProperties, raw: RawBook) -> tuple[str, ...]:
    """One sentence or a few for each step, in the order of the work."""
    parts = article.parts
    return (
        *_gather(parts, raw),
        *_saw(parts, raw),
        *([_LATHE] if any(raw[part.name].source in _TURNED for part in parts) else []),
        *(step for part in parts if raw[part.name].source in _TURNED for step in _turn(part, parts, raw)),
        "Break every edge 0.5 mm, leave no notch or tool mark in a corner, clean all seats to bright metal.",
        *_press(parts),
        *tell_hollows(article),
        *_weld(properties, parts),
        *_finish(article, properties),
    )


def _gather(parts: Sequence[Part], raw: RawBook) -> Iterator[str]:
    bought = [part for part in parts if raw[part.name].source == "bought"]
    items = [raw[part.name].what for part in parts if raw[part.name].source == "item"]
    if bought:
        names = join_words(list(dict.fromkeys(raw[part.name].what for part in bought)))
        yield (
            f"Take {names}. It must be marked for impact use; look for cracks, and measure square and "
            "hexagon "
            "before anything is done to it."
        )
    if items:
        yield f"Look out {join_words(items)}; turn or file any zinc off where it is welded or pressed."


def _saw(parts: Sequence[Part], raw: RawBook) -> Iterator[str]:
    sawn = [part for part in parts if raw[part.name].source == "sawn"]
    pieces = [
        f"{millimetres(part.length + SAW_MORE)} mm of {raw[part.name].what} ({part.material}) for the "
        f"{part.name}"
        for part in sawn
    ]
    if pieces:
        yield (
            f"Saw {join_words(pieces)}: each {millimetres(SAW_MORE)} mm longer than finished. Keep the "
            "mark of the "
            "steel on what is left."
        )


def _turn(part: Part, parts: Sequence[Part], raw: RawBook) -> Iterator[str]:
    on_it = [each for each in parts if raw[each.name].source == "with" and each.carrier == part.name]
    bore = next((cut for cut in part.cuts if cut.kind == "bore"), None)
    hole = f", drill {SIGNS['round']}{millimetres(bore.size)} through" if bore else ""
    if part.carrier is not None and raw[part.name].source == "item":
        yield f"Make the {part.name} of the {raw[part.name].what}: {_bored(part, parts)}."
        return
    if part.carrier is not None:
        size = f"{millimetres(part.length)} mm{_outside(part)}"
        yield f"Turn the {part.name}: face it to {size}, {_bored(part, parts)}."
        return
    yield (
        f"Turn the {part.name}: face it to {millimetres(part.length)} mm{_outside(part)}{hole}, all in "
        "one chucking."
    )
    for each in on_it:
        yield (
            f"Leave the {each.name} on it: {SIGNS['round']}{millimetres(each.outer.size)}, "
            f"{millimetres(each.length)} mm wide, {millimetres(each.at)} mm from the drive end, with a "
            "radius of 1.5 mm in both corners."
        )
    broached = [cut for cut in part.cuts if cut.kind in ("square drive", "hexagon", "twelve-point")]
    if broached:
        yield (
            f"Broach {join_words([_broach(cut) for cut in broached])}, true to the outside within 0.1 "
            f"mm{_hard(part)}."
        )


def _outside(part: Part) -> str:
    if part.stock is not None:
        return ""
    return f", outside {SIGNS[part.outer.kind]}{millimetres(part.outer.size)}"


def _bored(part: Part, parts: Sequence[Part]) -> str:
    carrier = next(each for each in parts if each.name == part.carrier)
    if part.bond.kind == "press fit":
        under = part.bond.interference * 1e3
        return f"bore it {under:.3g} mm smaller than the {carrier.name} measures, within 0.005 mm"
    return f"bore it 0.1 to 0.3 mm wider than the {carrier.name} measures"


def _broach(cut: Cut) -> str:
    return (
        f"the {cut.kind} {millimetres(cut.size)} mm, {millimetres(cut.depth)} mm deep from the {cut.end} end"
    )


def _hard(part: Part) -> str:
    if temper_of(part.material) is not None:
        return (
            "; in this hardness it is spark-eroded or ground, so broach before hardening, or buy a "
            "finished socket"
        )
    return "; without a broach have them slotted or wire-cut"


def _press(parts: Sequence[Part]) -> Iterator[str]:
    for part in parts:
        if part.bond.kind == "press fit" and part.carrier is not None:
            seat = (
                part.outer.size
                if part.seat == "inside"
                else (part.bore.size if part.bore else part.outer.size)
            )
            rise = (part.bond.interference + _SLACK) / (_SWELL * seat)
            warm = 10.0 * round((_ROOM + rise) / 10.0 + 0.5)
            which = part.name if part.seat == "outside" else part.carrier
            yield (
                f"Warm the {which} to about {warm:.0f} °C all through, with gloves and no open flame near "
                "oil, slide "
                f"{part.name} and {part.carrier} together against a stop at {millimetres(part.at)} mm, "
                "and hold them "
                "until they grip. A fit that went on cold by hand is no fit: turn a new ring."
            )


def _weld(properties: ArticleProperties, parts: Sequence[Part]) -> Iterator[str]:
    if not properties.welds:
        return
    materials = [part.material for part in parts]
    preheat = any(weld.preheat for weld in properties.welds)
    if preheat and not is_weldable(materials):
        yield tell_relief(materials)
        preheat = False
    yield _ARC
    names = join_words([f"{weld.part} ({millimetres(weld.throat)} mm throat)" for weld in properties.welds])
    yield (
        f"Set the {names} in place by the drawing and shim the gap even all round; run-out under 0.2 mm. "
        "Grind off zinc, rust and oil 20 mm to either side of every seam: face shield on, the guard on the "
        "wheel, nobody in line with the sparks."
    )
    if preheat:
        yield (
            "Heat the whole piece slowly to about 300 °C (temperature crayon or contact thermometer) and "
            "keep it "
            "there until the last run is in: hardened alloy steel cracks beside a cold weld."
        )
    yield (
        "Tack at four places crosswise, then weld short runs at opposite quarters, one side and the other "
        "in turn, "
        "with dry low-hydrogen electrodes or solid wire, so that the ring stays square. Fill every crater."
    )
    if preheat:
        yield (
            "Cool it slowly under a dry blanket or in dry sand, not under 10 minutes to hand-warm. "
            f"{tell_relief(materials)}"
        )
        yield (
            "Check the hardness of weld, of the zone beside it and of the wall away from it with a "
            "tester, or with a "
            "test file: a zone that a file skates over is brittle, and the piece is scrap."
        )


def _finish(article: Article, properties: ArticleProperties) -> Iterator[str]:
    yield (
        "Look for cracks with dye penetrant at every weld, in the corners of square and hexagon, and "
        "beside seats. Its liquids burn and their vapour harms: fresh air, gloves, no flame; clean "
        "and dry the "
        "piece before it is heated or run."
    )
    if properties.off_balance > _BALANCED:
        yield (
            f"Balance it: as drawn it is {properties.off_balance * 1e6:.3g} g·mm off. On a round "
            "mandrel between "
            "two level edges it must come to rest anywhere. Take metal off the heavy side of the ring, never "
            "off the wall."
        )
    yield (
        "Weigh it and compare with the list; mark it with its name, the date, and the highest supply it "
        "was proved at."
    )
    yield f"{_PROOF} {tell_holding(article)}"
    yield (
        "Add its file to campaign.toml under the other articles and run it among them, each block in "
        "random order."
    )


@dataclass(frozen=True, slots=True)
class WorkshopJob:
    """All that is on the page.

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
