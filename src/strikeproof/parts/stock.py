"""What can be bought: pipe, tube, bar, nuts, washers and drive squares, by the name a person would write."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

from strikeproof.errors import BadInput, NotFound
from strikeproof.parts.shapes import Outline, round_outline
from strikeproof.parts.stock_table import LONG_NUTS, NUTS, OLD_NUTS, PIPES, PITCHES, SQUARES, TUBES, WASHERS

__all__ = ["DriveSquare", "StockItem", "drive_square", "find_stock", "stock_names"]

_MM: Final = 1e-3


@dataclass(frozen=True, slots=True)
class StockItem:
    """One item of stock.

    Parameters
    ----------
    name
        As it is asked for and priced.
    family
        What it is priced as when it has no price of its own.
    shape
        The solid it is.
    outer, bore
        Outside, and hole through it or None. [m]
    length
        None where it is cut to length. [m]
    material
        Usual material.
    source
        Standard its dimensions are from.
    """

    name: str
    family: str
    shape: str
    outer: Outline
    bore: Outline | None
    length: float | None
    material: str
    source: str


@dataclass(frozen=True, slots=True)
class DriveSquare:
    """A drive square in the middle of its limits: across flats of the male and the female. [m]"""

    nominal: str
    male: float
    female: float


def drive_square(size: float) -> DriveSquare:
    """The drive square whose nominal or actual size [m] is `size`: 12.5 or 12.7 mm is the half-inch one.

    Raises
    ------
    BadInput
        If no standard square is within 4 % of it.

    References
    ----------
    ISO 1174-1, limits of external and internal squares (from memory).
    """
    for nominal, (external_max, external_min, internal_min, internal_max) in SQUARES.items():
        if external_min * 0.985 * _MM <= size <= external_max * 1.003 * _MM or _same(
            size, float(nominal) * _MM
        ):
            return DriveSquare(
                nominal, (external_max + external_min) / 2 * _MM, (internal_max + internal_min) / 2 * _MM
            )
    raise BadInput(
        f"{size * 1e3:g} mm is not a standard drive square",
        where="drive square",
        allowed=", ".join(SQUARES) + " mm nominal",
        fix="give a standard size, or the measured width as across_flats_mm",
    )


def _same(one: float, other: float) -> bool:
    return abs(one - other) < 1e-6


def _bored(thread: str) -> Outline:
    """The hole of a nut, at the minor diameter d − 1.0825 P of ISO 724."""
    return round_outline((float(thread[1:]) - 1.082531755 * PITCHES[thread]) * _MM)


def _pipe(size: str, schedule: str) -> StockItem:
    outside, *walls = PIPES[size]
    wall = walls[("40", "80", "160").index(schedule)]
    bore = round_outline((outside - 2 * wall) * _MM)
    name = f"pipe NPS {size} sch {schedule}"
    return StockItem(
        name, "pipe", "tube", round_outline(outside * _MM), bore, None, "A53 grade B", "ASME B36.10M"
    )


def _tube(size: str, weight: str) -> StockItem:
    outside, medium, heavy = TUBES[size]
    wall = medium if weight == "medium" else heavy
    bore = round_outline((outside - 2 * wall) * _MM)
    return StockItem(
        f"tube DN {size} {weight}",
        "tube",
        "tube",
        round_outline(outside * _MM),
        bore,
        None,
        "S195T",
        "EN 10255",
    )


def _bar(diameter: str) -> StockItem:
    if not 1 <= float(diameter) <= 1000:
        raise BadInput(
            f"bar {diameter} mm",
            where="stock",
            allowed="1 to 1000 mm",
            fix="give a diameter that is sold",
            key="stock",
        )
    outer = round_outline(float(diameter) * _MM)
    return StockItem(f"bar {diameter} mm", "bar", "bar", outer, None, None, "S355J2", "EN 10060 round bar")


def _nut(thread: str, table: dict[str, tuple[float, float]], family: str, source: str) -> StockItem:
    flats, height = table[thread]
    outer = Outline("hexagon", flats * _MM)
    name = f"{family} {thread}"
    shape = "hexagonal prism"
    return StockItem(name, family, shape, outer, _bored(thread), height * _MM, "nut steel class 8", source)


def _washer(thread: str) -> StockItem:
    hole, outside, thickness = WASHERS[thread]
    outer, bore = round_outline(outside * _MM), round_outline(hole * _MM)
    return StockItem(f"washer {thread}", "washer", "disc", outer, bore, thickness * _MM, "A36", "ISO 7089")


def _square(size: str) -> StockItem:
    found = drive_square(float(size) * _MM)
    outer = Outline("square", found.male)
    name = f"drive square {found.nominal}"
    return StockItem(name, "drive square", "square prism", outer, None, None, "4140 at 50 HRC", "ISO 1174-1")


_MAKERS: Final[tuple[tuple[re.Pattern[str], Callable[..., StockItem]], ...]] = (
    (re.compile(r"pipe NPS ([\d/ ]+?) sch ?(40|80|160)", re.I), _pipe),
    (re.compile(r"tube DN ?(\d+) (medium|heavy)", re.I), lambda size, weight: _tube(size, weight.lower())),
    (re.compile(r"(?:round )?bar (\d+(?:\.\d+)?)(?: ?mm)?", re.I), _bar),
    (re.compile(r"nut (M\d+)", re.I), lambda m: _nut(m.upper(), NUTS, "nut", "ISO 4032")),
    (re.compile(r"old nut (M\d+)", re.I), lambda m: _nut(m.upper(), OLD_NUTS, "old nut", "DIN 934")),
    (re.compile(r"long nut (M\d+)", re.I), lambda m: _nut(m.upper(), LONG_NUTS, "long nut", "DIN 6334")),
    (re.compile(r"washer (M\d+)", re.I), lambda m: _washer(m.upper())),
    (re.compile(r"drive square (\d+(?:\.\d+)?)(?: ?mm)?", re.I), _square),
)


def stock_names() -> tuple[str, ...]:
    """Every item of stock by name, with one example of each that comes in any size."""
    return (
        *(f"pipe NPS {size} sch {schedule}" for size in PIPES for schedule in (40, 80, 160)),
        *(f"tube DN {size} {weight}" for size in TUBES for weight in ("medium", "heavy")),
        *(f"nut {m}" for m in NUTS),
        *(f"old nut {m}" for m in OLD_NUTS),
        *(f"long nut {m}" for m in LONG_NUTS),
        *(f"washer {m}" for m in WASHERS),
        *(f"drive square {size}" for size in SQUARES),
        "bar 30 mm",
    )


def find_stock(name: str) -> StockItem:
    """The item called `name`, such as "pipe NPS 1 1/4 sch 80", "long nut M24" or "bar 30 mm".

    Raises
    ------
    NotFound
        If there is no such item.
    BadInput
        If a bar or a square of that size is not made.
    """
    text = " ".join(name.split())
    for pattern, make in _MAKERS:
        if match := pattern.fullmatch(text):
            try:
                return make(*match.groups())
            except KeyError:
                break
    raise NotFound("stock", name, stock_names())
