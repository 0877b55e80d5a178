"""What is written beside the keys of campaign.toml: names, quantities, rules; read, or refused with a fix."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Annotated, Any

from pydantic import BeforeValidator, Field, WithJsonSchema
from pydantic_core import PydanticCustomError

from strikeproof.campaign.records import ScoreRule
from strikeproof.errors import BadInput
from strikeproof.plain_text import TextKind, TextProblem, judge_text
from strikeproof.quantity import KINDS, parse_number, parse_quantity, split_number

__all__ = [
    "ChannelNames",
    "Currency",
    "Duration",
    "FileName",
    "Friction",
    "Gap",
    "Identity",
    "Name",
    "Note",
    "Pause",
    "Percent",
    "Positive",
    "Score",
    "Supply",
    "Thread",
    "Unit",
    "parse_score_rule",
    "refuse",
    "written",
]


def refuse(problem: str, fix: str) -> PydanticCustomError:
    """Why a value cannot be used, and how to fix it."""
    return PydanticCustomError("refused", "{problem}", {"problem": problem, "fix": fix})


def _number(text: str) -> float:
    try:
        return parse_number(text)
    except BadInput as wrong:
        raise refuse(wrong.what, wrong.fix) from wrong


def _quantity(kind: str) -> Callable[[Any], float]:
    def read(value: Any) -> float:
        example = KINDS[kind].example
        if not isinstance(value, str):
            raise refuse(f"{value!r} has no unit", f"write it as text with its unit, like {example!r}")
        try:
            return parse_quantity(value, kind)
        except BadInput as wrong:
            raise refuse(wrong.what, wrong.fix) from wrong

    return read


def _supply(value: Any) -> str:
    if isinstance(value, str) and (number := split_number(value)[0]):
        _number(number)  # says why it is none
    for kind in ("pressure", "voltage"):
        try:
            _quantity(kind)(value)
        except PydanticCustomError:
            continue
        return str(value)
    raise refuse(f"{value!r} is neither a pressure nor a voltage", "write it like '6.2 bar' or '18 V'")


def _text(kind: TextKind, *, may_be_empty: bool = False) -> Callable[[Any], str]:
    def read(value: Any) -> str:
        is_number = kind is TextKind.NAME and isinstance(value, int) and not isinstance(value, bool)
        if not isinstance(value, str) and not is_number:
            raise refuse(f"{value!r} is not text"[:200], "write it in quotes")
        told = judge_text(str(value), kind)
        if isinstance(told, TextProblem):
            raise refuse(told.what, told.fix)
        if not told and not may_be_empty:
            raise refuse(f"a {kind.word} is empty", f"give it a {kind.word}")
        return told

    return read


_IDENTITY = re.compile(r"[A-Za-z0-9._-]{1,64}")


def _identity(value: Any) -> str:
    text = str(value) if isinstance(value, int) and not isinstance(value, bool) else value
    if not isinstance(text, str) or not _IDENTITY.fullmatch(text):
        what = f"{value!r} is no identity"
        raise refuse(what[:80], "use 1 to 64 letters, digits, '.', '_' and '-', such as '5f3c9a'")
    return text


def parse_score_rule(text: Any) -> ScoreRule:
    """The rule behind "end", "peak", "at 5 s" or "time to 400 N m"."""
    words = " ".join(str(text).split()).lower()
    if words in ("end", "peak"):
        return ScoreRule(kind=words)  # type: ignore[arg-type]  # narrowed by the line above
    if words.startswith("at ") and (after := _quantity("time")(words[3:])) > 0:
        return ScoreRule(kind="at", at_s=after)
    level, unit = split_number(" ".join(str(text).split())[8:]) if words.startswith("time to ") else ("", "")
    if level and re.match(r"[^\d\s.,]", unit) and (value := _number(level)) > 0:
        return ScoreRule(kind="time to", level=value, level_unit=unit)
    raise refuse(f"{text!r} is not a score rule", "write 'end', 'peak', 'at 5 s' or 'time to 400 N m'")


def _channels(value: Any) -> str:
    """One name, or names that are tried in their order as one text with bars between them."""
    names = value if isinstance(value, list) else [value]
    if not names:
        raise refuse("no channel is named", "name one, or delete the key")
    return " | ".join(_text(TextKind.CHANNEL)(name) for name in names)


def written(allowed: str = "", example: str = "", kind: str | list[str] = "string") -> WithJsonSchema:
    """How a value is written in the file, where that is not as it is stored, for a schema and a form."""
    given = {"description": allowed, "examples": [example] if example else None}
    return WithJsonSchema({"type": kind, **{name: each for name, each in given.items() if each}})


Name = Annotated[str, BeforeValidator(_text(TextKind.NAME)), written(kind=["string", "integer"])]
Thread = Annotated[Name, written("a metric or unified thread", "M20x2.5")]
Identity = Annotated[str, BeforeValidator(_identity)]
Unit = Annotated[str, BeforeValidator(_text(TextKind.UNIT)), written(example="kN")]
ChannelNames = Annotated[str, BeforeValidator(_channels), written(kind=["string", "array"])]
FileName = Annotated[str, BeforeValidator(_text(TextKind.FILE))]
Currency = Annotated[str, BeforeValidator(_text(TextKind.UNIT, may_be_empty=True))]
Note = Annotated[str, BeforeValidator(_text(TextKind.NOTE, may_be_empty=True))]
Duration = Annotated[
    float,
    BeforeValidator(_quantity("time")),
    Field(gt=0, le=3600),
    written("a time above 0, at most 3600 s", "10 s"),
]
Pause = Annotated[
    float, BeforeValidator(_quantity("time")), Field(ge=0), written("a time, 0 or more", "60 s")
]
Supply = Annotated[str, BeforeValidator(_supply), written("a pressure or a voltage", "6.2 bar")]
Positive = Annotated[float, Field(gt=0)]
Gap = Annotated[float, Field(ge=0, lt=60)]
Friction = Annotated[float, Field(gt=0, le=0.6)]
Percent = Annotated[float, Field(gt=0, lt=100)]
Score = Annotated[
    ScoreRule,
    BeforeValidator(parse_score_rule),
    written("end, peak, at 5 s, time to 400 N m", "time to 400 N m"),
]
