"""What is beside a workshop drawing in words: holes, fits, welds, tolerances."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from string import ascii_uppercase
from typing import Final

from strikeproof.parts import ArticleProperties, Cut, Part
from strikeproof.parts.layout import Placed
from strikeproof.parts.shapes import Outline
from strikeproof.parts.stock_table import SQUARES
from strikeproof.quantity import write_number

__all__ = [
    "HARD",
    "SIGNS",
    "cut_holes",
    "millimetres",
    "tell_fits",
    "tell_holes",
    "tell_tolerances",
    "tell_welds",
]

SIGNS: Final = {"round": "⌀", "square": "□", "hexagon": "⬡", "twelve-point": "12-point "}
HARD: Final = "preheat to about 300 °C, cool slowly"
_SLIDE: Final = (0.1, 0.3)
"""Play on the diameter of a ring that is slid on and welded: common practice, no source. [mm]"""
_FIT_ERROR: Final = 0.005  # mm, to which a press fit is turned: common practice, no source


def millimetres(metres: float) -> str:
    """A length in millimetres, as many decimals as it has, two at most."""
    value = round(metres * 1e3, 2)
    return f"{value:.2f}".rstrip("0").rstrip(".")


def cut_holes(placed: Sequence[Placed]) -> list[tuple[str, Placed, Cut | None, Outline]]:
    """Every hole with its letter: cuts first as they are listed, then what is hollow from the start."""
    found: list[tuple[Placed, Cut | None, Outline]] = []
    for each in placed:
        found += [(each, cut, cut.outline) for cut in each.part.cuts if cut.kind != "chamfer"]
        if each.part.bore is not None:
            found.append((each, None, each.part.bore))
    return [(letter, *rest) for letter, rest in zip(ascii_uppercase, found, strict=False)]


def tell_holes(placed: Sequence[Placed]) -> Iterator[str]:
    """A line for each hole."""
    for letter, each, cut, outline in cut_holes(placed):
        size = f"{SIGNS[outline.kind]}{millimetres(outline.size)}"
        if cut is None and each.part.bond.kind == "press fit":
            yield f"{letter}: {each.part.name}: bored to its seat, see fits"
        elif cut is None:
            yield f"{letter}: {each.part.name}: {size} through{_bore_limits(each.part)}"
        elif cut.kind == "cross hole":
            yield f"{letter}: {each.part.name}: cross hole {size}, {_walls(cut)}, for the pin"
        else:
            yield f"{letter}: {each.part.name}: {_named(cut)} {size}{_limits(cut)}, {_deep(each.part, cut)}"


def _walls(cut: Cut) -> str:
    return "through both walls" if cut.walls == 2 else "through one wall"


def _named(cut: Cut) -> str:
    return "bore" if cut.kind == "bore" else cut.kind


def _deep(part: Part, cut: Cut) -> str:
    if cut.depth >= part.length * (1 - 1e-9):
        return "through"
    return f"{millimetres(cut.depth)} deep from the {cut.end} end"


def _limits(cut: Cut) -> str:
    """A standard square's own limits; a hexagon's from its play on the head."""
    if cut.kind == "square drive":
        for nominal, (_high, _low, least, most) in SQUARES.items():
            if least - 0.01 <= cut.size * 1e3 <= most + 0.01:
                return f" ({nominal}: {least:g} to {most:g}, ISO 1174-1)"
    if cut.kind in ("hexagon", "twelve-point") and cut.male:
        return f" +0.1/0 (head {millimetres(cut.male)}, play {millimetres(cut.size - cut.male)})"
    return ""


def _bore_limits(part: Part) -> str:
    if part.carrier is None or part.seat != "outside":
        return ""
    low, high = _SLIDE
    return f", {low:g} to {high:g} wider than its seat"


def tell_fits(placed: Sequence[Placed]) -> Iterator[str]:
    """A line for each press fit: what is turned to what."""
    by_name = {each.part.name: each for each in placed}
    for each in placed:
        plan = each.part.bond
        if plan.kind != "press fit" or each.part.carrier is None:
            continue
        carrier = by_name[each.part.carrier]
        seat = carrier.part.outer.size if each.part.seat == "outside" else each.part.outer.size
        hole = (seat - plan.interference) * 1e3
        outer, inner = (each, carrier) if each.part.seat == "outside" else (carrier, each)
        yield (
            f"Seat of {each.part.name}: measure {inner.part.name} (⌀{millimetres(seat)}), then bore "
            f"{outer.part.name} {plan.interference * 1e3:.3g} ±{_FIT_ERROR:g} smaller (⌀{hole:.3f})"
        )


def tell_welds(properties: ArticleProperties, parts: Sequence[Part]) -> Iterator[str]:
    """A line for each weld, in words."""
    by_name = {part.name: part for part in parts}
    for number, weld in enumerate(properties.welds, start=1):
        plan = by_name[weld.part].bond
        whole = "all round" if plan.coverage >= 0.999 else f"{100 * plan.coverage:.0f} % of the way round"
        side = (
            "one circle on each side" if plan.runs == 2 else f"{plan.runs:g} circle{'s' * (plan.runs != 1)}"
        )
        heat = f"; {HARD}" if weld.preheat else ""
        yield (
            f"W{number}: {weld.part} to {weld.to}: fillet a{millimetres(weld.throat)}, {whole}, {side}, "
            f"{write_number(weld.length * 1e3, 3)} of bead{heat}"
        )


def tell_tolerances(properties: ArticleProperties, parts: Sequence[Part]) -> Iterator[str]:
    """What holds where nothing else is said."""
    yield "Lengths and diameters without a tolerance: ISO 2768-m (±0.2 to 30, ±0.3 to 120 mm)"
    if any(part.carrier for part in parts):
        yield "Run-out of every ring to the axis of the square: 0.2 at most, total"
    yield "Square and hexagon on one axis within 0.1; break all edges 0.5 × 45°, no notch in a corner"
    if properties.off_balance > 0 and math.isfinite(properties.off_balance):
        yield f"Off balance as drawn: {properties.off_balance * 1e6:.3g} g·mm"
