"""A log of several runs is refused with where each begins, shown as runs, and cut when that is confirmed."""

from __future__ import annotations

from pathlib import Path

import pytest
from typer.testing import CliRunner

from strikeproof.capture.many_runs import ManyRuns
from strikeproof.capture.reading import read_log
from strikeproof.cli import app
from strikeproof.desk.loading.cutting import cut_log
from strikeproof.errors import BadFile, BadInput

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
    text = text.replace("Load", "Last Größe", 1).replace("\r\n", "\n").replace("\n", end)
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
