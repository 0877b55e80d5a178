"""What else may vary from run to run and is written on the sheet: what drove the tool, its warmth, its user.

They are stored and shown, and offered to the comparison, which never fits them unasked.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Final, Literal

from strikeproof.errors import BadInput
from strikeproof.quantity import parse_quantity

__all__ = ["CONDITIONS", "Condition", "find_condition", "read_condition"]

Kind = Literal["supply", "battery", "temperature", "metres", "millimetres", "word"]


@dataclass(frozen=True, slots=True)
class Condition:
    """One column: its name on the sheet, its label, what its cells are."""

    name: str
    label: str
    kind: Kind
    unit: str = ""

    @property
    def is_number(self) -> bool:
        """Whether its cells can be set against the scores as numbers."""
        return self.kind != "word"


CONDITIONS: Final = (
    Condition("supply", "Supply at the tool", "supply"),
    Condition("battery", "Battery", "battery"),
    Condition("tool_temperature", "Temperature of the tool", "temperature", "°C"),
    Condition("hose_length", "Length of the hose", "metres", "m"),
    Condition("hose_bore", "Bore of the hose", "millimetres", "mm"),
    Condition("operator", "Operator", "word"),
    Condition("specimen", "Specimen of the article", "word"),
    Condition("lubricant", "Lubricant", "word"),
)
_DEGREES: Final = re.compile(r"([+-]?\d+(?:[.,]\d+)?)\s*(?:°\s*)?([CFK])?", re.IGNORECASE)
_OF_KIND: Final = {
    "supply": (("pressure", "bar", 1e5), ("voltage", "V", 1.0)),
    "battery": (("voltage", "V", 1.0), ("share", "%", 0.01)),
    "metres": (("length", "m", 1.0),),
    "millimetres": (("length", "mm", 1e-3),),
}
_EXAMPLES: Final = {
    "supply": "6.2 bar or 18 V",
    "battery": "17.8 V or 80 %",
    "metres": "10 m",
    "millimetres": "10 mm or 3/8 in",
}
_BOUNDS: Final = {
    "bar": (0.0, 1000.0),
    "V": (0.0, 1000.0),
    "%": (0.0, 100.0),
    "°C": (-60.0, 300.0),
    "m": (0.0, 1000.0),
    "mm": (0.0, 100.0),
}
"""Beyond what any tool has at work (estimate, no source); without pressure or voltage none works at all."""


def find_condition(name: str) -> Condition:
    """The condition of a column.

    Raises
    ------
    KeyError
        If it is none.
    """
    return {each.name: each for each in CONDITIONS}[name]


def read_condition(condition: Condition, text: str) -> tuple[float, str] | None:
    """A cell as a number and its unit: bar, V, % or °C; None of one that holds words.

    Raises
    ------
    BadInput
        If a cell that must be a number with a unit is none, or one that no tool has.
    """
    found = _read(condition, text)
    if found is not None:
        _require_possible(condition, text, *found)
    return found


def _require_possible(condition: Condition, text: str, number: float, unit: str) -> None:
    low, high = _BOUNDS[unit]
    needed = unit in ("bar", "V", "m", "mm")
    if not low <= number <= high or (needed and number == low):
        allowed = f"{'above ' if needed else ''}{low:g} to {high:g} {unit}"
        raise BadInput(
            f"{text!r} is not possible", where=condition.name, allowed=allowed, fix="correct it on the sheet"
        )


def _read(condition: Condition, text: str) -> tuple[float, str] | None:
    if condition.kind == "word":
        return None
    if condition.kind == "temperature":
        found = _DEGREES.fullmatch(text.strip())
        if found is None:
            raise _refused(condition, text, "a temperature such as 35 °C or 95 °F")
        number = float(found[1].replace(",", "."))
        unit = (found[2] or "C").upper()
        return (number - 32) / 1.8 if unit == "F" else number - 273.15 if unit == "K" else number, "°C"
    for kind, unit, factor in _OF_KIND[condition.kind]:
        try:
            return parse_quantity(text, kind) / factor, unit
        except BadInput:
            continue
    allowed = " or ".join(f"a {kind} with its unit" for kind, _unit, _factor in _OF_KIND[condition.kind])
    raise _refused(condition, text, allowed)


def _refused(condition: Condition, text: str, allowed: str) -> BadInput:
    example = _EXAMPLES.get(condition.kind, "35 °C")
    return BadInput(
        f"{text!r} is none", where=condition.name, allowed=allowed, fix=f"write it like {example}"
    )
