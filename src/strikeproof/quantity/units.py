"""From a number with a unit, as people write it, to plain SI and back.

Torque and energy share a dimension but not a meaning, so every conversion names the kind of
quantity it expects and only units of that kind are taken.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from functools import cache
from typing import Any, Literal, cast, get_args

from strikeproof.errors import BadInput

__all__ = ["KINDS", "Kind", "LoadKind", "from_si", "kind_of_unit", "parse_quantity", "to_si", "unit_label"]

LoadKind = Literal["force", "torque"]


@dataclass(frozen=True, slots=True)
class Kind:
    """A kind of quantity: its SI unit and one example of how a person writes it."""

    name: str
    si: str
    example: str


KINDS = {
    kind.name: kind
    for kind in (
        Kind("angle", "rad", "2 deg"),
        Kind("force", "N", "120 kN"),
        Kind("inertia", "kg*m**2", "6e-5 kg m2"),
        Kind("length", "m", "24 mm"),
        Kind("mass", "kg", "0.36 kg"),
        Kind("pressure", "Pa", "6.2 bar"),
        Kind("frequency", "Hz", "22 Hz"),
        Kind("stiffness", "N/m", "8e8 N/m"),
        Kind("time", "s", "10 s"),
        Kind("torque", "N*m", "400 N m"),
        Kind("voltage", "V", "18 V"),
    )
}

# pint knows joules and newton metres as one; a torque is only what is written as force times length.
_ENERGY_WORDS = re.compile(r"(?<![a-z])(k?J|joules?|W\s*h|cal|eV|BTU|erg)(?![a-z])", re.IGNORECASE)
_SPELLINGS = (
    (re.compile(r"(?<=[A-Za-z])[·⋅*.\-\s]+(?=[A-Za-z])"), "*"),
    (re.compile(r"²"), "**2"),
    (re.compile(r"(?<=[a-z])2\b"), "**2"),
    (re.compile(r"°"), "deg"),
    (re.compile(r"\blbs?f?\b(?=\*(ft|in))|(?<=(ft|in)\*)lbs?f?\b"), "lbf"),
    (re.compile(r"\b(Nm|nm|NM)\b"), "N*m"),
    (re.compile(r"\bkNm\b"), "kN*m"),
    (re.compile(r"\bsec\b"), "s"),
)
_QUANTITY = re.compile(r"\s*([+-]?(?:\d+[.,]?\d*|[.,]\d+)(?:[eE][+-]?\d+)?)\s*(.*?)\s*")


@cache
def _registry() -> Any:
    # pint takes 0.2 s to import and is needed only where a person typed a unit.
    import pint

    return pint.UnitRegistry(cache_folder=None)


# The library takes a third of a second to start, longer than a whole simulated run with all the rest; the
# commonest units need not wake it. A test holds each against the library.
_COMMON = {
    ("s", "time"): 1.0,
    ("ms", "time"): 1e-3,
    ("N", "force"): 1.0,
    ("kN", "force"): 1e3,
    ("N m", "torque"): 1.0,
    ("bar", "pressure"): 1e5,
    ("V", "voltage"): 1.0,
    ("mm", "length"): 1e-3,
}


@cache
def _factor(unit: str, kind: str) -> float:
    """How many SI units of `kind` one `unit` is."""
    return _COMMON[unit, kind] if (unit, kind) in _COMMON else _library_factor(unit, kind)


def _library_factor(unit: str, kind: str) -> float:
    wanted = KINDS[kind]
    refused = BadInput(
        f"{unit!r} is not a unit of {kind}",
        where="unit",
        allowed=f"any unit of {kind}",
        mend=f"write it like {wanted.example!r}",
    )
    if kind == "torque" and _ENERGY_WORDS.search(unit):
        raise refused
    text = unit.strip()
    for pattern, plain in _SPELLINGS:
        text = pattern.sub(plain, text)
    try:
        one = _registry().Quantity(1.0, text)
        factor = float(one.to(wanted.si).magnitude)
    except Exception as cause:  # pint raises a dozen unrelated types for an unreadable unit
        raise refused from cause
    if not math.isfinite(factor) or factor <= 0:
        raise refused
    return factor


def to_si(value: float, unit: str, kind: str) -> float:
    """`value` in `unit`, as plain SI.

    Raises
    ------
    BadInput
        If `unit` is not a unit of `kind`.
    """
    return value * _factor(unit, kind)


def from_si(value: float, unit: str, kind: str) -> float:
    """A plain SI `value`, in `unit`.

    Raises
    ------
    BadInput
        If `unit` is not a unit of `kind`.
    """
    return value / _factor(unit, kind)


def kind_of_unit(unit: str) -> LoadKind | None:
    """Whether a unit measures force or torque; None for any other word."""
    for kind in get_args(LoadKind):
        try:
            to_si(1.0, unit, kind)
        except BadInput:
            continue
        return cast(LoadKind, kind)
    return None


def parse_quantity(text: str, kind: str) -> float:
    """A number with its unit, such as "300 lbf ft" or "10 s", as plain SI.

    Raises
    ------
    BadInput
        If there is no number, no unit, or a unit of another kind.
    """
    match = _QUANTITY.fullmatch(text)
    if match is None or not match[2]:
        raise BadInput(
            f"{text!r} is not a {kind}",
            where="quantity",
            allowed=f"a number and a unit of {kind}",
            mend=f"write it like {KINDS[kind].example!r}",
        )
    return to_si(float(match[1].replace(",", ".")), match[2], kind)


_LABELS = {"N m": "N·m", "N*m": "N·m", "Nm": "N·m", "lbf ft": "lbf·ft", "lbf in": "lbf·in", "deg": "°"}


def unit_label(unit: str) -> str:
    """`unit` as it is printed for people: "N m" becomes "N·m"."""
    return _LABELS.get(unit.strip(), unit.strip())
