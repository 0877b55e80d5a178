"""From a number with a unit, as people write it, to plain SI and back.

The one reader for file, form, command line, sheet and serial line. Torque and energy share a dimension but
not a meaning, so every conversion names the kind of quantity it expects and only units of that kind are
taken.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from functools import lru_cache
from typing import Final, Literal, cast, get_args

from strikeproof.errors import BadInput, nearest
from strikeproof.quantity.numbers import parse_number, parse_size, split_number
from strikeproof.quantity.unit_table import ENDINGS, UNITS, find_factors, plain_unit

__all__ = [
    "KINDS",
    "Ending",
    "Kind",
    "LoadKind",
    "ending_of",
    "from_si",
    "is_arbitrary",
    "is_known_unit",
    "kind_of_unit",
    "parse_in_unit",
    "parse_quantity",
    "same_unit",
    "to_si",
    "unit_label",
    "unit_ratio",
]

LoadKind = Literal["force", "torque"]
_SHOWN_LETTERS: Final = 60


@dataclass(frozen=True, slots=True)
class Kind:
    """A kind of quantity: its SI unit and one example of how a person writes it."""

    name: str
    si: str
    example: str


KINDS = {
    kind.name: kind
    for kind in (
        Kind("acceleration", "m/s2", "9.81 m/s2"),
        Kind("angle", "rad", "2 deg"),
        Kind("density", "kg/m3", "7850 kg/m3"),
        Kind("energy", "J", "120 J"),
        Kind("flow", "m3/s", "500 l/min"),
        Kind("force", "N", "120 kN"),
        Kind("inertia", "kg m2", "6e-5 kg m2"),
        Kind("length", "m", "24 mm"),
        Kind("mass", "kg", "0.36 kg"),
        Kind("pressure", "Pa", "6.2 bar"),
        Kind("frequency", "Hz", "22 Hz"),
        Kind("rotation speed", "rad/s", "60 rad/s"),
        Kind("share", "", "3 %"),
        Kind("stiffness", "N/m", "8e8 N/m"),
        Kind("time", "s", "10 s"),
        Kind("torque", "N m", "400 N m"),
        Kind("torsional stiffness", "N m/rad", "5e4 N m/rad"),
        Kind("voltage", "V", "18 V"),
    )
}
_ARBITRARY: Final = frozenset(
    (
        *("reading", "readings", "raw", "count", "counts", "digit", "digits", "lsb", "adc"),
        *("div", "divs", "division", "divisions", "a·u", "au", "arb", "arb·unit", "%", "permil", "ppm"),
        *("mv/v", "v/v", "ma", "a", "ue", "uε", "ustrain", "microstrain", "strain"),
    )
)
"""Units of readings that a calibration turns into something: nothing is converted."""


@dataclass(frozen=True, slots=True)
class Ending:
    """What a key ends in says: the kind of its number, its unit, how it is printed, one unit in SI."""

    end: str
    kind: str
    unit: str
    shown: str
    factor: float


@lru_cache(maxsize=4096)
def ending_of(key: str) -> Ending | None:
    """The unit in which a key such as `outer_diameter_mm` takes its number; None for a key without one."""
    for end, (kind, unit, shown) in ENDINGS.items():
        if key == end or key.endswith(f"_{end}"):
            per = key.removesuffix(end).endswith("per_")  # a price per kilogram is no mass
            return None if per else Ending(end, kind, unit, shown, _factor(unit, kind))
    return None


@lru_cache(maxsize=4096)
def _factor(unit: str, kind: str) -> float:
    """How many SI units of `kind` one `unit` is."""
    found = find_factors(unit, kind)
    if len(found) == 1:
        return found[0]
    example = KINDS[kind].example
    if found:
        raise BadInput(
            f"{unit!r} can be read in two ways",
            where="unit",
            allowed=f"a unit of {kind} with its capital and small letters, and a dot between its parts",
            fix=f"write it like {example!r}",
        )
    unit = unit[:_SHOWN_LETTERS]
    near = nearest(plain_unit(unit), [str(row[1]) for row in UNITS[kind]])
    raise BadInput(
        f"{unit!r} is not a unit of {kind}",
        where="unit",
        allowed=f"any unit of {kind}",
        fix=f"write it like {example!r}" + (f", or did you mean {near!r}?" if near else ""),
    )


def to_si(value: float, unit: str, kind: str) -> float:
    """`value` in `unit`, as plain SI.

    Parameters
    ----------
    value
        In `unit`.
    unit
        In any spelling of the table.
    kind
        A key of `KINDS`.

    Raises
    ------
    BadInput
        If `unit` is not a unit of `kind`.
    """
    return value * _factor(unit, kind)


def from_si(value: float, unit: str, kind: str) -> float:
    """A plain SI `value`, in `unit`.

    Parameters
    ----------
    value
        In the SI unit of `kind`.
    unit
        In any spelling of the table.
    kind
        A key of `KINDS`.

    Raises
    ------
    BadInput
        If `unit` is not a unit of `kind`.
    """
    return value / _factor(unit, kind)


def kind_of_unit(unit: str) -> LoadKind | None:
    """Whether a unit measures force or torque; None for any other word.

    "lb" and "kg" are force here, as load cells and torque wrenches have them.
    """
    for kind in get_args(LoadKind):
        if len(find_factors(unit, kind)) == 1:
            return cast(LoadKind, kind)
    return None


def is_arbitrary(unit: str) -> bool:
    """Whether a unit is one of readings, such as volts or divisions, that a calibration turns into a load."""
    plain = plain_unit(unit).casefold()
    return plain in _ARBITRARY or any(find_factors(unit, kind) for kind in ("voltage", "pressure", "length"))


@lru_cache(maxsize=4096)
def is_known_unit(unit: str) -> bool:
    """Whether a word is a unit of anything that a log may hold."""
    plain = unit.strip() if unit.strip() in _NONE else plain_unit(unit).casefold()
    return (
        is_arbitrary(unit) or plain in (*_OTHER, *_NONE) or any(find_factors(unit, kind) for kind in _LOGGED)
    )


_LOGGED: Final = (
    *("force", "torque", "time", "voltage", "pressure", "length", "angle", "frequency"),
    *("acceleration", "mass", "rotation speed"),
)
_OTHER: Final = frozenset(("°c", "c", "k", "°f", "degc", "degf", "%rh"))
_NONE: Final = ("-", "–", "1")
"""What is in a line of units above a column without one."""


def same_unit(one: str, other: str) -> bool:
    """Whether two spellings are one unit.

    Force and torque are compared by size, so "ft-lb" and "lbf ft" are one; any other by its letters.
    """
    if plain_unit(one).casefold() == plain_unit(other).casefold():
        return plain_unit(one) == plain_unit(other) or kind_of_unit(one) == kind_of_unit(other)
    kind = kind_of_unit(one)
    return kind is not None and kind == kind_of_unit(other) and _factor(one, kind) == _factor(other, kind)


def parse_quantity(text: str, kind: str, *, bare: str | None = None, decimal: str | None = None) -> float:
    """A number with its unit, such as "300 lbf ft", "10 s" or '1 1/16 in', as plain SI.

    Parameters
    ----------
    text
        What a person wrote.
    kind
        A key of `KINDS`.
    bare
        The unit of a number that has none; None where every number needs one.
    decimal
        "," or "." when the decimal mark is known from elsewhere.

    Raises
    ------
    BadInput
        If there is no number, one beyond all numbers, no unit, or a unit of another kind.
    """
    size = parse_size(text) if kind == "length" else None
    written, unit = ("", size[1]) if size else split_number(text)
    unit = re.sub(r"^-(?=[A-Za-z])", "", unit) or bare or ""
    if written and re.match(r"[\d.,]", unit) and not find_factors(unit, kind):
        raise BadInput(
            f"{text!r} has more than one number in it",
            where="quantity",
            allowed=f"one number and a unit of {kind}",
            fix=f"write it like {KINDS[kind].example!r}, with thousands as in 1234 or 1 234",
        )
    if not unit or not (written or size):
        raise BadInput(
            f"{text!r} is not a {kind}",
            where="quantity",
            allowed=f"a number and a unit of {kind}",
            fix=f"write it like {KINDS[kind].example!r}",
        )
    value = to_si(size[0] if size else parse_number(written, decimal=decimal), unit, kind)
    if math.isinf(value):  # a cell of a log may be so, as the code of an overload; a limit or a setting never
        raise BadInput(
            f"{text!r} is too large",
            where="quantity",
            allowed="a number below 1e308",
            fix=f"write it like {KINDS[kind].example!r}",
        )
    return value


def parse_in_unit(text: str, unit: str | None, *, decimal: str | None = None) -> float:
    """The number of a cell whose column is in `unit`; it may have another unit of the same kind behind it.

    Parameters
    ----------
    text
        The cell.
    unit
        That of the column; None for a column without one.
    decimal
        "," or "." when the decimal mark is known from elsewhere.

    Returns
    -------
    The number in `unit`.

    Raises
    ------
    BadInput
        If it is no number, can be read in two ways, or has a unit of another kind.
    """
    number, written = split_number(text)
    if not number or not written:
        return parse_number(text, decimal=decimal)
    value = parse_number(number, decimal=decimal)
    if unit is None:
        raise BadInput(
            f"{text!r} has a unit, and the column has none",
            where="number",
            allowed="a number",
            fix="write the number alone",
        )
    if not (is_known_unit(written) or same_unit(written, unit)):
        raise BadInput(
            f"{text!r} is not a number",
            where="number",
            allowed="a number, or one with a known unit",
            fix=f"write it like 12.5 or 12.5 {unit}",
        )
    return value * unit_ratio(written, unit)


def unit_ratio(written: str, wanted: str) -> float:
    """By what to multiply numbers in one unit to have them in another; 1 where the other is any reading.

    Raises
    ------
    BadInput
        If they are of different kinds, or one is known and the other is not.
    """
    if same_unit(written, wanted) or plain_unit(wanted).casefold() in _ANY:
        return 1.0
    for kind in ("force", "torque", "voltage", "time", "pressure", "length"):
        one, other = find_factors(written, kind), find_factors(wanted, kind)
        if len(one) == len(other) == 1:
            return one[0] / other[0]
    kind_wanted = kind_of_unit(wanted)
    known = kind_of_unit(written) is not None or is_arbitrary(written)
    raise BadInput(
        f"{written!r} is not {wanted}" if known else f"{written!r} is not known",
        where="unit",
        allowed=f"a unit of {kind_wanted}" if kind_wanted else wanted,
        fix=f"write it in {wanted}",
    )


_ANY: Final = frozenset(("reading", "readings", "raw", "a·u", "au", "arb", "arb·unit"))
_SHOWN: Final = {
    "N m": "N·m",
    "kN m": "kN·m",
    "lbf ft": "lbf·ft",
    "lbf in": "lbf·in",
    "kgf m": "kgf·m",
    "deg": "°",
    "kg m2": "kg·m²",
}


@lru_cache(maxsize=4096)
def unit_label(unit: str) -> str:
    """`unit` as it is printed for people: "N m", "Nm" and "N-m" become "N·m", "ft-lb" becomes "lbf·ft"."""
    for usual, label in _SHOWN.items():
        kind = next(kind for kind in ("torque", "angle", "inertia") if find_factors(usual, kind))
        if find_factors(unit, kind) == find_factors(usual, kind) and kind_of_unit(unit) in (None, kind):
            return label
    return unit.strip()
