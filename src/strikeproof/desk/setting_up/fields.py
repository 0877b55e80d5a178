"""The fields of a campaign as a form shows them: label, unit, what is allowed; and what a person typed, read.

All of it follows from the keys of the file, so a form can ask for nothing that the file does not know.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from typing import Any, Final, Literal, get_args, get_origin

from annotated_types import Ge, Gt, Le, Lt
from pydantic import WithJsonSchema
from pydantic.fields import FieldInfo
from pydantic_core import PydanticUndefined

from strikeproof.campaign.faults import Fault
from strikeproof.campaign.keys import TABLES
from strikeproof.capture.log import BETWEEN
from strikeproof.errors import BadInput, end_sentence
from strikeproof.joint import CLASSES
from strikeproof.quantity import ending_of, from_si, parse_number, parse_quantity, to_si, write_number

__all__ = ["Field", "FieldKind", "fields_of", "read_typed", "show_value", "tell_fault", "unit_of"]

FieldKind = Literal["text", "number", "whole", "choice", "yes"]

_SECONDS: Final = ("duration", "cool_down")
"""What a bare number means seconds in."""
_CHOICES: Final = {"class": tuple(CLASSES)}
_NOT_TYPED: Final = ("part", "measured", "id")
_LISTED: Final = ("class", "mechanism")
"""Of these the meaning only lists the words to choose from."""


@dataclass(frozen=True, slots=True)
class Field:
    """One field of a form.

    Attributes
    ----------
    key, label, meaning
        As in the file, and in a person's words.
    unit, quantity
        Printed unit of the stored value, and its kind where a person may choose another; else "".
    choices
        Words to choose from, where there are no others.
    allowed, example
        In words; "" when anything goes.
    needed, default
        Whether the file must have it, and what holds when it has not.
    """

    key: str
    label: str
    meaning: str
    kind: FieldKind
    unit: str
    quantity: str
    choices: tuple[str, ...]
    allowed: str
    example: str
    needed: bool
    default: str


@cache
def fields_of(table: str) -> tuple[Field, ...]:
    """The fields of one table of campaign.toml, such as "protocol" or "tool".

    Raises
    ------
    KeyError
        If there is no such table.
    """
    named = ((each.alias or name, each) for name, each in TABLES[table].model_fields.items())
    return tuple(_field(key, each) for key, each in named if key not in _NOT_TYPED)


def _field(key: str, field: FieldInfo) -> Field:
    kinds, limits, choices = _facts(field.annotation, [])
    limits += field.metadata
    written = next(
        (each.json_schema or {} for each in reversed(limits) if isinstance(each, WithJsonSchema)), {}
    )
    (example,) = written.get("examples", ("",))
    unit, quantity = unit_of(key)
    chosen = tuple(choices) or _CHOICES.get(key, ())
    default = "" if field.default in (None, PydanticUndefined) else _default(key, field.default)
    return Field(
        key,
        field.title or key,
        "" if key in _LISTED else field.description or "",
        _kind_of(kinds, chosen, is_text=bool(written)),
        unit,
        quantity,
        chosen,
        written.get("description") or _limits_in_words(limits, unit) or ", ".join(chosen),
        example,
        field.is_required(),
        default,
    )


def _facts(annotation: Any, limits: list[Any]) -> tuple[set[type], list[Any], list[str]]:
    """The plain types, the limits and the literal words inside an annotation."""
    if get_origin(annotation) is Literal:
        return {str}, limits, list(get_args(annotation))
    if isinstance(annotation, type):
        return {annotation}, limits, []
    kinds: set[type] = set()
    words: list[str] = []
    for each in get_args(annotation):
        if isinstance(each, FieldInfo):
            limits += each.metadata
        elif isinstance(each, Gt | Ge | Lt | Le | WithJsonSchema):
            limits.append(each)
        else:
            found = _facts(each, limits)
            kinds |= found[0]
            words += found[2]
    return kinds, limits, words


def _kind_of(kinds: set[type], choices: tuple[str, ...], *, is_text: bool) -> FieldKind:
    if choices:
        return "choice"
    if bool in kinds:
        return "yes"
    if is_text or str in kinds:
        return "text"
    return "whole" if int in kinds else "number"


def unit_of(key: str) -> tuple[str, str]:
    """The printed unit of a key, and its kind where a person may choose another."""
    ending = ending_of(key)
    return (ending.shown, ending.kind) if ending else ("", "")


def _default(key: str, value: Any) -> str:
    if key == "duration":
        return f"{value:g} s"
    return f"{value:g}" if isinstance(value, float) else str(value).lower() if value is False else str(value)


def _limits_in_words(limits: list[Any], unit: str) -> str:
    tail = f" {unit}" if unit else ""
    said = [
        text
        for kind, form in ((Gt, "more than {}"), (Ge, "{} or more"), (Lt, "less than {}"), (Le, "at most {}"))
        for each in limits
        if isinstance(each, kind)
        for text in (form.format(f"{getattr(each, kind.__name__.lower()):g}"),)
    ]
    return f"{', '.join(said)}{tail}" if said else ""


def _stored_unit(field: Field) -> str:
    ending = ending_of(field.key)
    return ending.unit if ending else ""


def read_typed(field: Field, text: str, unit: str | None = None) -> Any:
    """The value to be stored for what a person typed, None when the field is empty.

    A number may have a decimal comma, and a unit of the field's kind; without one it is in `unit`, or in the
    field's own. What cannot be read is stored as it was typed: nothing is lost, and the check names it.
    """
    words = " ".join(text.split())
    if not words:
        return None
    if field.kind == "yes":
        return {"true": True, "yes": True, "false": False, "no": False}.get(words.casefold(), words)
    if field.key in _SECONDS and re.fullmatch(r"\d+(?:[.,]\d+)?", words):
        return f"{words} s"
    if field.kind in ("text", "choice"):
        return text.strip()
    try:
        value = parse_number(words)
    except BadInput:
        return _with_unit(field, words)
    if field.quantity and unit is not None:
        value = from_si(to_si(value, unit, field.quantity), _stored_unit(field), field.quantity)
        value = float(f"{value:.9g}")
    return int(value) if value.is_integer() and abs(value) < 2**53 and "." not in words else value


def _with_unit(field: Field, words: str) -> Any:
    if not field.quantity:
        return words
    try:
        value = from_si(parse_quantity(words, field.quantity), _stored_unit(field), field.quantity)
    except BadInput:
        return words
    return float(f"{value:.9g}")


def show_value(field: Field, table: Mapping[str, Any], unit: str | None = None) -> str:
    """What is in the field, a number in `unit` where one is chosen; "" when the file says nothing."""
    value = table.get(field.key)
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, list):  # names that are tried in their order
        return f" {BETWEEN} ".join(map(str, value))
    if not isinstance(value, int | float):
        return str(value)
    if field.quantity and unit is not None:
        return _short(from_si(to_si(value, _stored_unit(field), field.quantity), unit, field.quantity))
    return f"{value:.10g}" if isinstance(value, float) else str(value)


def tell_fault(field: Field, fault: Fault) -> str:
    """What is wrong with a field, as it is beside it: what, what is allowed, and the fix."""
    if fault.lacks:
        return "This is needed."
    what = fault.beside or fault.problem
    allowed = f" Allowed: {field.allowed}." if field.allowed and not fault.says_allowed else ""
    fix = f" {end_sentence(fault.fix)}" if fault.fix else ""
    return f"{end_sentence(what)}{allowed}{fix}"


def _short(value: float) -> str:
    """To six digits, without zeros that say nothing."""
    text = write_number(value, 6).replace("−", "-")
    return text.rstrip("0").rstrip(".") if "." in text and "e" not in text else text
