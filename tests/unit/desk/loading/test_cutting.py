"""A log of several runs is refused with where each begins, shown as runs, and cut when that is confirmed."""

from __future__ import annotations

import shlex
from pathlib import Path

import pytest
from typer.testing import CliRunner

from strikeproof.capture.log import Log
from strikeproof.capture.many_runs import ManyRuns
from strikeproof.capture.reading import read_log
from strikeproof.cli import app
from strikeproof.desk.loading.cutting import Cut, cut_log
from strikeproof.errors import BadFile, BadInput, StoreError

CORPUS = Path(__file__).parents[3] / "corpus" / "many-runs"
ONE_RUN = Path(__file__).parents[3] / "corpus" / "by-hand" / "01-plain-comma.csv"


@pytest.fixture
def log(tmp_path: Path) -> Path:
    path = tmp_path / "day.csv"
    path.write_bytes((CORPUS / "titled.csv").read_bytes())
    return path


def test_the_refusal_says_where_each_run_begins_and_what_cuts_it(log: Path) -> None:
    with pytest.raises(ManyRuns, match=r"3 runs .* lines 3, 36, 69; cut it: strikeproof cut") as refusal:
        read_log(log)
    assert refusal.value.lines == (3, 36, 69)


@pytest.mark.parametrize(
    "name", ["time-begins-again", "header-again", "blank-line-between", "titled", "run-column"]
)
def test_every_piece_is_a_log_of_one_run(tmp_path: Path, name: str) -> None:
    cut = cut_log(CORPUS / f"{name}.csv", out=tmp_path, write=True)
    logs = [read_log(target) for target in cut.targets if target]
    assert [len(each.time) for each in logs] == [30, 30, 30]
    assert [each.time[0] for each in logs] == [0.0, 0.0, 0.0]
    loads = [each.channel("Load") for each in logs]
    assert {each.unit for each in loads} == {"kN"}
    assert [each.values.max() for each in loads] == [piece.largest for piece in cut.pieces]
    assert [target.name for target in cut.targets if target] == [f"{name}-{i}.csv" for i in (1, 2, 3)]


def test_long_pauses_are_offered_although_the_time_goes_on(tmp_path: Path) -> None:
    cut = cut_log(CORPUS / "long-pauses.csv", out=tmp_path)
    assert [piece.begins for piece in cut.pieces] == ["first", "pause", "pause"]


def test_nothing_is_written_before_it_is_confirmed(log: Path) -> None:
    before = log.read_bytes()
    cut = cut_log(log, ("r1", "-", "r3"))
    assert not cut.written and [each.name for each in log.parent.iterdir()] == ["day.csv"]
    cut = cut_log(log, ("r1", "-", "r3"), write=True)
    assert sorted(each.name for each in log.parent.iterdir()) == ["day.csv", "r1.csv", "r3.csv"]
    assert log.read_bytes() == before
    with pytest.raises(BadFile, match="there already"):
        cut_log(log, ("r1", "-", "r4"), write=True)
    assert not (log.parent / "r4.csv").exists()


@pytest.mark.parametrize(
    "runs",
    [
        ("a", "b"),
        ("a", "a", "b"),
        ("a", "../b", "c"),
        ("a", "b\x07", "c"),
        ("a", "A", "b"),
        ("é", "E\u0301", "b"),
        ("a", 300 * "n", "b"),
    ],
)
def test_names_that_cannot_be_are_refused(log: Path, runs: tuple[str, ...]) -> None:
    with pytest.raises(BadInput):
        cut_log(log, runs, write=True)


def test_the_command_shows_first_and_gives_the_command_that_cuts(log: Path) -> None:
    shown = CliRunner().invoke(app, ["cut", str(log), "r1", "r2", "r3"])
    assert shown.exit_code == 0 and "the time begins again" in shown.output and "r2.csv" in shown.output
    assert f"strikeproof cut {log} r1 r2 r3 --write" in shown.output
    assert "one run" in CliRunner().invoke(app, ["cut", str(ONE_RUN)]).output


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "cp1252", "utf-16", "utf-16-be", "utf-32"])
@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
def test_a_piece_keeps_the_encoding_and_line_ends_of_its_log(tmp_path: Path, encoding: str, end: str) -> None:
    text = (CORPUS / "titled.csv").read_bytes().decode()
    text = text.replace("Load", "Last Größe").replace("\r\n", "\n").replace("\n", end)
    log = tmp_path / "day.csv"
    log.write_bytes(text.encode(encoding))
    pieces = [each.read_bytes() for each in cut_log(log, write=True).targets if each]
    texts = [each.decode(encoding) for each in pieces]
    assert {each.count("Größe") for each in texts} == {1}
    assert {len(each.replace(end, "")) + len(end) * each.count(end) for each in texts} == set(map(len, texts))
    assert all(each.endswith(end) for each in texts)
    assert [each.encode(encoding) for each in texts] == pieces
    whole = "".join(line for each in texts for line in each.splitlines(keepends=True)[-30:])
    assert all(line in text for line in whole.splitlines(keepends=True))


_FIRST = [f"{i / 10},{10 * i},20" for i in range(8)]
_LATER = [f"{i / 10},{7000 * i},20" for i in range(8)]
_HEAD = "time [s],load [kN],temp [C]"


def cut_lines(folder: Path, *lines: str) -> tuple[Cut, list[Log]]:
    log = folder / "two.csv"
    log.write_text("\n".join((*lines, "")))
    cut = cut_log(log, write=True, out=folder / "made" / "here")
    return cut, [read_log(target) for target in cut.targets if target]


@pytest.mark.parametrize(
    ("between", "later"),
    [
        (["", "time [s],load [N],temp [C]"], _LATER),
        (["time [s],load [N],temp [C]"], _LATER),
        (["time,load,temp", "s,N,C"], _LATER),
        (["Run 2", "time [s],temp [C],load [N]"], [f"{i / 10},20,{7000 * i}" for i in range(8)]),
    ],
)
def test_a_run_is_read_by_its_own_head(tmp_path: Path, between: list[str], later: list[str]) -> None:
    cut, logs = cut_lines(tmp_path, "Rig: simulated", _HEAD, *_FIRST, *between, *later)
    loads = [log.channel("load") for log in logs]
    assert [(load.unit, load.values.max()) for load in loads] == [("kN", 70.0), ("N", 49000.0)]
    shown = cut.pieces[1]
    assert (shown.channel, shown.unit, shown.largest) in [("load", "N", 49000.0), ("temp", "C", 20.0)]


def test_notes_between_runs_go_with_the_later_one(tmp_path: Path) -> None:
    cut, logs = cut_lines(tmp_path, _HEAD, *_FIRST, "# run 2: socket B, invented", *_FIRST, "Summary: max 70")
    assert "socket B" not in cut.targets[0].read_text() and "# run 2: socket B" in cut.targets[1].read_text()
    assert cut.targets[1].read_text().endswith("Summary: max 70\n")
    assert [log.channel("load").values.max() for log in logs] == [70.0, 70.0]


@pytest.mark.parametrize("head", ["time [s],load [N]", "load [N],time [s]"])
def test_other_columns_named_later_are_refused(tmp_path: Path, head: str) -> None:
    log = tmp_path / "two.csv"
    log.write_text("\n".join([_HEAD, *_FIRST, head, *(row[:-3] for row in _FIRST), *_FIRST, ""]))
    with pytest.raises(BadFile, match="line 10: names other columns"):
        cut_log(log)


def test_a_row_of_two_lines_is_not_cut(tmp_path: Path) -> None:
    rows = [*(f"{i / 10},{i},a" for i in range(7)), '0.7,7,"a\nb"']
    cut, _logs = cut_lines(tmp_path, "time [s],load [kN],note", *rows, *rows)
    texts = [target.read_text() for target in cut.targets if target]
    assert [text.endswith('"a\nb"\n') for text in texts] == [True, True]


def test_a_few_samples_behind_the_last_run_are_one_too(tmp_path: Path) -> None:
    cut, _logs = cut_lines(tmp_path, _HEAD, *_FIRST, *_FIRST[:3])
    assert [piece.samples for piece in cut.pieces] == [8, 3]


def test_the_refusal_names_the_log_with_its_folder(log: Path) -> None:
    with pytest.raises(ManyRuns, match=f"strikeproof cut {log}"):
        read_log(log)


def test_the_command_it_gives_runs_as_it_is(log: Path, tmp_path: Path) -> None:
    out = tmp_path / "new" / "folder"
    given = ["cut", "-o", str(out), "--rate", "10", "--", str(log), "-x", "-y", "-"]
    shown = CliRunner().invoke(app, given).output
    words = shlex.split(shown[shown.index("strikeproof cut") :])[1:]
    assert CliRunner().invoke(app, words).exit_code == 0
    assert sorted(each.name for each in out.iterdir()) == ["-x.csv", "-y.csv"]


def test_a_folder_that_cannot_be_made_is_said_to_be(log: Path, tmp_path: Path) -> None:
    (tmp_path / "file").touch()
    with pytest.raises(StoreError, match="folder cannot be made"):
        cut_log(log, out=tmp_path / "file" / "new", write=True)
