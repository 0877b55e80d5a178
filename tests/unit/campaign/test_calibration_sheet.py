"""A calibration sheet comes in as a whole or not at all."""

from pathlib import Path

import openpyxl
import pytest

from strikeproof.campaign.calibration_sheet import CalibrationRow, read_calibration_sheet
from strikeproof.plain_json import to_json


def test_rows_with_direction_and_repeat(tmp_path: Path) -> None:
    path = tmp_path / "c.csv"
    path.write_text(
        "Applied;Reading;Direction;Repeat;Note\n100;20,5;Up;1;\n200;41,0;falling;1;after a break\n"
    )
    assert read_calibration_sheet(path) == (
        (
            CalibrationRow(100.0, 20.5, "up", "1", 2),
            CalibrationRow(200.0, 41.0, "down", "1", 3),
        ),
        (),
    )


def test_two_columns_are_enough(tmp_path: Path) -> None:
    path = tmp_path / "c.tsv"
    path.write_text("applied\treading\n-50\t-1.5e-1\n")
    assert read_calibration_sheet(path) == ((CalibrationRow(-50.0, -0.15, None, None, 2),), ())


def test_a_workbook_is_as_good(tmp_path: Path) -> None:
    book = openpyxl.Workbook()
    for row in (["applied", "reading", "repeat"], [100, 20.123456789, 1], [200, 41, 2]):
        book.active.append(row)
    book.save(tmp_path / "c.xlsx")
    rows, problems = read_calibration_sheet(tmp_path / "c.xlsx")
    assert problems == ()
    assert [(row.applied, row.reading, row.repeat) for row in rows] == [
        (100, 20.123456789, "1"),
        (200, 41, "2"),
    ]


def test_half_a_calibration_is_none(tmp_path: Path) -> None:
    path = tmp_path / "c.csv"
    path.write_text("applied,reading,direction\n1,2,up\n2,x,up\n3,4,sideways\n,5,up\n4,1e999,up\n5,6,up\n")
    rows, problems = read_calibration_sheet(path)
    assert rows == ()
    assert [problem.line for problem in problems] == [3, 4, 5, 6]
    assert all(problem.fix for problem in problems)


@pytest.mark.parametrize(
    ("text", "says"),
    [("applied,readng\n1,2\n", "rename 'readng' to 'reading'"), ("", "is empty"), (None, "no such file")],
)
def test_a_sheet_that_is_none(tmp_path: Path, text: str | None, says: str) -> None:
    path = tmp_path / "c.csv"
    if text is not None:
        path.write_text(text)
    rows, problems = read_calibration_sheet(path)
    assert rows == ()
    assert says in str(problems[0])


def test_a_row_is_kept_as_it_is(tmp_path: Path) -> None:
    assert to_json(CalibrationRow(1.0, 2.0, "up", "a", 7)) == {
        "applied": 1.0,
        "reading": 2.0,
        "direction": "up",
        "repeat": "a",
        "line": 7,
        "applied_uncertainty": None,
    }


def test_each_applied_value_may_carry_its_own_uncertainty(tmp_path: Path) -> None:
    path = tmp_path / "c.csv"
    path.write_text("applied;reading;applied_uncertainty\n100;240,1;0,5\n200;480,3;\n")
    rows, problems = read_calibration_sheet(path)
    assert not problems
    assert [row.applied_uncertainty for row in rows] == [0.5, None]
    path.write_text("applied,reading,applied_uncertainty\n100,240.1,-0.5\n")
    rows, problems = read_calibration_sheet(path)
    assert rows == ()
    assert problems[0].line == 2


def test_cells_may_have_units_and_are_converted_to_their_columns(tmp_path: Path) -> None:
    """1 lbf·ft = 1.355 818 N·m: NIST Special Publication 811 (2008), appendix B.8."""
    path = tmp_path / "c.csv"
    path.write_text("applied;reading\n100 N·m;10\n100 ft-lbs;12 kN\n43'337.2;9000 N\n")
    rows, problems = read_calibration_sheet(path, ("N m", "kN"))
    assert problems == ()
    assert [row.applied for row in rows] == [100.0, pytest.approx(135.5818, rel=1e-6), 43337.2]
    assert [row.reading for row in rows] == [10.0, 12.0, 9.0]


@pytest.mark.parametrize("cell", ["100 N", "100 Nmm2", "10o"])
def test_a_unit_that_is_not_the_columns_is_a_problem(tmp_path: Path, cell: str) -> None:
    path = tmp_path / "c.csv"
    path.write_text(f"applied;reading\n{cell};10\n90;8\n")
    rows, (problem,) = read_calibration_sheet(path, ("N m", "kN"))
    assert rows == () and problem.line == 2


def test_a_column_that_mixes_decimal_marks_is_named_with_both_lines(tmp_path: Path) -> None:
    path = tmp_path / "c.csv"
    path.write_text('applied;reading\n"43,337.2";1\n"43.337,2";2\n')
    _, problems = read_calibration_sheet(path, ("N m", "kN"))
    assert "applied mixes decimal points and commas" in str(problems[0])
    assert "'43,337.2' on line 2" in str(problems[0]) and problems[0].line == 3


def test_a_word_in_a_note_is_no_decimal_mark(tmp_path: Path) -> None:
    path = tmp_path / "c.csv"
    path.write_text("applied;reading;repeat;note\n112,345;1,125;1;21.5\n225,125;2,250;1;at 21.5\n")
    rows, problems = read_calibration_sheet(path)
    assert not problems and [row.applied for row in rows] == [112.345, 225.125]


@pytest.mark.parametrize(("cell", "unit"), [("1.000", ""), ("1,000", ""), ("1.000", " N")])
def test_thousands_that_would_be_read_as_ones_are_named(tmp_path: Path, cell: str, unit: str) -> None:
    path = tmp_path / "c.csv"
    path.write_text(f"applied;reading\n0;2\n800{unit};823\n{cell}{unit};{cell.replace('000', '236')}\n")
    rows, problems = read_calibration_sheet(path, ("N", "N"))
    assert rows == () and problems[0].line == 4
    assert "would be read as 1, far below '800' on line 3" in problems[0].problem
    assert "write 1000" in problems[0].fix
    path.write_text(f"applied;reading\n800{unit};823\n1000{unit};1236\n")
    assert [row.applied for row in read_calibration_sheet(path, ("N", "N"))[0]] == [800, 1000]


def test_numbers_of_a_workbook_have_no_two_meanings(tmp_path: Path) -> None:
    book = openpyxl.Workbook()
    for row in (["applied", "reading"], [100, 200], [1.125, 3]):
        book.active.append(row)
    book.save(tmp_path / "c.xlsx")
    rows, problems = read_calibration_sheet(tmp_path / "c.xlsx")
    assert not problems and [row.applied for row in rows] == [100, 1.125]
