"""What things cost: a small table that a person replaces with their own."""

from __future__ import annotations

import csv
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final, Literal, TypeAlias

from strikeproof.errors import BadFile, Problem, nearest

__all__ = ["EXAMPLE_PRICES", "EXAMPLE_PRICES_CSV", "PriceTable", "read_prices"]

Per: TypeAlias = Literal["kg", "m", "piece"]
_UNITS: Final[tuple[Per, ...]] = ("kg", "m", "piece")

EXAMPLE_PRICES_CSV: Final = """\
item,per,price
# Invented example prices in no real currency: put your own here.
bar,kg,4.00
pipe,kg,3.20
tube,kg,2.80
drive square,kg,9.00
nut,kg,6.00
old nut,kg,6.00
long nut,kg,7.50
washer,kg,5.00
4140 annealed,kg,6.50
4140 at 45 HRC,kg,9.00
42CrMo4 +QT,kg,7.00
S355J2,kg,3.50
A36,kg,3.30
lead,kg,3.60
7075-T6,kg,14.00
Ti-6Al-4V,kg,75.00
tungsten heavy alloy 90,kg,160.00
tungsten heavy alloy 95,kg,180.00
cut,piece,1.50
weld,m,30.00
press fit,piece,8.00
"""


@dataclass(frozen=True, slots=True)
class PriceTable:
    """Price by item; an item is one piece of stock, a family of stock, a material, or a kind of work."""

    rows: Mapping[str, tuple[Per, float]]

    def cost(self, names: tuple[str, ...], *, mass: float = 0.0, length: float = 0.0) -> float | None:
        """Cost of one piece under the first of `names` that has a price; None when none has.

        Parameters
        ----------
        names
            From the most particular to the most general.
        mass
            Bought, for what is sold by weight. [kg]
        length
            Bought, for what is sold by length. [m]

        Returns
        -------
        In the currency of the table.
        """
        for name in names:
            if name in self.rows:
                per, price = self.rows[name]
                return price * {"kg": mass, "m": length, "piece": 1.0}[per]
        return None


def _problem(line: int, problem: str, fix: str) -> Problem:
    return Problem("price table", line, problem, fix)


def _read_row(line: int, cells: list[str]) -> tuple[str, Per, float] | Problem:
    if len(cells) != 3:
        return _problem(line, f"{len(cells)} columns", "write item, per, price")
    item, per, price = (cell.strip() for cell in cells)
    unit = next((each for each in _UNITS if each == per), None)
    if unit is None:
        hint = nearest(per, _UNITS) or "piece"
        return _problem(line, f"{per!r} is not a unit of sale", f"use kg, m or piece; did you mean {hint!r}?")
    try:
        value = float(price)
    except ValueError:
        return _problem(line, f"{price!r} is not a price", "write a number with a decimal point")
    if not 0 <= value < 1e9:
        return _problem(line, f"a price of {price}", "write a price of 0 or more")
    return item, unit, value


def read_prices(text: str) -> PriceTable:
    """A price table from CSV text with the columns item, per, price; lines with # are remarks.

    Raises
    ------
    BadFile
        With everything that is wrong with it.
    """
    rows: dict[str, tuple[Per, float]] = {}
    problems: list[Problem] = []
    for line, cells in enumerate(csv.reader(text.splitlines()), start=1):
        if not cells or cells[0].lstrip().startswith("#") or cells[0].strip() == "item":
            continue
        row = _read_row(line, cells)
        if isinstance(row, Problem):
            problems.append(row)
        else:
            rows[row[0]] = row[1:]
    if problems:
        raise BadFile(problems)
    return PriceTable(rows)


EXAMPLE_PRICES: Final = read_prices(EXAMPLE_PRICES_CSV)
