"""Fields of a plan as a template draws them: label with the chosen unit, meaning, what is wrong."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from strikeproof.desk.setting_up.editor import SetUp
from strikeproof.desk.setting_up.edits import Place, value_at
from strikeproof.desk.setting_up.fields import Field, show_value, tell_fault
from strikeproof.quantity import unit_label
from strikeproof.web.units import CHOICES, Units

__all__ = ["Box", "BoxGroup", "chosen_unit", "make_box", "make_boxes"]

Choices = Sequence[tuple[str, str]]


@dataclass(frozen=True, slots=True)
class Box:
    """One field: what it says, what is in it, `options` where there is a choice, and the fault or nothing."""

    label: str
    needed: bool
    text: str
    options: tuple[tuple[str, str], ...]
    meaning: str
    fault: str
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


def make_box(set_up: SetUp, units: Units, place: Place, field: Field, choices: Choices = ()) -> Box:
    """The field at a place of a campaign.

    Parameters
    ----------
    choices
        Values and words to choose from, in place of the field's own.
    """
    unit = chosen_unit(field, units)
    printed = unit_label(unit) if unit else field.unit
    text = show_value(field, value_at(set_up.tables, place[:-1]) or {}, unit)
    fault = set_up.fault_at(place)
    said = [field.meaning] if field.meaning else []
    said += [f"{field.default} when left out"] if field.default else []
    at = ".".join(map(str, place))
    attributes = {
        "data-at": at,
        "data-key": field.key,
        "aria-describedby": f"says-{at}",
        "aria-invalid": "false" if fault is None else "true",
    }
    if field.example:
        attributes["placeholder"] = f"such as {field.example}"
    if field.kind in ("number", "whole"):
        attributes["inputmode"] = "decimal"
    return Box(
        f"{field.label} ({printed})" if printed else field.label,
        field.needed,
        text,
        _options(field, text, choices),
        "; ".join(said),
        "" if fault is None else tell_fault(field, fault),
        attributes,
    )


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


def make_boxes(
    set_up: SetUp,
    units: Units,
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
        return make_box(set_up, units, (*place, key), known[key], lists.get(key, ()))

    others = [key for key in known if key not in first]
    table = value_at(set_up.tables, place) or {}
    is_open = any(key in table or set_up.fault_at((*place, key)) for key in others)
    return BoxGroup(tuple(map(box, first)), tuple(map(box, others)), words, is_open)
