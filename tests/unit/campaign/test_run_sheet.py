"""Each row of a run sheet is a run, or is told with its line while the others go in."""

import datetime
from dataclasses import replace
from pathlib import Path

import openpyxl
import pytest

from strikeproof.campaign.records import Article, Bolt, Campaign, Protocol, Rig, RunRow, Tool
from strikeproof.campaign.run_sheet import parse_started, read_run_sheet
from strikeproof.campaign.sheet_text import write_run_sheet_text
from strikeproof.errors import BadFile, Problem

TWO_TOOLS = Campaign(
    name="two",
    reference="plain",
    margin_percent=3.0,
    currency="EUR",
    protocol=Protocol(),
    rig=Rig("rig"),
    bolt=Bolt(),
    tools=(Tool("air"), Tool("cam")),
    articles=(Article("plain"), Article("ring")),
)
ONE_TOOL = replace(TWO_TOOLS, tools=(Tool("air"),))


def read(path: Path, text: str, campaign: Campaign = TWO_TOOLS) -> tuple[tuple[RunRow, ...], list[Problem]]:
    path = path / "runs.csv"
    path.write_text(text, encoding="utf-8")
    rows, problems = read_run_sheet(path, campaign)
    return rows, list(problems)


def test_all_columns_arrive(tmp_path: Path) -> None:
    rows, problems = read(
        tmp_path,
        "run;log;tool;article;block;bolt;started;set aside;note;score\n"
        "# warm-up not counted\n\n"
        "r1;r1.csv;cam;ring;2;b7;2026-05-04 09:30:00;jaw slipped;oiled;101,5\n"
        "r2;r2.csv;air;plain;2;;;;;\n",
    )
    assert problems == []
    assert rows == (
        RunRow(
            "r1", "ring", "cam", "2", "r1.csv", "b7", "2026-05-04 09:30:00", "jaw slipped", "oiled", 101.5, 4
        ),
        RunRow("r2", "plain", "air", "2", "r2.csv", line=5),
    )


def test_a_workbook_is_as_good(tmp_path: Path) -> None:
    book = openpyxl.Workbook()
    book.active.append(["Run", "Log", "Tool", "Article", "Block", "Started", "Set aside", "Score"])
    started = datetime.datetime(2026, 5, 4, 9, 30, 15)
    book.active.append([1, "1.csv", "air", "plain", 1, started, None, None])
    book.active.append([])
    book.active.append([2, None, "cam", "ring", 1, None, None, 88.25])
    book.save(tmp_path / "runs.xlsx")
    rows, problems = read_run_sheet(tmp_path / "runs.xlsx", TWO_TOOLS)
    assert problems == ()
    assert rows == (
        RunRow("1", "plain", "air", "1", "1.csv", started="2026-05-04T09:30:15", line=2),
        RunRow("2", "ring", "cam", "1", score=88.25, line=4),
    )


def test_the_only_tool_need_not_be_named(tmp_path: Path) -> None:
    rows, problems = read(tmp_path, "run,article,block,log\n1,plain,1,a.csv\n", ONE_TOOL)
    assert (rows[0].tool, problems) == ("air", [])
    with pytest.raises(BadFile, match="no column 'tool'"):
        read(tmp_path, "run,article,block,log\n1,plain,1,a.csv\n")


@pytest.mark.parametrize(
    ("row", "what", "fix"),
    [
        ("2,2.csv,air,rink,1,,", "unknown article 'rink'", "did you mean 'ring'?"),
        ("2,2.csv,air,zzz,1,,", "unknown article 'zzz'", "add an [[article]] of that name to campaign.toml"),
        ("2,2.csv,cm,ring,1,,", "unknown tool 'cm'", "did you mean 'cam'?"),
        ("2,2.csv,,ring,1,,", "tool is empty", "name one of: air, cam"),
        (",2.csv,air,ring,1,,", "run is empty", "fill in the run"),
        ("2,2.csv,air,ring,,,", "block is empty", "fill in the block"),
        ("2,,air,ring,1,,", "neither a log nor a score", "name the log file"),
        ("2,,air,ring,1,-4,", "score -4 is not a number above zero", "positive"),
        ("2,,air,ring,1,1e999,", "score inf is not a number above zero", "positive"),
        ("2,,air,ring,1,strong,", "'strong' is not a number", "write it like 12.5"),
        ("1,2.csv,air,ring,1,,", "run '1' is on line 2 already", "give each run its own name"),
        ("2,1.csv,air,ring,1,,", "log '1.csv' belongs to run '1' already", "name the log of this run"),
        ("2,2.csv,air,ring,1,,No", "set_aside: 'No' is no reason", "leave it empty when the run counts"),
    ],
)
def test_a_wrong_row_is_told_and_the_others_go_in(tmp_path: Path, row: str, what: str, fix: str) -> None:
    sheet = (
        f"run,log,tool,article,block,score,set_aside\n1,1.csv,air,plain,1,,\n{row}\n3,3.csv,air,ring,1,,\n"
    )
    rows, problems = read(tmp_path, sheet)
    assert [each.run for each in rows] == ["1", "3"]
    assert [problem.line for problem in problems] == [3]
    assert what in problems[0].problem
    assert fix in problems[0].fix


def test_a_row_with_several_mistakes_tells_them_all(tmp_path: Path) -> None:
    sheet = "run,log,tool,article,block,started\n,,cm,rink,,yesterday\n"
    rows, problems = read(tmp_path, sheet)
    assert rows == ()
    assert len(problems) == 6


def test_an_unknown_column_is_told_and_the_runs_go_in(tmp_path: Path) -> None:
    rows, problems = read(tmp_path, "run,log,tool,article,block,sett aside\n1,1.csv,air,plain,1,\n")
    assert len(rows) == 1
    assert [(each.line, each.fix) for each in problems] == [(1, "did you mean 'set_aside'?")]


def test_a_sheet_without_runs_is_told(tmp_path: Path) -> None:
    rows, problems = read(tmp_path, "run,log,tool,article,block\n")
    assert rows == ()
    assert [problem.problem for problem in problems] == ["the run sheet has no runs yet"]


@pytest.mark.parametrize(
    ("text", "when"),
    [
        ("2026-05-04 09:30:15", datetime.datetime(2026, 5, 4, 9, 30, 15)),
        ("2026-05-04T09:30", datetime.datetime(2026, 5, 4, 9, 30)),
        ("2026-05-04T09:30:15Z", datetime.datetime(2026, 5, 4, 9, 30, 15, tzinfo=datetime.UTC)),
        ("4.5.2026 9:30", datetime.datetime(2026, 5, 4, 9, 30)),
        ("04.05.2026 09:30:15", datetime.datetime(2026, 5, 4, 9, 30, 15)),
        ("2026/05/04 09:30", datetime.datetime(2026, 5, 4, 9, 30)),
        ("05/04/2026 09:30", None),  # month or day first: it can be read in two ways
        ("05/14/2026 09:30", datetime.datetime(2026, 5, 14, 9, 30)),
        ("14/05/2026 09:30", datetime.datetime(2026, 5, 14, 9, 30)),
        ("5/4/2026 9:30:15 PM", datetime.datetime(2026, 5, 4, 21, 30, 15)),
        ("5/4/2026 12:30 a.m.", datetime.datetime(2026, 5, 4, 0, 30)),
        ("14/5/2026 9:30 PM", datetime.datetime(2026, 5, 14, 21, 30)),
        ("31/02/2026 09:30", None),
        ("soon", None),
        ("", None),
    ],
)
def test_start_times(text: str, when: datetime.datetime | None) -> None:
    assert parse_started(text) == when


def test_one_clear_date_decides_for_the_whole_column(tmp_path: Path) -> None:
    sheet = "run,log,tool,article,block,started\n1,1.csv,air,ring,1,{}\n2,2.csv,air,ring,1,{}\n"
    for other, month in (("05/14/2026 09:30", 5), ("14/05/2026 09:30", 4)):
        rows, problems = read(tmp_path, sheet.format("05/04/2026 09:30", other))
        assert not problems
        assert parse_started(rows[0].started or "") == datetime.datetime(2026, month, 9 - month, 9, 30)
    rows, problems = read(tmp_path, sheet.format("05/04/2026 09:30", "06/04/2026 09:30"))
    assert not rows
    assert ["may begin with the day or with the month" in each.problem for each in problems] == [True, True]


@pytest.mark.parametrize("odd", ["\0", "\x1b[31m", "\x07", "\x9b", "\u202e", "\ufffe"])
def test_an_odd_character_in_a_note_is_said_and_the_run_goes_in(tmp_path: Path, odd: str) -> None:
    sheet = f"run,log,tool,article,block,note\nr1,r1.csv,air,plain,1,sl{odd}ipped\nr2,r2.csv,air,plain,1,\n"
    rows, problems = read(tmp_path, sheet)
    assert [row.run for row in rows] == ["r1", "r2"] and rows[0].note is not None
    assert rows[0].note.startswith("sl\N{REPLACEMENT CHARACTER}") and rows[0].note.isprintable()
    (problem,) = problems
    assert problem.line == 2 and problem.problem.startswith("note: character 3 is ")
    assert problem.fix.startswith("type the cell again")


@pytest.mark.parametrize("column", ["run", "log", "tool", "article", "block", "bolt", "started", "score"])
def test_an_odd_character_in_a_name_is_a_problem_of_its_row(tmp_path: Path, column: str) -> None:
    cells = {"run": "r1", "log": "r1.csv", "tool": "air", "article": "plain", "block": "1", "score": "12"}
    cells[column] = cells.get(column, "") + "\x1bb"
    sheet = f"{','.join(cells)}\n{','.join(cells.values())}\n"
    rows, problems = read(tmp_path, sheet)
    assert not rows and any("ESC" in each.problem and each.line == 2 for each in problems)


def test_names_and_notes_have_a_greatest_length(tmp_path: Path) -> None:
    lines = (
        "run,log,tool,article,block,note",
        f"r{'1' * 80},a.csv,air,plain,1,",
        f"r2,b.csv,air,plain,1,{'x' * 2001}",
    )
    sheet = "\n".join(lines)
    rows, problems = read(tmp_path, sheet)
    assert not rows
    assert [each.problem for each in problems] == [
        "run: it has 81 characters, a name at most 80",
        "note: it has 2,001 characters, a text at most 2,000",
    ]


def test_cells_that_begin_like_a_formula_come_back_as_they_were(tmp_path: Path) -> None:
    path = tmp_path / "runs.csv"
    said = {"run": "=r1", "log": "-1.csv", "tool": "air", "article": "plain", "block": "-1", "note": "@home"}
    path.write_text(write_run_sheet_text([said]), encoding="utf-8")
    assert "'=r1,'-1.csv,air,plain,-1," in path.read_text(encoding="utf-8")
    rows, problems = read_run_sheet(path, TWO_TOOLS)
    assert not problems
    assert (rows[0].run, rows[0].log, rows[0].block, rows[0].note) == ("=r1", "-1.csv", "-1", "@home")
