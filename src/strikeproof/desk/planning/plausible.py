"""What can be stored but is hardly meant, such as a square of 99999 mm: said beside its field."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any, Final

from strikeproof.desk.safety.head_fit import say_head_fit
from strikeproof.desk.setting_up.edits import Place, value_at
from strikeproof.errors import end_sentence

__all__ = ["doubt_value"]

_USUAL: Final[Mapping[tuple[str, str], tuple[float, float, str]]] = {
    ("tool", "drive_mm"): (6.0, 64.0, "squares of power socket tools have 6.3 mm to 63 mm (ISO 1174-2)"),
    ("bolt", "friction"): (0.04, 0.5, "VDI 2230-1, table A5, has 0.04 to somewhat above 0.30"),
    ("bolt", "largest_proof_share"): (0.1, 0.9, "usual is 0.75 of the proof load"),
    ("rig", "repeatability_percent"): (0.05, 20.0, "usual is 0.5 % to 5 %"),
    ("campaign", "margin_percent"): (0.2, 30.0, "usual is 1 % to 10 %"),
    ("protocol", "repeats"): (2.0, 60.0, "usual are 3 to 20"),
}
"""By table and key: what a value is from and to where nobody doubts it, and what is usual. The figures of the
standards are from memory; the others are common practice, no source."""


def doubt_value(tables: Mapping[str, Any], place: Place) -> str:
    """What is hard to believe of the value at a place, in a sentence; "" where nothing is.

    Parameters
    ----------
    tables
        The campaign file as it is now.
    place
        Of a field, such as ("tool", 0, "drive_mm").
    """
    kind, key = str(place[0]), str(place[-1])
    doubt = _OWN.get((kind, key))
    if doubt is not None:
        return doubt(tables)
    usual, value = _USUAL.get((kind, key)), (value_at(tables, place[:-1]) or {}).get(key)
    if usual is None or isinstance(value, bool) or not isinstance(value, int | float):
        return ""
    low, high, words = usual
    return "" if low <= value <= high else f"Is this meant? {words[0].upper()}{words[1:]}."


def _other_head(tables: Mapping[str, Any]) -> str:
    fits = say_head_fit(
        tables.get("bolt", {}), tables.get("article", []), fix="give the head's width across flats"
    )
    return " ".join(end_sentence(each[:1].upper() + each[1:]) for each in fits)


_OWN: Final[Mapping[tuple[str, str], Callable[[Mapping[str, Any]], str]]] = {
    ("bolt", "thread"): _other_head,
}
