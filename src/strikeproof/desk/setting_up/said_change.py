"""What separates two states of a campaign, in a few words for who undoes a change."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any, Final

from strikeproof.campaign.faults import write_place
from strikeproof.campaign.keys import TABLES
from strikeproof.desk.setting_up.edits import Place, Tables
from strikeproof.desk.setting_up.fields import fields_of

__all__ = ["say_change"]

_MOST: Final = 2
_ARROW: Final = "→"
_LONGEST: Final = 40


def say_change(before: Tables, after: Tables) -> str:
    """What is otherwise in `after`, as "Repeats: 4 → 3"; "calibration readings" where no key is.

    Parameters
    ----------
    before, after
        Tables of a campaign's file, as it was and as it is now.
    """
    said = list(_changes((), before, after))
    more = f" and {len(said) - _MOST} more" if len(said) > _MOST else ""
    return f"{'; '.join(said[:_MOST])}{more}" if said else "calibration readings"


def _changes(place: Place, before: Any, after: Any) -> Iterator[str]:
    if before == after:
        return
    if _is_table(before) and _is_table(after):
        before, after = before or {}, after or {}
        for key in dict.fromkeys((*before, *after)):
            yield from _changes((*place, key), before.get(key), after.get(key))
    elif _entries(before) is not None and _entries(after) is not None:
        yield from _listed(place, _entries(before) or [], _entries(after) or [])
    else:
        yield f"{_where(place)}: {_word(before)} {_ARROW} {_word(after)}"


def _where(place: Place) -> str:
    """As the form calls it, such as "Square drive of tool 1"; a part of an article by its keys."""
    fields = fields_of(str(place[0])) if len(place) in (2, 3) and str(place[0]) in TABLES else ()
    label = next((each.label for each in fields if each.key == place[-1]), "")
    if not label:
        return write_place(place)
    return f"{label} of {write_place(place[:2]).replace('.', ' ')}" if len(place) == 3 else label


def _is_table(value: Any) -> bool:
    return value is None or isinstance(value, Mapping)


def _entries(value: Any) -> list[Any] | None:
    """A list of tables, such as of tools; none at all is an empty one."""
    if value is None:
        return []
    return value if isinstance(value, list) and all(isinstance(each, Mapping) for each in value) else None


def _listed(place: Place, before: list[Any], after: list[Any]) -> Iterator[str]:
    """Entries that came or went by their names; else what changed within them."""
    kind = write_place(place[-1:])
    old, new = [_name(each) for each in before], [_name(each) for each in after]
    if len(old) == len(new) and (old == new or sorted(old) != sorted(new)):
        for number, (was, now) in enumerate(zip(before, after, strict=True)):
            yield from _changes((*place, number), was, now)
        return
    if sorted(old) == sorted(new):
        yield f"the order of {kind} entries"
        return
    for name in old:
        if name in new:
            new.remove(name)
        else:
            yield f"{kind} {name} is gone"
    yield from (f"{kind} {name} is back" for name in new)


def _name(entry: Mapping[str, Any]) -> str:
    return str(entry.get("name", entry.get("kind", "without a name")))


def _word(value: Any) -> str:
    if value is None:
        return "not given"
    text = ", ".join(map(str, value)) if isinstance(value, list) else str(value)
    return text if len(text) <= _LONGEST else f"{text[: _LONGEST - 1]}…"
