"""Readings are taken as people type and paste them, and are fitted as the command line fits the sheet."""

from pathlib import Path

import pytest

from strikeproof.campaign.calibration_sheet import read_calibration_sheet
from strikeproof.desk.calibrating.readings import calibrate_set_up, readings_text, sheet_of_readings
from strikeproof.desk.setting_up.editor import change_set_up, start_set_up
from strikeproof.desk.setting_up.edits import add_entry, all_of, set_value
from strikeproof.errors import BadInput, StrikeproofError

TYPED = {
    "tabs": "0\t0,1\tup\n200\t41,10\tup\n400\t82,35\tdown\n",
    "commas": "0,0.1,up\n200,41.10,up\n400,82.35,down\n",
    "semicolons": "0;0,1;up\n200;41,10;up\n400;82,35;down\n",
    "blanks": "0 0.1 up\n200   41.10 up\n400 82.35 down",
    "with names": "Applied,Reading,Direction\r\n0,0.1,up\r\n\r\n200,41.10,up\r\n# odd\r\n400,82.35,down\r\n",
}


@pytest.mark.parametrize("typed", TYPED.values(), ids=TYPED)
def test_the_same_readings_however_they_are_typed(tmp_path: Path, typed: str) -> None:
    sheet = tmp_path / "calibration.csv"
    sheet.write_text(sheet_of_readings(typed), encoding="utf-8")
    rows, problems = read_calibration_sheet(sheet)
    assert problems == ()
    assert [(row.applied, row.reading, row.direction) for row in rows] == [
        (0, 0.1, "up"),
        (200, 41.1, "up"),
        (400, 82.35, "down"),
    ]


def test_nothing_typed_is_nothing_kept() -> None:
    assert sheet_of_readings(" \n\n") == ""
    assert sheet_of_readings("1,2") == "applied,reading\n1,2\n"


@pytest.mark.parametrize("first", ["2oo 3", "-5 3", "\N{MINUS SIGN}5 3", "+5 3", ".5 3"])
def test_a_first_line_that_begins_like_a_number_is_no_heading(first: str) -> None:
    assert sheet_of_readings(f"{first}\n4 5").splitlines()[:2] == ["applied,reading", first.replace(" ", ",")]


def test_a_campaign_is_calibrated_from_what_is_typed(tmp_path: Path) -> None:
    start_set_up(tmp_path, "Rollers")
    with pytest.raises(BadInput, match="the campaign"):
        calibrate_set_up(tmp_path, "Rollers")
    edits = all_of(
        add_entry("tool", {"name": "a"}),
        add_entry("article", {"name": "plain"}),
        set_value(("calibration",), {"sheet": "calibration.csv", "applied_unit": "N m"}),
    )
    change_set_up(tmp_path, "Rollers", edits)
    with pytest.raises(BadInput, match="no readings yet"):
        calibrate_set_up(tmp_path, "Rollers")
    rows = "".join(f"{100 * n},{20.5 * n + 0.1 * (n % 2)},up\n" for n in range(6))
    change_set_up(tmp_path, "Rollers", lambda tables: tables, calibration=sheet_of_readings(rows))
    assert readings_text(tmp_path, "Rollers").startswith("applied,reading,direction\n0,0.0,up")
    assert calibrate_set_up(tmp_path, "Rollers").fit.coefficients[1] == pytest.approx(0.205, rel=0.01)
    change_set_up(tmp_path, "Rollers", lambda tables: tables, calibration=sheet_of_readings("1,wide\n2,3\n"))
    with pytest.raises(StrikeproofError, match="line 2"):
        calibrate_set_up(tmp_path, "Rollers")
