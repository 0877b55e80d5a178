"""What a person or a page types with odd characters is refused, and nothing is harmed by it."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from tests.unit.desk.live_bench import write_campaign

from strikeproof.campaign.run_sheet import read_run_sheet
from strikeproof.desk.loading.load import load_campaign
from strikeproof.desk.recording.recorder import open_recorder
from strikeproof.desk.recording.station_commands import check_command
from strikeproof.desk.runs.standing import set_run_aside
from strikeproof.desk.setting_up.editor import start_set_up
from strikeproof.desk.setting_up.run_rows import read_run_cells
from strikeproof.desk.workspace.opening import open_campaign
from strikeproof.errors import BadInput

NASTY = ("a\0b", "\x1b[2Jgone", "a\x9bb", "half \ud800", "dna\u202e", "no\ufffe", "x" * 2001)


@pytest.fixture
def lab(tmp_path: Path) -> Path:
    folder = write_campaign(tmp_path / "campaign")
    with (folder / "runs.csv").open("a") as lines:
        lines.write("n1,,air,plain,1,,,,,101.5\nn2,,air,ring,1,,,,,103\n")
    load_campaign(folder, tmp_path / "lab")
    return tmp_path / "lab"


def test_the_rig_refuses_what_no_text_may_hold_and_its_sheet_stays_readable(lab: Path) -> None:
    with open_recorder(lab) as recorder:
        book = recorder.book
        doing: tuple[Callable[[str], object], ...] = (
            lambda text: book.note("n1", text),
            lambda text: book.set_aside("n1", text),
            book.change_bolt,
            book.leave_out,
        )
        book.add_block("air")
        for do in doing:
            for text in NASTY:
                with pytest.raises(BadInput, match=r"character \d+ is|it has 2,001"):
                    do(text)
        book.note("n1", "slipped\n\tonce")
        book.set_aside("n2", "=1+1")
        with pytest.raises(BadInput, match="reason is empty"):
            book.set_aside("n1", " \n")
    (place,) = (lab / "campaigns").iterdir()
    cells = {line["run"]: line for line in read_run_cells(place / "runs.csv")}
    assert (cells["n1"]["note"], cells["n2"]["set_aside"]) == ("slipped once", "=1+1")
    assert "'=1+1" in (place / "runs.csv").read_text(encoding="utf-8")
    rows, problems = read_run_sheet(place / "runs.csv", open_campaign(lab, None)[2])
    assert [row.run for row in rows] == ["n1", "n2"]
    assert {each.problem for each in problems} == {"neither a log nor a score"}  # the planned ones


@pytest.mark.parametrize("text", NASTY)
def test_a_reason_a_command_and_a_campaign_are_refused_by_field(lab: Path, text: str) -> None:
    for field, do in (
        ("reason", lambda: set_run_aside(lab, None, "n1", text)),
        ("note", lambda: check_command("note", ("n1", text))),
        ("bolt", lambda: check_command("bolt", (text,))),
        ("campaign.name", lambda: start_set_up(lab, text)),
    ):
        with pytest.raises(BadInput) as told:
            do()
        assert told.value.where == field and str(told.value).isprintable()
    assert open_campaign(lab, None)[0].find_run(1, "n1").set_aside is None
