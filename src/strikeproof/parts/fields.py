"""One table of a file, read field by field: an unknown key names the nearest, a wrong value all it needs."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from strikeproof.errors import BadInput, StrikeproofError, nearest
from strikeproof.plain_text import TextKind, accept_text
from strikeproof.quantity import KINDS, ending_of, parse_quantity

__all__ = ["Fields", "Range", "named", "number_schema"]


@dataclass(frozen=True, slots=True)
class Range:
    """What a number may be, in the unit of its key, and that unit in SI; what a form says of it."""

    low: float
    high: float
    unit: float = 1.0
    label: str = ""
    meaning: str = ""

    def __str__(self) -> str:
        return f"{self.low:g} to {self.high:g}"


def named(label: str, meaning: str, low: float, high: float) -> Range:
    """A number with its words.

    Parameters
    ----------
    label, meaning
        In a form.
    low, high
        Both ends included, in the unit of its key.
    """
    return Range(low, high, label=label, meaning=meaning)


def number_schema(key: str, limits: Range, kind: str = "number") -> dict[str, Any]:
    """A number as a JSON Schema; a text with its unit may stand for one whose key ends in a unit.

    Parameters
    ----------
    key
        With its unit.
    limits
        In that unit.
    kind
        "number" or "integer".
    """
    words = {"title": limits.label, "description": limits.meaning}
    told = {name: text for name, text in words.items() if text}
    number = {"type": kind, "minimum": limits.low, "maximum": limits.high}
    ending = ending_of(key)
    return told | ({"unit": ending.shown, "anyOf": [number, {"type": "string"}]} if ending else number)


@dataclass(frozen=True, slots=True)
class Fields:
    """A table with the place it is at.

    Parameters
    ----------
    table
        As read from the file.
    where
        "article 'a', part 'b'", for messages.
    ranges
        Every key that takes a number, with its range.
    words
        Every other key.
    """

    table: Mapping[str, Any]
    where: str
    ranges: Mapping[str, Range]
    words: Sequence[str] = ()

    def __post_init__(self) -> None:
        if not isinstance(self.table, Mapping):
            raise BadInput(f"{self.table!r}", where=self.where, allowed="a table of keys and values")
        known = (*self.ranges, *self.words)
        for key in self.table:
            if key not in known:
                hint = nearest(str(key), known)
                fix = f"did you mean {hint!r}?" if hint else "remove it"
                raise BadInput(
                    f"unknown key {key!r}",
                    where=self.where,
                    allowed=", ".join(known),
                    fix=fix,
                    key=str(key),
                )

    def __contains__(self, key: str) -> bool:
        return key in self.table

    def wrong(self, key: str, allowed: str, fix: str = "") -> BadInput:
        """The error for a value that cannot be used.

        Parameters
        ----------
        key
            Of the value, present or not.
        allowed
            What the value may be, in words.
        fix
            What to do, in words.
        """
        return BadInput(
            f"{key} = {self.table.get(key)!r}",
            where=self.where,
            allowed=allowed,
            fix=fix,
            key=key,
            bare=repr(self.table.get(key)),
        )

    def _missing(self, key: str, allowed: str, fix: str) -> BadInput:
        return BadInput(
            f"{key} is missing", where=self.where, allowed=allowed, fix=fix, key=key, bare="is missing"
        )

    def only(self, of: str, keys: Sequence[str]) -> None:
        """That no key is there but those that mean something for `of`.

        Parameters
        ----------
        of
            What the table describes, for the message.
        keys
            Those that mean something there.

        Raises
        ------
        BadInput
            If another one is.
        """
        for key in self.table:
            if key not in keys:
                raise self.wrong(key, f"for a {of} only {', '.join(keys)}", "remove it")

    def maybe(self, key: str) -> float | None:
        """The number under `key` in SI, None when it is not there.

        Raises
        ------
        BadInput
            If it is no number or out of its range.
        """
        if key not in self.table:
            return None
        limits = self.ranges[key]
        ending = ending_of(key)
        factor = ending.factor if ending and limits.unit == 1.0 else limits.unit
        value = self.table[key]
        if isinstance(value, str):
            value = self._with_unit(key, value)
        if isinstance(value, bool) or not isinstance(value, int | float):
            raise self.wrong(key, f"a number, {limits}", "write a plain number in the unit of the key")
        if not limits.low <= value <= limits.high:
            fix = (
                f"the smallest is {limits.low:g}" if value < limits.low else f"the largest is {limits.high:g}"
            )
            raise self.wrong(key, str(limits), fix)
        return float(value) * factor

    def _with_unit(self, key: str, text: str) -> float | str:
        """The number that a text with its unit means, in the unit of the key."""
        ending = ending_of(key)
        if ending is None:
            return text
        try:
            return parse_quantity(text, ending.kind) / ending.factor
        except StrikeproofError as cause:
            example = KINDS[ending.kind].example
            allowed = f"a number, {self.ranges[key]}, or a {ending.kind} such as {example!r}"
            raise self.wrong(key, allowed, cause.fix) from cause

    def number(self, key: str, default: float | None = None) -> float:
        """The number under `key` in SI, or `default`, which is in SI.

        Raises
        ------
        BadInput
            If it is missing without a default, no number, or out of its range.
        """
        value = self.maybe(key)
        if value is not None:
            return value
        if default is None:
            raise self._missing(key, str(self.ranges[key]), f"add {key} = ...")
        return default

    def text(self, key: str, default: str | None = None) -> str:
        """The words under `key`.

        Raises
        ------
        BadInput
            If they are missing without a default, empty, no text, too long, or hold what no text may hold.
        """
        value = self.table.get(key, default)
        if value is None:
            raise self._missing(key, "a text", f'add {key} = "..."')
        if not isinstance(value, str) or not value.strip():
            raise self.wrong(key, "a text", "write it in quotes")
        accept_text(value, TextKind.NAME, f"{self.where}, {key}", key=key)
        return value

    def choice(self, key: str, choices: Sequence[str], default: str | None = None) -> str:
        """The word under `key`, one of `choices`.

        Parameters
        ----------
        key
            Of the word.
        choices
            Every word that is taken.
        default
            Taken where the key is missing; None where it must be there.

        Raises
        ------
        BadInput
            If it is missing without a default, or another word.
        """
        value = self.text(key, default)
        if value not in choices:
            hint = nearest(value, choices)
            fix = f"did you mean {hint!r}?" if hint else "use one of them"
            raise self.wrong(key, ", ".join(choices), fix)
        return value

    def tables(self, key: str) -> Sequence[Any]:
        """The list of tables under `key`, empty when it is not there.

        Raises
        ------
        BadInput
            If it is no list.
        """
        value = self.table.get(key, ())
        if isinstance(value, str) or not isinstance(value, Sequence):
            raise self.wrong(key, "a list of tables", f"write [[{key}]] above each")
        return value
