"""An article that comes late is planned in a block of its own with the reference; no line is changed."""

from __future__ import annotations

from collections import Counter
from pathlib import Path

import pytest
from tests.commands import strikeproof

from strikeproof.campaign.folder import read_folder
from strikeproof.desk.planning.extra_block import keep_block, plan_block
from strikeproof.desk.planning.sheet import keep_sheet, plan_sheet
from strikeproof.desk.setting_up.editor import change_set_up, start_set_up
from strikeproof.desk.setting_up.edits import add_entry, all_of, set_value
from strikeproof.desk.setting_up.run_rows import hold_sheet, read_run_cells
from strikeproof.desk.workspace.opening import campaign_names
from strikeproof.errors import BadInput, StoreError

NAME = "Rollers"


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A campaign whose sheet of two tools and two repeats is made."""
    start_set_up(tmp_path, NAME)
    edit = all_of(
        add_entry("tool", {"name": "air-a"}),
        add_entry("tool", {"name": "cordless-b"}),
        add_entry("article", {"name": "plain"}),
        add_entry("article", {"name": "ring"}),
        set_value(("protocol", "repeats"), 2),
        set_value(("bolt", "runs_per_bolt"), 6),
    )
    made = change_set_up(tmp_path, NAME, edit).set_up
    keep_sheet(tmp_path, NAME)
    return made.folder


def make(folder: Path, rows: tuple[dict[str, str], ...]) -> None:
    for row in rows:
        (folder / "logs" / row["log"]).write_text("time,load\n0,1\n")


def adopt(workspace: Path, *names: str) -> None:
    change_set_up(workspace, NAME, all_of(*(add_entry("article", {"name": name}) for name in names)))


def test_the_command_line_plans_it_too(tmp_path: Path, folder: Path) -> None:
    before = read_run_cells(folder / "runs.csv")
    adopt(tmp_path, "long")
    said, _ = strikeproof("plan", folder, "--late")
    assert "6 runs added, r013 to r018: long with plain, 1 block with each tool" in said
    again = f"strikeproof plan {folder} --late"
    assert f"1 more block is needed for the repeats that are planned: {again}" in said
    assert read_run_cells(folder / "runs.csv")[:12] == before
    said, _ = strikeproof("plan", folder, "--late")  # the second of two repeats
    assert "r019 to r024" in said and "with it every article has the repeats that are planned" in said
    _, said = strikeproof("plan", folder, "--late", code=2)
    assert "every article has its runs on the sheet already" in said


def test_the_help_says_where_the_reference_is() -> None:
    said = " ".join(strikeproof("plan", "--help")[0].split())
    assert "the reference twice in each at random places" in said
    assert "random" in next(line for line in strikeproof("--help")[0].splitlines() if " plan " in line)


@pytest.mark.parametrize("recorded", [12, 4])
def test_one_press_plans_a_block_with_the_reference(tmp_path: Path, folder: Path, recorded: int) -> None:
    before = plan_sheet(tmp_path, NAME).cells
    make(folder, before[:recorded])
    adopt(tmp_path, "long", "thick")
    block = keep_block(tmp_path, NAME)
    sheet = plan_sheet(tmp_path, NAME)
    assert sheet.on_disk and sheet.cells[:12] == before  # nothing that was on it is changed
    fresh = sheet.cells[12:]
    assert fresh == block.cells and block.articles == ("long", "thick")
    assert [row["run"] for row in fresh] == [f"r{n:03d}" for n in range(13, 21)]
    of_tools = Counter((row["tool"], row["block"]) for row in fresh)
    assert of_tools == {("air-a", "5"): 4, ("cordless-b", "6"): 4}
    for tool, number in of_tools:
        names = [row["article"] for row in fresh if row["tool"] == tool and row["block"] == number]
        assert sorted(names) == ["long", "plain", "plain", "thick"]
    assert not {row["bolt"] for row in fresh} & {row["bolt"] for row in before}
    assert len(read_folder(folder).rows) == 20
    assert campaign_names(tmp_path) == (NAME,)


def test_it_can_be_pressed_until_every_article_has_its_repeats(tmp_path: Path, folder: Path) -> None:
    make(folder, plan_sheet(tmp_path, NAME).cells)
    assert plan_sheet(tmp_path, NAME).short == ()
    adopt(tmp_path, "long")
    assert plan_sheet(tmp_path, NAME).short == ("long",)
    first = keep_block(tmp_path, NAME)
    assert plan_sheet(tmp_path, NAME).short == ("long",)
    make(folder, first.cells)  # recorded or not, the next one comes after it
    second = keep_block(tmp_path, NAME)
    assert not {row["block"] for row in first.cells} & {row["block"] for row in second.cells}
    assert plan_sheet(tmp_path, NAME).on_disk and plan_sheet(tmp_path, NAME).short == ()
    with pytest.raises(BadInput, match="every article has its runs"):
        keep_block(tmp_path, NAME)


def test_the_rest_planned_anew_leaves_the_block_where_it_is(tmp_path: Path, folder: Path) -> None:
    make(folder, plan_sheet(tmp_path, NAME).cells[:4])
    adopt(tmp_path, "long")
    block = keep_block(tmp_path, NAME)
    change_set_up(tmp_path, NAME, set_value(("protocol", "repeats"), 3))
    assert not plan_sheet(tmp_path, NAME).on_disk
    cells = keep_sheet(tmp_path, NAME).cells
    assert all(row in cells for row in block.cells)
    assert plan_sheet(tmp_path, NAME).on_disk


def test_what_is_shown_is_what_is_written(tmp_path: Path, folder: Path) -> None:
    make(folder, plan_sheet(tmp_path, NAME).cells)
    adopt(tmp_path, "long")
    text = (folder / "runs.csv").read_bytes()
    shown = plan_block(tmp_path, NAME)
    assert (folder / "runs.csv").read_bytes() == text
    assert keep_block(tmp_path, NAME).cells == shown.cells


def test_there_must_be_a_sheet_and_nobody_may_record_on_it(tmp_path: Path, folder: Path) -> None:
    make(folder, plan_sheet(tmp_path, NAME).cells)
    adopt(tmp_path, "long")
    with hold_sheet(folder), pytest.raises(StoreError, match="being recorded"):
        keep_block(tmp_path, NAME)
    (folder / "runs.csv").unlink()
    with pytest.raises(BadInput, match="no run sheet"):
        plan_block(tmp_path, NAME)


def test_where_nothing_says_how_many_repeats_it_is_as_many_as_of_the_others(
    tmp_path: Path, folder: Path
) -> None:
    make(folder, plan_sheet(tmp_path, NAME).cells)
    adopt(tmp_path, "long")
    change_set_up(tmp_path, NAME, set_value(("protocol", "repeats"), None))
    for _ in range(2):
        assert keep_block(tmp_path, NAME).articles == ("long",)
    with pytest.raises(BadInput, match="every article has its runs"):
        plan_block(tmp_path, NAME)


def test_the_places_of_the_reference_are_random(tmp_path: Path, folder: Path) -> None:
    """Three runs, two of them the reference: the article stands at each of the three places, over seeds."""
    make(folder, plan_sheet(tmp_path, NAME).cells)
    adopt(tmp_path, "long")
    places = set()
    for seed in range(1, 12):
        change_set_up(tmp_path, NAME, set_value(("protocol", "seed"), seed))
        names = [row["article"] for row in plan_block(tmp_path, NAME).cells if row["tool"] == "air-a"]
        places.add(names.index("long"))
    assert places == {0, 1, 2}


HAND_MADE = (
    "# Halle 3\r\n"
    "Block;Run;Article;Tool;Log;Prüfer;Score;Note\r\n"
    '1; r001 ;plain;air-a;;Ä;812,345;"warm; dry"\r\n'
    "1;r002;ring;air-a;;Ö;799,120\r\n"
    "# day two\r\n"
    "1;r003;plain;air-a;;Ä;806,5;\r\n"
)


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "cp1252", "utf-16"])
@pytest.mark.parametrize("end", ["\r\n", ""])
def test_a_persons_own_sheet_is_only_appended_to(folder: Path, encoding: str, end: str) -> None:
    sheet = folder / "runs.csv"
    before = (HAND_MADE.removesuffix("\r\n") + end).encode(encoding)
    sheet.write_bytes(before)
    rows = read_run_cells(sheet)
    strikeproof("plan", folder, "--late")
    after = sheet.read_bytes()
    assert after.startswith(before)
    assert read_run_cells(sheet)[:3] == rows
    added = after.decode(encoding).removeprefix(HAND_MADE).split("\r\n")
    assert added[0].split(";")[1] == "r004" and "," not in added[0] and added[-1] == ""
    found = read_folder(folder)
    assert [row.score for row in found.rows[:3]] == [812.345, 799.12, 806.5]
    assert not [each for each in found.problems if "two ways" in each.problem]
