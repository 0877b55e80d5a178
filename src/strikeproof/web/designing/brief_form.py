"""The form of a brief: what is wanted, the bolt and the room around it, limits, and what is at hand."""

from __future__ import annotations

import copy
from collections.abc import Callable, Coroutine, Sequence
from functools import partial
from typing import Any

from strikeproof.desk.designing.brief_form import (
    BRIEF_FIELDS,
    BRIEF_LIMITS,
    ENVELOPE_FIELDS,
    OBJECTIVE_WORDS,
    PROCESS_WORDS,
    STEP_FIELDS,
    STOCK_FIELDS,
)
from strikeproof.desk.setting_up.edits import Place, set_value, value_at
from strikeproof.web.designing.brief_bench import BriefBench
from strikeproof.web.elements import button, on_value, section, select, tag

__all__ = ["draw_brief_form"]

_FIRST_STEP = {"to_depth_mm": 30, "diameter_mm": 90}
_DEEPER = 20  # mm, of a step that is added below others

Press = Callable[[], Coroutine[Any, Any, None]]


def draw_brief_form(bench: BriefBench) -> None:
    """All of it, from the tables as they are typed."""
    with section("What is wanted"):
        _wanted(bench)
    with section("The bolt and the room around it"):
        with tag("div", classes="fields"):
            for key in ("hexagon_mm", "drive_mm", "head_height_mm"):
                bench.field(("brief", key), BRIEF_FIELDS[key])
            for key, field in ENVELOPE_FIELDS.items():
                bench.field(("envelope", key), field)
        _pocket(bench)
    with section("Limits"), tag("div", classes="fields"):
        for kind in BRIEF_LIMITS:
            if kind.objective is None:
                money = f"{kind.label} ({bench.draft.shelf.currency})" if kind.money else None
                bench.field(("brief", kind.key), BRIEF_FIELDS[kind.key], label=money)
    with section("What is at hand"):
        _checks(
            bench,
            "The workshop can do",
            ("brief", "processes"),
            PROCESS_WORDS,
            otherwise=PROCESS_WORDS,
            least=1,
        )
        _bases(bench)
        _stock(bench)


def _wanted(bench: BriefBench) -> None:
    brief = bench.tables.get("brief", {})
    with tag("div", classes="fields"):
        bench.field(("brief", "name"), BRIEF_FIELDS["name"])
        words = [(key, said[:1].upper() + said[1:]) for key, said in OBJECTIVE_WORDS.items()]
        bench.field(("brief", "objective"), BRIEF_FIELDS["objective"], choices=words, anew=True)
        for kind in BRIEF_LIMITS:
            if kind.objective and (brief.get("objective") == kind.objective or kind.key in brief):
                bench.field(("brief", kind.key), BRIEF_FIELDS[kind.key])
        bench.field(("brief", "proposals"), BRIEF_FIELDS["proposals"])
    tools = bench.draft.shelf.tools
    _checks(bench, "For these tools (none ticked: all)", ("brief", "tools"), tools)


def _checks(
    bench: BriefBench,
    title: str,
    place: Place,
    names: Sequence[str],
    *,
    otherwise: Sequence[str] = (),
    least: int = 0,
) -> None:
    """A box to tick for each name; `otherwise` holds where the file says nothing, `least` stay ticked."""
    told = value_at(bench.tables, place)
    chosen = set(told if isinstance(told, list) else otherwise)

    async def tick(name: str, on: str) -> None:
        now = value_at(bench.tables, place)
        ticked = set(now if isinstance(now, list) else otherwise) ^ {name}
        if (name in ticked) != bool(on):
            ticked ^= {name}  # a second window was quicker: what the box shows holds
        kept = [each for each in names if each in ticked]
        if len(kept) < least:
            bench.redraw((*place, name))
            bench.judge()
            return
        await bench.edit(set_value(place, kept)(bench.tables), (*place, name))

    with tag("fieldset", classes="checks"):
        tag("legend", title)
        for name in names:
            with tag("label", classes="check"):
                at = ".".join(map(str, (*place, name)))
                box = tag("input", type="checkbox", checked=name in chosen, data_at=at)
                tag("span", name)
            on_value(box, partial(tick, name))


def _pocket(bench: BriefBench) -> None:
    steps = value_at(bench.tables, ("envelope", "pocket"))
    steps = steps if isinstance(steps, list) else []
    tag("h3", "The pocket, from its mouth down to the seat")
    if not steps:
        tag(
            "p",
            "No pocket: the space around the head is free. Add a step for each width that it has.",
            "quiet",
        )
    else:
        tag("p", "Each step reaches down to a depth below the mouth, and is so wide.", "quiet")
    for number in range(len(steps)):
        place = ("envelope", "pocket", number)
        with tag("div", classes="row-entry", role="group", aria_label=f"Step {number + 1}"):
            for key, field in STEP_FIELDS.items():
                bench.field((*place, key), field)
            name = f"Delete step {number + 1}"
            button("Delete", _taker(bench, ("envelope", "pocket"), number), "button small", aria_label=name)

    async def add() -> None:
        last = steps[-1] if steps else None
        new = dict(_FIRST_STEP) if last is None else {**last, "to_depth_mm": _deeper(last.get("to_depth_mm"))}
        place = ("envelope", "pocket", len(steps))
        await bench.edit(_appended(bench, ("envelope", "pocket"), new), (*place, "to_depth_mm"))

    button("Add a step" if not steps else "Add a deeper step", add, "button small", data_add="step")


def _deeper(depth: Any) -> Any:
    return depth + _DEEPER if isinstance(depth, int | float) else depth


def _bases(bench: BriefBench) -> None:
    names = bench.draft.shelf.bases
    if names:
        _checks(bench, "Finished sockets that a ring may go on", ("brief", "start_from"), names)
    else:
        tag("p", "No article of this campaign has dimensions, so none can take a ring.", "quiet")


def _stock(bench: BriefBench) -> None:
    shelf = bench.draft.shelf
    for name, words in (("stock-words", shelf.stock), ("material-words", shelf.materials)):
        with tag("datalist", id=name):
            for word in words:
                tag("option", value=word)
    tag("h3", "Stock in the rack and in the shop")
    listed = bench.tables.get("stock", [])
    listed = listed if isinstance(listed, list) else []
    if listed:
        tag("p", "Material left out: its usual one. Length left out: as long as need be.", "quiet")
    else:
        tag("p", "Nothing is listed. Add what there is: bars, pipe, washers, nuts.", "quiet")
    for number in range(len(listed)):
        _piece(bench, number, str(listed[number].get("item", "")))
    given = {"item": shelf.stock[0]}
    with tag("div", classes="bar"):
        chosen = select(
            "Stock that is known", [(word, word) for word in shelf.stock], given["item"], data_new="stock"
        )
        on_value(chosen, lambda text: given.update(item=text))

        async def add() -> None:
            new = _appended(bench, ("stock",), {"item": given["item"]})
            await bench.edit(new, ("stock", len(listed), "length_mm"))

        button("Add it", add, "button", data_add="stock")


def _piece(bench: BriefBench, number: int, item: str) -> None:
    with tag("div", classes="row-entry stock", role="group", aria_label=item or f"Stock {number + 1}"):
        for key, field in STOCK_FIELDS.items():
            words = {"item": "stock-words", "material": "material-words"}.get(key)
            bench.field(("stock", number, key), field, suggestions=words)
        name = f"Delete {item or 'it'}"
        button("Delete", _taker(bench, ("stock",), number), "button small", aria_label=name)


def _appended(bench: BriefBench, place: Place, new: dict[str, Any]) -> dict[str, Any]:
    now = value_at(bench.tables, place)
    return set_value(place, [*(now if isinstance(now, list) else []), new])(bench.tables)


def _taker(bench: BriefBench, place: Place, number: int) -> Press:
    async def take() -> None:
        rows = copy.deepcopy(value_at(bench.tables, place))
        rows.pop(number)
        await bench.edit(set_value(place, rows)(bench.tables))

    return take
