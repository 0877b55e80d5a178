"""Fields of a form as a template draws them: label with the chosen unit, meaning, what is wrong."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import partial
from typing import Any

from strikeproof.desk.planning.plausible import doubt_value
from strikeproof.desk.setting_up.editor import Fault, SetUp
from strikeproof.desk.setting_up.edits import Place, value_at
from strikeproof.desk.setting_up.fields import Field, show_value, tell_fault
from strikeproof.quantity import unit_label
from strikeproof.web.units import CHOICES, Units

__all__ = ["Box", "BoxGroup", "BoxMaker", "boxes_of", "chosen_unit", "place_words"]

Choices = Sequence[tuple[str, str]]

_SWITCHED = {"false": "no", "true": "yes"}
"""The file's words for a switch, as its list says them."""


@dataclass(frozen=True, slots=True)
class Box:
    """One field: what it says, what is in it, `options` of a choice, what is wrong, what is doubtful."""

    label: str
    needed: bool
    text: str
    options: tuple[tuple[str, str], ...]
    meaning: str
    fault: str
    doubt: str
    attributes: Mapping[str, str]


@dataclass(frozen=True, slots=True)
class BoxGroup:
    """Fields that are shown, and more of them folded away under `words`: open where one is used or wrong."""

    first: tuple[Box, ...]
    more: tuple[Box, ...]
    words: str
    open: bool


def chosen_unit(field: Field, units: Units) -> str | None:
    """The unit that a person has chosen for a field, None where there is no choice."""
    return units.of(field.quantity) if field.quantity in CHOICES else None


def place_words(place: Place) -> str:
    """A place as a page names it."""
    return ".".join(map(str, place))


@dataclass(frozen=True, slots=True)
class BoxMaker:
    """Makes the fields of a form, and knows afterwards which there are.

    Attributes
    ----------
    tables
        What is in them.
    fault_at
        The fault of a field, None where there is none.
    doubt_at
        What is hard to believe of what is in a field, "" where nothing is; None asks nothing.
    made
        Each field by its place as the page names it: what may be changed there.
    """

    tables: Mapping[str, Any]
    units: Units
    fault_at: Callable[[Place], Fault | None]
    doubt_at: Callable[[Place], str] | None = None
    made: dict[str, tuple[Place, Field]] = field(default_factory=dict)

    def box(
        self, place: Place, field: Field, choices: Choices = (), *, label: str = "", words: str = ""
    ) -> Box:
        """The field at a place.

        Parameters
        ----------
        choices
            Values and words to choose from, in place of the field's own.
        label
            What it is called, in place of the field's own label.
        words
            Id of a list of words that are offered while a person types.
        """
        field = replace(field, label=label) if label else field
        unit = chosen_unit(field, self.units)
        printed = unit_label(unit) if unit else field.unit
        text = show_value(field, value_at(self.tables, place[:-1]) or {}, unit)
        fault = self.fault_at(place)
        said = [field.meaning] if field.meaning else []
        default = _SWITCHED.get(field.default, field.default)
        said += [f"{default} when left out"] if default else []
        at = place_words(place)
        self.made[at] = (place, field)
        return Box(
            f"{field.label} ({printed})" if printed else field.label,
            field.needed,
            text,
            _options(field, text, choices),
            "; ".join(said),
            "" if fault is None else tell_fault(field, fault),
            "" if fault is not None or self.doubt_at is None else self.doubt_at(place),
            _attributes(field, at, words, wrong=fault is not None),
        )

    def group(
        self,
        place: Place,
        fields: Iterable[Field],
        first: Sequence[str],
        *,
        words: str = "",
        choices: Mapping[str, Choices] | None = None,
    ) -> BoxGroup:
        """The fields of a table: those named in `first`, and the others folded away under `words`."""
        known = {each.key: each for each in fields}
        lists = choices or {}

        def box(key: str) -> Box:
            return self.box((*place, key), known[key], lists.get(key, ()))

        others = [key for key in known if key not in first]
        table = value_at(self.tables, place) or {}
        is_open = any(key in table or self.fault_at((*place, key)) for key in others)
        return BoxGroup(tuple(map(box, first)), tuple(map(box, others)), words, is_open)


def boxes_of(set_up: SetUp, units: Units) -> BoxMaker:
    """Makes the fields of a campaign."""
    return BoxMaker(set_up.tables, units, set_up.fault_at, partial(doubt_value, set_up.tables))


def _attributes(field: Field, at: str, words: str, *, wrong: bool) -> dict[str, str]:
    attributes = {
        "data-at": at,
        "data-key": field.key,
        "aria-describedby": f"says-{at}",
        "aria-invalid": "true" if wrong else "false",
    }
    # Never empty: the style sheet asks by it whether the field is still to be filled in.
    attributes["placeholder"] = f"such as {field.example}" if field.example else " "
    if field.kind in ("number", "whole"):
        attributes["inputmode"] = "decimal"
    if words:
        attributes["list"] = words
    return attributes


def _options(field: Field, text: str, choices: Choices) -> tuple[tuple[str, str], ...]:
    options = list(choices) or [(word, word) for word in field.choices]
    if field.kind == "yes":
        options = [("yes", "yes"), ("no", "no")]
    if not options:
        return ()
    values = [value for value, _words in options]
    if text and text not in values:  # what was typed elsewhere is shown, and named as wrong
        options.insert(0, (text, text))
    if not field.needed or text not in values:
        options.insert(0, ("", "not given"))
    return tuple(options)
