"""A small sheet comes out the same whatever wrote it, and says all that is wrong with it at once."""

import contextlib
import datetime
import math
import zipfile
from pathlib import Path

import openpyxl
import pytest
from hypothesis import given
from hypothesis import strategies as st

from strikeproof.campaign.table import Table, read_table
from strikeproof.errors import BadFile, BadInput
from strikeproof.quantity import parse_number

ROWS = [["run", "Set aside", "note"], ["1", "", "a; b, c"], ["2", "jaw slipped", 'a "q"']]


def _write(path: Path, text: str) -> Table:
    path.write_text(text, encoding="utf-8")
    return read_table(path, numbers=("applied", "reading"))


@pytest.mark.parametrize("mark", [",", ";", "\t", "|"])
def test_separators_and_quotes(tmp_path: Path, mark: str) -> None:
    quoted = [mark.join('"' + cell.replace('"', '""') + '"' for cell in row) for row in ROWS]
    table = _write(tmp_path / "runs.csv", "\n".join(quoted) + "\n")
    assert table.columns == ("run", "set_aside", "note")
    assert [list(row.cells.values()) for row in table.rows] == ROWS[1:]
    assert [row.line for row in table.rows] == [2, 3]


def test_comments_and_blank_lines_keep_the_line_numbers(tmp_path: Path) -> None:
    table = _write(
        tmp_path / "c.csv", '# a "note, by hand\n\nrun , log\n;\n# x\n 7 ,a.csv\n\n8\n'.replace(";\n", ",\n")
    )
    assert table.header_line == 3
    assert [(row.line, row.cells) for row in table.rows] == [
        (6, {"run": "7", "log": "a.csv"}),
        (8, {"run": "8", "log": ""}),
    ]


def test_a_declared_separator_is_believed(tmp_path: Path) -> None:
    assert _write(tmp_path / "c.csv", "sep=;\na,b;c\n1;2\n").columns == ("a,b", "c")


def test_a_workbook_gives_the_same_cells(tmp_path: Path) -> None:
    book = openpyxl.Workbook()
    book.create_sheet("filled")
    sheet = book["filled"]
    sheet.append(["run", "started", "day", "score", "log"])
    sheet.append(
        [12.0, datetime.datetime(2026, 3, 1, 14, 2, 5), datetime.date(2026, 3, 1), 0.1 + 0.2, " a.csv "]
    )
    sheet.append([])
    sheet.append(["b", None, None, -3, None])
    path = tmp_path / "runs.dat"
    book.save(path)
    table = read_table(path)
    assert [row.line for row in table.rows] == [2, 4]
    assert list(table.rows[0].cells.values()) == ["12", "2026-03-01T14:02:05", "2026-03-01", "0.3", "a.csv"]
    assert list(table.rows[1].cells.values()) == ["b", "", "", "-3", ""]


def test_all_wrong_rows_are_told_at_once(tmp_path: Path) -> None:
    with pytest.raises(BadFile) as caught:
        _write(tmp_path / "c.csv", "a,b,b\n1,2,3\n1,2,3,4\n1,2\n1,2,3,5\n")
    assert [each.line for each in caught.value.problems] == [1, 3, 5]
    with pytest.raises(BadFile, match="no name"):
        _write(tmp_path / "c.csv", "a,,b\n1,2,3\n")


@pytest.mark.parametrize(
    "text", ['a,b\n1,"2\n3,4\n', 'a,b\n"1"x,2\n', "a,b\n" + "1" * 200_000 + ",2\n", "# only\n\n"]
)
def test_a_broken_sheet_is_a_bad_file(tmp_path: Path, text: str) -> None:
    with pytest.raises(BadFile):
        _write(tmp_path / "c.csv", text)


@pytest.mark.parametrize("at", ["A1", "XFD1048576"])
def test_a_far_cell_cannot_fill_the_memory(tmp_path: Path, at: str) -> None:
    book = openpyxl.Workbook()
    book.active["A1"] = "run"
    book.active[at] = "run"
    book.save(tmp_path / "far.xlsx")
    if at == "A1":
        assert read_table(tmp_path / "far.xlsx").rows == ()
    else:
        with pytest.raises(BadFile, match="too large"):
            read_table(tmp_path / "far.xlsx")


def _write_ods(path: Path, rows: str) -> None:
    """The least that OpenDocument 1.3, part 3 (OASIS, 2021) asks of a spreadsheet."""
    spaces = " ".join(
        f'xmlns:{name}="urn:oasis:names:tc:opendocument:xmlns:{name}:1.0"'
        for name in ("office", "table", "text")
    )
    kind = "application/vnd.oasis.opendocument.spreadsheet"
    manifest = "urn:oasis:names:tc:opendocument:xmlns:manifest:1.0"
    with zipfile.ZipFile(path, "w") as book:
        book.writestr("mimetype", kind)
        entry = f'<m:file-entry m:full-path="/" m:media-type="{kind}"/>'
        book.writestr("META-INF/manifest.xml", f'<m:manifest xmlns:m="{manifest}">{entry}</m:manifest>')
        sheet = f'<table:table table:name="runs">{rows}</table:table>'
        body = f"<office:body><office:spreadsheet>{sheet}</office:spreadsheet></office:body>"
        book.writestr("content.xml", f"<office:document-content {spaces}>{body}</office:document-content>")


def _ods_cell(value: str, repeated: int = 1) -> str:
    kind = f'float" office:value="{value}' if value.isdigit() else "string"
    repeat = f' table:number-columns-repeated="{repeated}"' if repeated > 1 else ""
    return f'<table:table-cell office:value-type="{kind}"{repeat}><text:p>{value}</text:p></table:table-cell>'


def _ods_row(*cells: str, repeated: int = 1) -> str:
    return f'<table:table-row table:number-rows-repeated="{repeated}">{"".join(cells)}</table:table-row>'


def test_an_open_document_sheet_with_its_million_blank_rows(tmp_path: Path) -> None:
    blank = _ods_row('<table:table-cell table:number-columns-repeated="16384"/>', repeated=1_048_570)
    rows = _ods_row(_ods_cell("run"), _ods_cell("log")) + _ods_row(_ods_cell("12"), _ods_cell("a.csv"))
    _write_ods(tmp_path / "runs.ods", rows + blank)
    table = read_table(tmp_path / "runs.ods")
    assert [(row.line, row.cells) for row in table.rows] == [(2, {"run": "12", "log": "a.csv"})]


def test_an_open_document_sheet_cannot_fill_the_memory(tmp_path: Path) -> None:
    _write_ods(tmp_path / "runs.ods", _ods_row(_ods_cell("1", repeated=20), repeated=1))
    with pytest.raises(BadFile, match="two columns are called '1'"):
        read_table(tmp_path / "runs.ods")
    far = _ods_row(repeated=1_000_000) + _ods_row(_ods_cell("1", repeated=16_384))
    for rows in (far, _ods_row(_ods_cell("1", repeated=16_384), repeated=1_048_576)):
        _write_ods(tmp_path / "runs.ods", rows)
        with pytest.raises(BadFile, match="too large"):
            read_table(tmp_path / "runs.ods")


def test_a_damaged_workbook_is_a_bad_file(tmp_path: Path) -> None:
    book = openpyxl.Workbook()
    book.active.append(["run"])
    book.save(tmp_path / "a.xlsx")
    whole = (tmp_path / "a.xlsx").read_bytes()
    for end in range(4, len(whole), 97):
        (tmp_path / "b.xlsx").write_bytes(whole[:end])
        with pytest.raises(BadFile):
            read_table(tmp_path / "b.xlsx")


def test_columns_are_checked_against_the_known_ones(tmp_path: Path) -> None:
    table = _write(tmp_path / "c.csv", "run,artcle,colour\n")
    problems = table.column_problems(["run", "article"], ["note"])
    assert [(each.line, each.problem, each.fix) for each in problems] == [
        (1, "there is no column 'article'", "rename 'artcle' to 'article'"),
        (1, "unknown column 'artcle'", "did you mean 'article'?"),
        (1, "unknown column 'colour'", "known columns: run, article, note"),
    ]
    with pytest.raises(BadFile):
        table.require(["run", "article"])
    table.require(["run"], ["artcle", "colour"])


def test_the_sheet_as_a_whole_tells_the_decimal_mark(tmp_path: Path) -> None:
    path = tmp_path / "c.csv"
    german = _write(path, "applied;reading\n1,234;2,500\n")
    assert german.decimal == "," and german.number(german.rows[0], "applied") == 1.234
    pointed = _write(path, "applied;reading\n1.234;2.500\n")
    assert pointed.number(pointed.rows[0], "applied") == 1.234
    tabbed = _write(path, "applied\treading\n1,234\t0,5\n")
    assert tabbed.decimal == "," and tabbed.number(tabbed.rows[0], "applied") == 1.234
    plain = _write(path, 'applied,reading\n"1,234",0.5\n')
    assert plain.decimal == "." and plain.number(plain.rows[0], "applied") == 1234
    unsure = _write(path, "applied\treading\n1,234\t5\n")
    with pytest.raises(BadFile, match=r"two ways.*1234 or 1\.234") as caught:
        unsure.number(unsure.rows[0], "applied")
    assert caught.value.problems[0].line == 2


def test_columns_of_words_say_nothing_of_the_decimal_mark(tmp_path: Path) -> None:
    sheet = _write(tmp_path / "c.csv", "applied;bolt;note\n112,345;10.9;21.5\n")
    assert sheet.decimal == "," and sheet.number(sheet.rows[0], "applied") == 112.345


def test_a_number_that_two_marks_leave_open_is_refused_with_line_and_fix(tmp_path: Path) -> None:
    for cell in ("112,345", "112.345"):
        sheet = _write(tmp_path / "c.csv", f"applied;reading\n{cell};0.5\n113;7,25\n")
        with pytest.raises(BadFile, match=r"reading mixes decimal points and commas") as caught:
            sheet.number(sheet.rows[0], "reading")
        assert caught.value.problems[0].line == 3
        with pytest.raises(BadFile, match=r"two ways.*'0.5' on line 2.*'7,25' on line 3") as caught:
            sheet.number(sheet.rows[0], "applied")
        assert caught.value.problems[0].line == 2 and "112345" in caught.value.problems[0].fix


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("12,5", 12.5),
        (" -0,125 ", -0.125),
        ("0,500", 0.5),
        ("1234,567", 1234.567),
        ("1 234,5", 1234.5),
        ("1\u202f234\u202f567", 1234567),
        ("1'234.5", 1234.5),
        ("1.234,5", 1234.5),
        ("1,234.5", 1234.5),
        ("1,234,567", 1234567),
        ("1.234.567", 1234567),
        ("1.234", 1.234),
        ("−3.5e-2", -0.035),
        (".5", 0.5),
        ("5.", 5),
        ("+7", 7),
        ("1,5e3", 1500),
    ],
)
def test_numbers_as_people_write_them(text: str, value: float) -> None:
    assert parse_number(text) == value


@pytest.mark.parametrize(
    "text", ["", "x", "1,2,3", "12 34", "1.2.3", "1,234", "nan", "inf", "5 kN", "1,23.4,5", "--1", "٣"]
)
def test_what_is_no_number_or_two_is_refused(text: str) -> None:
    with pytest.raises(BadInput):
        parse_number(text)


@given(st.floats(allow_nan=False, allow_infinity=False), st.sampled_from(",."))
def test_any_float_survives_being_written(value: float, mark: str) -> None:
    assert parse_number(repr(value).replace(".", mark), decimal=mark) == value


@given(st.text(max_size=12))
def test_any_text_is_a_finite_number_or_bad_input(text: str) -> None:
    with contextlib.suppress(BadInput):
        assert math.isfinite(parse_number(text))


def test_an_unquoted_decimal_comma_is_called_so(tmp_path: Path) -> None:
    path = tmp_path / "calibration.csv"
    path.write_text("applied,reading,direction\n100,12,5,up\n")
    with pytest.raises(BadFile, match=r"3 column names: the comma .* as in 12,5") as wrong:
        read_table(path)
    assert '12.5, or "12,5" in quotes' in wrong.value.fix
    path.write_text("applied;reading;direction\n100;12;5;up\n")
    with pytest.raises(BadFile, match="quote the cell that holds the separator"):
        read_table(path)


@pytest.mark.parametrize(
    "above", ["Tests, May 2026;;;\nwhat;;which;\n", "\nBench 2\n", ""], ids=["merged", "title", "none"]
)
def test_titles_may_be_above_the_names_of_the_columns(tmp_path: Path, above: str) -> None:
    path = tmp_path / "runs.csv"
    path.write_text(f"{above}run;log;article;block\nr1;a, b.csv;plain;1\n")
    table = read_table(path)
    assert table.columns == ("run", "log", "article", "block")
    assert [(row.line, row.cells["log"]) for row in table.rows] == [(2 + above.count("\n"), "a, b.csv")]


def test_a_remark_is_a_note(tmp_path: Path) -> None:
    path = tmp_path / "runs.csv"
    path.write_text("run,article,remark\nr1,plain,ok\n")
    (problem,) = read_table(path).column_problems(("run", "article"), ("run", "note"))
    assert problem.fix == "did you mean 'note'?"
