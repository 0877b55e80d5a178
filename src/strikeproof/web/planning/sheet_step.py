"""The step of the run sheet: what it will take, made with one press, printed with another."""

from __future__ import annotations

import asyncio
from collections.abc import Callable, Coroutine, Mapping
from typing import Any

from nicegui import ui

from strikeproof.desk.planning.sheet import SheetPlan, keep_sheet, open_for_recording, plan_sheet
from strikeproof.desk.safety.cautions import CAUTIONS, plan_cautions
from strikeproof.desk.setting_up.editor import Fault, open_set_up
from strikeproof.desk.workspace.opening import campaign_names
from strikeproof.errors import end_sentence
from strikeproof.quantity import write_duration
from strikeproof.web.elements import button, empty_state, facts, link, notes, section, table, tag
from strikeproof.web.planning.asking import ask
from strikeproof.web.planning.editor import Editor
from strikeproof.web.planning.extra_block import block_words, offer_block
from strikeproof.web.work import WORK
from strikeproof.web.working import working

__all__ = ["show_sheet"]


async def show_sheet(editor: Editor) -> None:
    """The plan as it would be now, and whether the sheet in the folder is it."""
    if editor.set_up.faults:
        box = empty_state(
            "Not complete yet", "The run sheet follows from the steps before; these still need fixing:"
        )
        with box, tag("ul"):
            for fault in editor.set_up.faults[:12]:
                tag("li", _fault_words(fault, editor.set_up.tables))
        return
    place = tag("div", classes="place")

    async def again(said: str) -> None:
        def show(plan: SheetPlan) -> None:
            _show(editor, plan, make, again, said)

        await working(place, "Planning", show, plan_sheet, editor.workspace, editor.word)

    async def make(plan: SheetPlan) -> None:
        if plan.stop and not await ask(
            "A bolt is predicted to break", [plan.stop], "Make the sheet all the same", "Fix the plan first"
        ):
            return
        await working(
            place,
            "Making the sheet",
            lambda made: _show(editor, made, make, again, "The sheet is made."),
            keep_sheet,
            editor.workspace,
            editor.word,
        )
        editor.set_up = await asyncio.to_thread(open_set_up, editor.workspace, editor.word)

    await again("")


def _more(editor: Editor, plan: SheetPlan, again: Again) -> None:
    """Articles that came late get a block of their own."""
    with tag("div", classes="notice", role="group", aria_label="Articles that lack runs"):
        tag("p", f"The sheet has fewer than {plan.repeats} blocks with {', '.join(plan.short)}.")
        offer_block(editor.view, editor.word, plan.short, lambda block: again(block_words(block)))


def _to_the_rig(editor: Editor, name: str) -> None:
    address = editor.view.to("/record", campaign=name)
    if name in campaign_names(editor.workspace):
        link("Go to the rig", address, "button")
        return

    async def go() -> None:  # the sheet was made elsewhere
        await WORK.run(open_for_recording, editor.workspace, editor.word)
        ui.navigate.to(address)

    button("Go to the rig", go)


Make = Callable[[SheetPlan], Coroutine[Any, Any, None]]
Again = Callable[[str], Coroutine[Any, Any, None]]


def _show(editor: Editor, plan: SheetPlan, make: Make, again: Again, said: str) -> None:
    if plan.stop:
        tag("p", plan.stop, "verdict-line stop", role="alert")
    facts(
        [
            ("Runs still to make", str(plan.left)),
            ("Made already", str(len(plan.made))),
            ("Repeats", str(plan.repeats)),
            ("Hammering and cool-down", write_duration(plan.time_s)),
            ("New bolts", str(plan.bolts) if plan.bolts else "not counted"),
        ]
    )
    tag("p", said, "good-line", role="status")
    with tag("div", classes="bar"):
        if plan.on_disk:
            link("Print the sheet", f"/plan/sheet?set_up={editor.word}", "button primary", target="_blank")
            _to_the_rig(editor, plan.campaign.name)
        else:
            word = "Plan the rest again" if plan.made else "Make the run sheet"
            button(word, lambda: make(plan), "button primary", data_make="sheet")
    if plan.on_disk and plan.short:
        _more(editor, plan, again)
    notes(
        [end_sentence(each) for each in plan.notes],
        "What to know before starting",
    )
    campaign = plan.campaign
    mechanisms = [each.mechanism for each in campaign.tools]
    notes((*CAUTIONS, *plan_cautions(plan.left, campaign.protocol.duration_s, mechanisms)), "Cautions")
    with section("The runs in their order"):
        if not plan.on_disk:
            tag("p", "A preview: making the sheet draws its own random order.", "quiet")
        table(
            ["Run", "Block", "Tool", "Article", "Bolt", ""],
            [
                [
                    row["run"],
                    row.get("block", ""),
                    row.get("tool", ""),
                    row.get("article", ""),
                    row.get("bolt", "–"),
                    "made" if row["run"] in plan.made else row.get("note", ""),
                ]
                for row in plan.cells
            ],
            caption=f"{len(plan.cells)} runs",
            stacked=False,
        )


def _fault_words(fault: Fault, tables: Mapping[str, Any]) -> str:
    """What is wrong, and where by the name of the tool or article instead of its number."""
    said = f"{fault.problem}; {fault.fix}"
    match fault.place:
        case (str(kind), int(number), *_rest) if fault.beside:
            entries = tables.get(kind)
            entry = entries[number] if isinstance(entries, list) and number < len(entries) else None
            name = entry.get("name") if isinstance(entry, Mapping) else None
            said = f"{kind} {name or number + 1}: {fault.beside}; {fault.fix}"
    return end_sentence(said)
