"""The step of the calibration: readings typed or pasted, and what they are worth at once."""

from __future__ import annotations

from strikeproof.desk.calibrating.calibration import CalibrationOutcome
from strikeproof.desk.calibrating.readings import calibrate_set_up, readings_text, sheet_of_readings
from strikeproof.desk.setting_up.edits import set_value
from strikeproof.desk.setting_up.fields import fields_of
from strikeproof.web.elements import button, facts, notes, on_value, tag
from strikeproof.web.planning.asking import ask
from strikeproof.web.planning.editor import Editor
from strikeproof.web.planning.fields import edit_fields
from strikeproof.web.working import working

__all__ = ["show_calibration"]

_FIRST = ("applied_unit", "reference_uncertainty_percent", "degree")
_SHEET = {"sheet": "calibration.csv", "applied_unit": "N m", "reference_uncertainty_percent": 1.0}


async def show_calibration(editor: Editor) -> None:
    """The way to a calibration, or what stands for one."""
    if "calibration" not in editor.set_up.tables:
        notes(
            [
                "Without a calibration scores stay plain readings: which article is better, and by how many "
                "per cent, still holds; what a reading is worth in torque is not known.",
                "To calibrate, set a torque wrench on the test bolt to a few values, up and down, twice or "
                "more, and write down what the rig reads each time.",
            ],
            "This step may be left out",
        )
        button(
            "Add a calibration",
            lambda: editor.change(set_value(("calibration",), _SHEET), anew=True),
            "button primary",
        )
        return
    place = None

    async def fit() -> None:
        if place is not None:
            await working(
                place,
                "Fitting the curve",
                _show_fit,
                calibrate_set_up,
                editor.workspace,
                editor.word,
                editor.set_up.mark,
            )

    fields = [each for each in fields_of("calibration") if each.key != "sheet"]
    edit_fields(editor, ("calibration",), fields, _FIRST, more="Rig and bolt it was made on", after=fit)
    text = readings_text(editor.workspace, editor.word)
    with tag("label", classes="field readings"):
        tag(
            "span",
            "Readings: applied, reading, direction (up or down), repeat; one a line, or pasted from a table",
        )
        area = tag("textarea", text, rows=12, spellcheck="false", data_key="readings", data_guard="left")

    async def changed(typed: str) -> None:
        await editor.change(lambda tables: tables, calibration=sheet_of_readings(typed))
        await fit()

    on_value(area, changed)
    place = tag("div", classes="place", aria_live="polite")
    await fit()
    with tag("div", classes="bar tail"):
        button("Leave the calibration out", lambda: _remove(editor), "button small")


async def _remove(editor: Editor) -> None:
    says = ["Its readings stay in the folder; undo brings it back."]
    if await ask("Leave the calibration out?", says, "Leave it out", "Keep it"):
        await editor.change(set_value(("calibration",), None), anew=True)


def _show_fit(found: CalibrationOutcome) -> None:
    facts(found.rows(), "rows")
    notes(found.doubts(), "Look at these lines")
    notes(found.fit.notes)
