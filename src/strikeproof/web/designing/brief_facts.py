"""What the template of a brief says: its form, what is wrong or conflicts, and the room around the bolt."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator, Mapping, Sequence
from typing import Any, Final

from strikeproof.desk.designing.brief_draft import BriefDraft, small_margins
from strikeproof.desk.designing.brief_form import (
    BRIEF_FIELDS,
    BRIEF_LIMITS,
    ENVELOPE_FIELDS,
    OBJECTIVE_WORDS,
    PROCESS_WORDS,
    STEP_FIELDS,
    STOCK_FIELDS,
    Shelf,
)
from strikeproof.desk.designing.pocket_drawing import draw_room, read_room
from strikeproof.desk.setting_up.editor import Fault
from strikeproof.desk.setting_up.edits import Place, Tables, value_at
from strikeproof.errors import end_sentence
from strikeproof.quantity import write_number
from strikeproof.web.frame import View
from strikeproof.web.planning.boxes import Box, BoxMaker, place_words
from strikeproof.web.units import Units

__all__ = ["brief_facts", "brief_form", "room_facts", "write_length"]

_IN_CONFLICT: Final = Fault((), "part of a conflict, shown beside the form", "")
_OF_STOCK: Final = {"item": "stock-words", "material": "material-words"}


def write_length(units: Units) -> Callable[[float], str]:
    """Writes a length for a small drawing: as short as it can be."""

    def write(value: float) -> str:
        text = write_number(units.from_si(value, "length"), 4)
        short = text.rstrip("0").rstrip(".") if "." in text else text
        return f"{short} {units.label('length')}"

    return write


def room_facts(tables: Tables, units: Units) -> dict[str, str]:
    """The room around the bolt, drawn, and the drawing in words."""
    svg, says = draw_room(read_room(tables), write_length(units))
    return {"room": svg, "room_says": says}


def brief_form(maker: BoxMaker, shelf: Shelf) -> dict[str, Any]:
    """The form of the brief that is in the maker's tables."""
    brief = maker.tables.get("brief", {})
    chosen = brief.get("objective")
    of_objective = [
        kind for kind in BRIEF_LIMITS if kind.objective and (chosen == kind.objective or kind.key in brief)
    ]
    objectives = [(key, said[:1].upper() + said[1:]) for key, said in OBJECTIVE_WORDS.items()]

    def own(key: str, choices: Sequence[tuple[str, str]] = (), label: str = "") -> Box:
        return maker.box(("brief", key), BRIEF_FIELDS[key], choices, label=label)

    return {
        "wanted": [
            own("name"),
            own("objective", objectives),
            *(own(kind.key) for kind in of_objective),
            own("proposals"),
        ],
        "tools": _ticks(maker, "tools", shelf.tools),
        "around": [
            *(own(key) for key in ("hexagon_mm", "drive_mm", "head_height_mm")),
            *(maker.box(("envelope", key), field) for key, field in ENVELOPE_FIELDS.items()),
        ],
        "steps": [
            [maker.box(("envelope", "pocket", at, key), field) for key, field in STEP_FIELDS.items()]
            for at in range(_count(maker.tables, ("envelope", "pocket")))
        ],
        "limits": [
            own(kind.key, (), f"{kind.label} ({shelf.currency})" if kind.money else "")
            for kind in BRIEF_LIMITS
            if kind.objective is None
        ],
        "processes": _ticks(maker, "processes", tuple(PROCESS_WORDS), otherwise=tuple(PROCESS_WORDS)),
        "bases": _ticks(maker, "start_from", shelf.bases),
        "stock": [
            (
                str(value_at(maker.tables, ("stock", at, "item")) or ""),
                [
                    maker.box(("stock", at, key), field, words=_OF_STOCK.get(key, ""))
                    for key, field in STOCK_FIELDS.items()
                ],
            )
            for at in range(_count(maker.tables, ("stock",)))
        ],
    }


def _count(tables: Mapping[str, Any], place: Place) -> int:
    listed = value_at(tables, place)
    return len(listed) if isinstance(listed, list) else 0


def _ticks(
    maker: BoxMaker, key: str, names: Sequence[str], otherwise: Sequence[str] = ()
) -> list[tuple[str, str, bool]]:
    """A box to tick for each name: its place, the name, and whether it is ticked; `otherwise` holds where
    the brief says nothing."""
    told = value_at(maker.tables, ("brief", key))
    ticked = set(told if isinstance(told, list) else otherwise)
    return [(f"brief.{key}.{name}", name, name in ticked) for name in names]


def brief_facts(view: View, draft: BriefDraft) -> dict[str, Any]:
    """All that the template of a brief says."""
    tables: Tables = draft.tables or {}
    faults = {fault.place: fault for fault in draft.faults}
    conflicts = {place for clash in draft.clashes for place in clash.places}

    def fault_at(place: Place) -> Fault | None:
        return faults.get(place) or (_IN_CONFLICT if place in conflicts else None)

    maker = BoxMaker(tables, view.units, fault_at)
    form = brief_form(maker, draft.shelf)
    state, kind = _state(draft, [fault for at, fault in faults.items() if place_words(at) not in maker.made])
    nearest = (
        None if draft.nearest is None else {"tables": json.dumps(draft.nearest), "words": draft.nearest_words}
    )
    return {
        "mark": draft.mark,
        "changes": view.to("/design/brief/change"),
        "judges": view.to("/design/brief/room"),
        "form": form,
        "shelf": draft.shelf,
        "state": state,
        "kind": kind,
        "conflicts": [
            (end_sentence(each.problem), end_sentence(f"To fix it: {each.fix}")) for each in draft.clashes
        ],
        "nearest": nearest,
        **room_facts(tables, view.units),
    }


def _state(draft: BriefDraft, elsewhere: Sequence[Fault]) -> tuple[str, str]:
    """The one thing to know of it, and its kind: held or good."""
    count, conflicts = len(draft.faults), len(draft.clashes)
    if count:
        more = " ".join(end_sentence(f"{each.problem}; {each.fix}") for each in elsewhere)
        return f"{count} to fix; everything typed is saved. {more}".strip(), "held"
    if conflicts:
        return f"{conflicts} conflict{'s' if conflicts > 1 else ''} between the limits.", "held"
    small = " ".join(_small(draft))
    said = "Complete: it can be searched, which promises no answer yet."
    return (f"{said} {small}", "held") if small else (said, "good")


def _small(draft: BriefDraft) -> Iterator[str]:
    for each in small_margins(draft.tables or {}):
        yield f"{BRIEF_FIELDS[each.key].label}: {each.after:g} where {each.before:g} is usual."
