"""The units a person has chosen; every value on a page is written and read through them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from typing import Final

from strikeproof.errors import BadInput
from strikeproof.quantity import from_si, parse_quantity, to_si, unit_label, write_number, write_uncertain

__all__ = ["CHOICES", "COOKIE", "Units", "read_field", "units_of"]

COOKIE: Final = "strikeproof_units"

CHOICES: Final[Mapping[str, tuple[str, ...]]] = {
    "force": ("kN", "N", "lbf"),
    "torque": ("N m", "lbf ft"),
    "length": ("mm", "in"),
    "mass": ("kg", "lb"),
}
"""Units to choose from, the usual one first; they are written in a cookie by their place."""


@dataclass(frozen=True, slots=True)
class Units:
    """One unit for each kind that can be chosen."""

    force: str = "kN"
    torque: str = "N m"
    length: str = "mm"
    mass: str = "kg"

    @property
    def mapping(self) -> dict[str, str]:
        """Kind to unit, as the desk's tasks take it."""
        return {kind: getattr(self, kind) for kind in CHOICES}

    def of(self, kind: str, otherwise: str = "") -> str:
        """The unit of a kind; what cannot be chosen keeps the given one."""
        return str(getattr(self, kind)) if kind in CHOICES else otherwise

    def label(self, kind: str, otherwise: str = "") -> str:
        """The unit of a kind as it is printed."""
        return unit_label(self.of(kind, otherwise))

    def from_si(self, value: float, kind: str) -> float:
        """Plain SI in the chosen unit."""
        return from_si(value, self.of(kind), kind)

    def to_si(self, value: float, kind: str) -> float:
        """A number in the chosen unit as plain SI."""
        return to_si(value, self.of(kind), kind)

    def write(self, value: float | None, kind: str, digits: int = 4) -> str:
        """Plain SI as people read it, with its unit; a dash when there is none."""
        if value is None:
            return write_number(None)
        return f"{write_number(self.from_si(value, kind), digits)} {self.label(kind)}"

    def convert(self, value: float, unit: str) -> tuple[float, str]:
        """A value in the unit that it was measured in, in the chosen one of the same kind, with its label.

        What is no unit of a kind that can be chosen, such as plain readings, stays as it is.
        """
        factor, label = self.scale(unit)
        return value * factor, label

    def scale(self, unit: str) -> tuple[float, str]:
        """By what to multiply values in `unit` to have them in the chosen one, and its label."""
        kind = _kind_of(unit)
        if kind is None:
            return 1.0, "arb. unit" if unit == "reading" else unit_label(unit)
        return from_si(to_si(1.0, unit, kind), self.of(kind), kind), self.label(kind)

    def write_in(self, value: float | None, unit: str, uncertainty: float | None = None) -> str:
        """A value in the unit that it was measured in, written in the chosen one."""
        if value is None:
            return write_number(None)
        factor, label = self.scale(unit)
        return write_uncertain(value * factor, None if uncertainty is None else uncertainty * factor, label)

    def read(self, text: str, kind: str) -> float:
        """What a person typed as plain SI: a bare number is in the chosen unit, else the unit is beside it.

        Raises
        ------
        BadInput
            If there is no number, or a unit of another kind.
        """
        return parse_quantity(text, kind, bare=self.of(kind))

    def as_cookie(self) -> str:
        """The choice in letters that a cookie takes."""
        return ".".join(str(options.index(getattr(self, kind))) for kind, options in CHOICES.items())


def read_field(units: Units, typed: Mapping[str, str], key: str, kind: str, label: str) -> float:
    """What a person typed into one field of a form, as plain SI; what is wrong names the field.

    Parameters
    ----------
    typed, key
        The fields that were sent, and the name of the one that is read.
    kind
        Of quantity, as for `Units.read`.
    label
        What the field is called.

    Raises
    ------
    BadInput
        If there is no number, or a unit of another kind; its key is the field's name.
    """
    try:
        return units.read(typed.get(key, ""), kind)
    except BadInput as wrong:
        raise BadInput(wrong.what, where=label, allowed=wrong.allowed, fix=wrong.fix, key=key) from wrong


@cache
def _kind_of(unit: str) -> str | None:
    """The kind that a unit measures, of those that can be chosen."""
    for kind in CHOICES:
        try:
            to_si(1.0, unit, kind)
        except BadInput:
            continue
        return kind
    return None


def units_of(cookies: Mapping[str, str]) -> Units:
    """The choice that a browser has stored; the usual units where it has none or a strange one."""
    places = cookies.get(COOKIE, "").split(".")
    if len(places) != len(CHOICES):
        return Units()
    pairs = zip(CHOICES.items(), places, strict=True)
    return Units(
        **{
            kind: options[int(place)] if place.isdecimal() and int(place) < len(options) else options[0]
            for (kind, options), place in pairs
        }
    )
