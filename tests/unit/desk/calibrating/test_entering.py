"""Calibration readings as they are typed and pasted: nothing that was typed vanishes when they are kept."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from tests.unit.desk.scores import Bench, write_folder

from strikeproof.campaign.store import open_store
from strikeproof.desk.calibrating.entering import (
    Draft,
    Point,
    find_faults,
    keep_calibration,
    read_points,
    start_draft,
    try_calibration,
)
from strikeproof.desk.loading.load import load_campaign
from strikeproof.desk.workspace.places import campaign_place
from strikeproof.errors import BadInput

NAME = "simulated rings"
GOOD = tuple(Point(str(each), f"{0.4 * each + 1:g}", "up", "1") for each in (0, 100, 200, 300, 400))


@pytest.fixture
def workspace(tmp_path: Path) -> Path:
    load_campaign(write_folder(campaign_place(tmp_path, NAME), Bench(blocks=1)), tmp_path)
    return tmp_path


@pytest.mark.parametrize(
    "text",
    [
        "applied;reading;direction;repeat\n100;163,6;up;1\n0;4,5;;",
        "100\t163.6\tup\t1\n0\t4.5",
        "100 163.6 up 1\n\n0 4.5",
    ],
)
def test_pasted_readings_are_understood_however_they_are_separated(text: str) -> None:
    assert read_points(text) == (Point("100", "163.6", "up", "1"), Point("0", "4.5"))


@pytest.mark.parametrize(
    ("text", "where"),
    [
        ("1 2\nthree four", "line 2"),
        ("2oo 5\n300 7", "line 1"),  # no heading: it begins with a digit
        ("200 5oo\n300 7", "line 1"),
        ("200 5 up 1 0.3", "line 1"),  # a cell that has no place in the form
    ],
)
def test_a_pasted_line_that_cannot_be_taken_whole_is_named(text: str, where: str) -> None:
    with pytest.raises(BadInput, match=where):
        read_points(text)


@pytest.mark.parametrize(
    ("point", "place"),
    [
        (Point("2oo", "81"), (5, "applied")),
        (Point("200", "8l"), (5, "reading")),
        (Point("200", ""), (5, "reading")),
        (Point("", "81"), (5, "applied")),
        (Point("1,234", "81"), (5, "applied")),
        (Point("1e400", "81"), (5, "applied")),
    ],
)
def test_nothing_is_kept_while_a_reading_is_wrong(
    workspace: Path, point: Point, place: tuple[int, str]
) -> None:
    draft = Draft(points=(*GOOD, point))
    assert [each.place for each in find_faults(draft)] == [place]
    with pytest.raises(BadInput, match="reading 6"):
        keep_calibration(workspace, None, draft)
    store = open_store(workspace)
    assert store.calibration_rows(store.campaign(None)[0]) is None
    assert len(try_calibration(workspace, None, draft).residuals) == len(GOOD)  # the others are still tried


@pytest.mark.parametrize("text", ["2oo", "-1", "100", "4 kN"])
def test_nor_while_the_reference_is_wrong(workspace: Path, text: str) -> None:
    draft = Draft(points=GOOD, reference_uncertainty_percent=text)
    assert [each.place for each in find_faults(draft)] == [("reference_uncertainty_percent",)]
    for each in (keep_calibration, try_calibration):
        with pytest.raises(BadInput, match="reference"):
            each(workspace, None, draft)


@pytest.mark.parametrize(("text", "stored"), [("4 %", "4"), ("0,5", "0.5"), ("", "0")])
def test_the_reference_is_read_as_people_write_it(workspace: Path, text: str, stored: str) -> None:
    keep_calibration(workspace, None, Draft(points=GOOD, reference_uncertainty_percent=text))
    assert start_draft(workspace, None).reference_uncertainty_percent == stored


def test_a_row_in_which_no_number_was_typed_is_no_reading(workspace: Path) -> None:
    draft = Draft(points=(*GOOD, Point(direction="up", repeat="1")))
    assert find_faults(draft) == ()
    assert keep_calibration(workspace, None, draft).startswith("5 readings")
    assert start_draft(workspace, None).points == GOOD


def test_what_a_sheet_knows_of_a_reading_stays_with_it(workspace: Path) -> None:
    """The form has no field for the uncertainty of one applied value, and keeps it all the same."""
    points = (*GOOD[:-1], replace(GOOD[-1], applied_uncertainty=0.75))
    keep_calibration(workspace, None, Draft(points=points))
    assert start_draft(workspace, None).points == points
    sheet = (campaign_place(workspace, NAME) / "calibration.csv").read_text()
    assert sheet.splitlines()[0] == "applied,reading,direction,repeat,applied_uncertainty"
    assert sheet.splitlines()[-1] == "400,161,up,1,0.75"


def test_the_lines_of_the_budget_are_in_the_unit_of_the_result(workspace: Path) -> None:
    """Squares of the lines are as their shares, and add up to the whole (JCGM 100:2008, 5.1.2)."""
    points = (*GOOD, *(Point(each.applied, f"{float(each.reading) + 0.3:g}", "up", "2") for each in GOOD))
    found = try_calibration(workspace, None, Draft(points=points, reference_uncertainty_percent="1"))
    squares = [value**2 for _name, value, _share, _source in found.budget]
    assert [100 * each / sum(squares) for each in squares] == pytest.approx([row[2] for row in found.budget])
    assert 1.9 < found.expanded / sum(squares) ** 0.5 < 2.4
