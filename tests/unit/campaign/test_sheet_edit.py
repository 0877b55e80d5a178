"""Other rows in a person's run sheet: all that is not changed stays to the letter."""

from __future__ import annotations

from pathlib import Path

import pytest

from strikeproof.campaign.sheet_edit import edit_sheet
from strikeproof.campaign.table import read_table_of

SHEET = (
    "# first day\n"
    "run;article;block;score;inspector;note\n"
    'r1;plain; 1;812,345;Å;"wet; cold"\n'
    "# day two\n"
    "\n"
    "r2;ring;1;799,120;Å\n"
    "# end"
)
PATH = Path("runs.csv")


def rows_of(content: bytes) -> list[dict[str, str]]:
    return [row.cells for row in read_table_of(PATH, content).rows]


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16-le", "utf-32", "cp1252"])
def test_the_same_rows_are_the_same_bytes(encoding: str) -> None:
    content = SHEET.encode(encoding)
    assert edit_sheet(PATH, content, rows_of(content)) == content


def test_a_new_name_changes_only_its_line() -> None:
    content = SHEET.encode()
    rows = rows_of(content)
    rows[1]["article"] = "thick ring"
    after = edit_sheet(PATH, content, rows).decode()
    assert after == SHEET.replace("r2;ring;1;799,120;Å", "r2;thick ring;1;799,120;Å;")


def test_a_new_score_has_the_decimal_mark_of_the_sheet_and_a_new_column_comes_last() -> None:
    content = SHEET.encode()
    added = {"run": "r3", "article": "ring", "block": "2", "score": "801.5", "log": "r3.csv"}
    after = edit_sheet(PATH, content, [*rows_of(content), added]).decode()
    assert after.endswith("# end\nr3;ring;2;801,5;;;r3.csv\n")
    assert "run;article;block;score;inspector;note;log\n" in after
    assert read_table_of(PATH, after.encode()).number(
        read_table_of(PATH, after.encode()).rows[2], "score"
    ) == (801.5)


def test_a_row_that_goes_leaves_the_comments_and_a_plan_has_one_comment() -> None:
    content = ("# planned by strikeproof, seed 1\n" + SHEET).encode()
    after = edit_sheet(PATH, content, rows_of(content)[:1], "planned by strikeproof, seed 2").decode()
    kept = SHEET.replace("r2;ring;1;799,120;Å\n", "")
    assert after == "# planned by strikeproof, seed 2\n" + kept


def test_a_word_that_the_encoding_lacks_makes_it_unicode() -> None:
    content = SHEET.encode("cp1252")
    rows = rows_of(content)
    rows[0]["note"] = "Ω"
    assert rows_of(edit_sheet(PATH, content, rows)) == rows


@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
def test_a_cell_of_two_lines_stays_one_cell(end: str) -> None:
    content = end.join(["run;article;note", f'r1;plain;"two{end}lines"', "r2;ring;"]).encode()
    rows = rows_of(content)
    rows[0]["article"] = "ring"
    assert rows_of(edit_sheet(PATH, content, rows)) == rows
