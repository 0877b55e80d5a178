"""Records as JSON: each field under its name, or under the key with its unit that the field itself gives."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import fields, is_dataclass
from typing import Any, Final

from pydantic_core import to_jsonable_python

__all__ = ["UNSHOWN", "shown_as", "to_json"]

_KEY: Final = "json"

UNSHOWN: Final[Mapping[str, Any]] = {_KEY: (None, 1.0)}
"""Metadata of a field that is not for others."""


def shown_as(name: str, factor: float = 1.0) -> Mapping[str, Any]:
    """Metadata of a field that has another name in JSON, as `mass` has `mass_kg`.

    Parameters
    ----------
    factor
        What its value is multiplied by, from SI to the unit in the name.
    """
    return {_KEY: (name, factor)}


def to_json(shown: Any) -> Any:
    """What `json.dumps` takes; of numbers, what is infinite or unknown is None.

    A record gives its fields, then the properties that its `JSON_ALSO` names, or what its own `as_json` says;
    everything in it is converted in turn.
    """
    own: Callable[[], Any] | None = getattr(shown, "as_json", None)
    if own is not None:
        return to_json(own())
    if is_dataclass(shown):
        return _fields(shown)
    if isinstance(shown, Mapping):
        return {str(name): to_json(value) for name, value in shown.items()}
    if isinstance(shown, list | tuple):
        return [to_json(each) for each in shown]
    return to_jsonable_python(shown, inf_nan_mode="null", fallback=lambda value: value.tolist())


def _fields(record: Any) -> dict[str, Any]:
    found = {}
    for each in fields(record):
        name, factor = each.metadata.get(_KEY, (each.name, 1.0))
        if name is not None:
            value = getattr(record, each.name)
            found[name] = to_json(value if factor == 1.0 or value is None else value * factor)
    return found | {name: to_json(getattr(record, name)) for name in getattr(record, "JSON_ALSO", ())}
