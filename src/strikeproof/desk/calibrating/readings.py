"""Calibration readings as a person types or pastes them, brought into the columns of the sheet."""

from __future__ import annotations

import re
from pathlib import Path

from strikeproof.desk.calibrating.calibration import CalibrationOutcome, calibrate_folder
from strikeproof.desk.setting_up.editor import open_set_up
from strikeproof.desk.setting_up.versions import CALIBRATION, read_state
from strikeproof.desk.workspace.places import DRAFT
from strikeproof.errors import BadInput

__all__ = ["calibrate_set_up", "readings_text", "sheet_of_readings"]

_HEAD = "applied,reading,direction,repeat"


def sheet_of_readings(text: str) -> str:
    """The sheet for what was typed: names are put above where there are none; cells stay as they are.

    A sheet that was copied from a table has tabs between its cells, one typed by hand commas, semicolons or
    blanks.
    """
    lines = [line.rstrip() for line in text.replace("\r\n", "\n").split("\n")]
    filled = [line for line in lines if line.strip() and not line.lstrip().startswith("#")]
    if not filled:
        return ""
    if not any(mark in line for line in filled for mark in "\t;,"):
        lines = [re.sub(r"(?<=\S)\s+", ",", line) for line in lines]
        filled = [re.sub(r"(?<=\S)\s+", ",", line) for line in filled]
    mark = next((each for each in "\t;" if each in filled[0]), ",")
    if re.match(r"\s*[-+−\d.,]", filled[0]):
        cells = max(len(line.split(mark)) for line in filled)
        lines.insert(0, mark.join(_HEAD.split(",")[: max(2, min(cells, 4))]))
    return "\n".join(lines).strip("\n") + "\n"


def readings_text(workspace: Path, name: str) -> str:
    """The calibration sheet as it is; "" when there is none."""
    return read_state(open_set_up(workspace, name).folder).calibration or ""


def calibrate_set_up(workspace: Path, name: str, mark: str = "") -> CalibrationOutcome:
    """The calibration of the campaign called `name`.

    Parameters
    ----------
    mark
        Of the state that is asked about: who shares answers must not share one of another state.

    Raises
    ------
    BadFile, BadInput
        If the campaign is not complete, or its readings cannot be used.
    """
    found = open_set_up(workspace, name)
    if (found.folder / DRAFT).is_file() and found.faults:
        raise BadInput(
            found.faults[0].problem,
            where="the campaign",
            allowed="a complete campaign",
            fix=found.faults[0].fix,
        )
    if found.tables.get("calibration", {}).get("sheet") == CALIBRATION and not readings_text(workspace, name):
        raise BadInput(
            "no readings yet", where=CALIBRATION, allowed="two readings or more", fix="type them in"
        )
    return calibrate_folder(found.folder)
