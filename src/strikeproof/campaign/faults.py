"""Everything wrong with the tables of a campaign.toml, each fault at its key."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, get_args

from pydantic import BaseModel, ValidationError

from strikeproof.campaign.agreement import Mistake, find_mistakes, find_rule_mistakes
from strikeproof.campaign.keys import CampaignFile
from strikeproof.errors import nearest
from strikeproof.parts.materials import MaterialBook

__all__ = ["Fault", "check_tables", "keys_at", "write_place"]


_MOST = 100  # problems that are named one by one; nobody reads more, and each costs a search


@dataclass(frozen=True, slots=True)
class Fault:
    """One thing wrong.

    Attributes
    ----------
    place
        Of its key.
    problem
        What it is, in one clause.
    fix
        What to do about it.
    lacks
        Whether nothing is there and something must.
    beside
        What it is, as said beside the field of the key; the problem where it is empty.
    says_allowed
        Whether that says what is allowed.
    """

    place: tuple[str | int, ...]
    problem: str
    fix: str
    lacks: bool = False
    beside: str = ""
    says_allowed: bool = False


def check_tables(
    tables: Mapping[str, Any], materials: MaterialBook
) -> tuple[CampaignFile | None, tuple[Fault, ...]]:
    """The file as its keys say, None where one of them is wrong, and all that is wrong.

    `materials` are the person's own, that the articles may be made of.
    """
    mistakes = list(find_mistakes(dict(tables), materials))
    try:
        file = CampaignFile.model_validate(tables)
    except ValidationError as wrong:
        errors = wrong.errors()
        some = [_fault(each) for each in errors[:_MOST]]
        if len(errors) > _MOST:
            what = f"and {len(errors) - _MOST} more problems"
            some.append(Fault(tuple(errors[_MOST]["loc"]), what, "fix those named first"))
        return None, (*some, *map(_as_fault, mistakes))
    mistakes += find_rule_mistakes(file)
    return file, tuple(map(_as_fault, mistakes))


def write_place(place: Sequence[str | int]) -> str:
    """A place as a person counts: ("article", 0, "price") is article.1.price."""
    return ".".join(str(part + 1) if isinstance(part, int) else part for part in place)


def keys_at(place: Sequence[str | int]) -> list[str]:
    """The keys that the table at `place` may hold."""
    model: type[BaseModel] = CampaignFile
    for part in place:
        if isinstance(part, str):
            model = _table_type(model.model_fields[part].annotation)
    return sorted(field.alias or name for name, field in model.model_fields.items())


def _table_type(annotation: Any) -> type[BaseModel]:
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return annotation
    return next(_table_type(each) for each in get_args(annotation) if each is not type(None))


def _as_fault(mistake: Mistake) -> Fault:
    return Fault(
        mistake.place,
        f"{write_place(mistake.place)}: {mistake.what}",
        mistake.fix,
        beside=mistake.what,
        says_allowed=mistake.says_allowed,
    )


_SHAPES = {
    "model_type": "write it as a table, [{0}] where there is one of it, [[{0}]] where there may be several",
    "list_type": "write it with double brackets, [[{0}]], once for each",
    "dict_type": "write it as a table, [[article.part]]",
}


_NO_NUMBER = ("float_parsing", "int_parsing", "float_type", "int_type")


def _number_for(text: str) -> str:
    """How to write what was meant as a number, where that can be seen."""
    bare, share = text.strip().removesuffix("%").strip().replace(",", "."), text.strip().endswith("%")
    try:
        number = float(bare) / (100.0 if share else 1.0)
    except ValueError:
        return "write a plain number, with a point before decimals"
    return f"write it as a plain number: {number:g}"


def _fault(error: Any) -> Fault:
    place = tuple(error["loc"])
    key = write_place(place)
    kind, context = error["type"], error.get("ctx", {})
    if kind == "extra_forbidden":
        known = keys_at(place[:-1])
        hint = nearest(str(place[-1]), known)
        fix = f"did you mean {hint!r}?" if hint else f"known keys: {', '.join(known)}"
        return Fault(place, f"unknown key {key!r}", fix)
    if kind == "missing":
        return Fault(place, f"{key!r} is missing", f"add {place[-1]!r}", lacks=True)
    if kind == "refused":
        return Fault(place, f"{key}: {context['problem']}", context["fix"], beside=context["problem"])
    if kind in _SHAPES:
        fix = _SHAPES[kind].format(place[0])
        return Fault(place, f"{key} has the wrong form", fix, beside="has the wrong form")
    value = json.dumps(error["input"], default=str, ensure_ascii=False)[:60]
    if kind in _NO_NUMBER and isinstance(error["input"], str):
        return Fault(place, f"{key} = {value}", _number_for(error["input"]), beside=value)
    return Fault(place, f"{key} = {value}", error["msg"][0].lower() + error["msg"][1:], beside=value)
