"""Opening the recorder loses no file: a run is kept, what is no run is moved aside, all else is left."""

from __future__ import annotations

import errno
from pathlib import Path

import numpy as np
import pyarrow as pa
import pytest
from tests.unit.desk.live_bench import make_workspace

from strikeproof.capture.recording import RecordingWriter
from strikeproof.desk.recording import book
from strikeproof.desk.recording.book import look_at_leftover
from strikeproof.desk.recording.recorder import open_recorder
from strikeproof.errors import BadFile, Problem

CELLS = {"run": "r009", "article": "plain", "tool": "air", "block": "9"}


def recording(path: Path, samples: int = 400, about: object = None, **more: str) -> bytes:
    """What a killed recorder leaves: samples at 100 S/s, and no word of how it ended."""
    told = {"cells": CELLS if about is None else about, "strikeproof": "0.1.0", **more}
    writer = RecordingWriter(path, [("load", "kN")], told)
    time = np.arange(samples) / 100.0
    for begin in range(0, samples, 100):
        part = time[begin : begin + 100]
        writer.add(part, np.full((len(part), 1), 2.0), (), float(begin))
    writer._write({})
    writer.abandon()
    return path.read_bytes()


@pytest.fixture
def lab(tmp_path: Path) -> Path:
    lab = make_workspace(tmp_path)
    open_recorder(lab).close()
    return lab


def logs_of(lab: Path) -> Path:
    return lab / "campaigns" / "drum-rollers" / "logs"


def every_file(lab: Path) -> set[bytes]:
    return {path.read_bytes() for path in logs_of(lab).parent.rglob("*.arrows") if path.is_file()}


def test_nothing_that_lies_among_the_recordings_is_deleted(lab: Path, tmp_path: Path) -> None:
    whole = recording(tmp_path / "whole.arrows")
    table = pa.table({"time": [0.0, 1.0, 2.0], "load": [1.0, 2.0, 3.0]})
    sink = pa.BufferOutputStream()
    with pa.ipc.new_stream(sink, table.schema) as stream:
        stream.write_table(table)
    files = {
        "foreign.arrows": sink.getvalue().to_pybytes(),
        "notes.arrows": b"what the driver said",
        "r002.arrows": b"\xff\xff\xff\xff\x10",
        "r003.arrows": b"\x00" + whole[1:],
        "r004.arrows": recording(tmp_path / "none.arrows", samples=0),
        "r005.arrows": recording(tmp_path / "odd.arrows", about={"run": 5}),
    }
    for name, content in files.items():
        (logs_of(lab) / name).write_bytes(content)
    (logs_of(lab) / "folder.arrows").mkdir()
    with open_recorder(lab) as recorder:
        said = " ".join(recorder.view().messages)
    assert every_file(lab) >= set(files.values())
    assert all(name in said for name in files), said
    left = sorted(path.name for path in logs_of(lab).iterdir())
    assert left == ["folder.arrows", "foreign.arrows", "notes.arrows"]
    aside = logs_of(lab).parent / "not-runs"
    assert (aside / "r003.arrows").read_bytes() == files["r003.arrows"]
    assert "not-runs/r003.arrows" in said and "deleted, because" in said


def test_what_was_moved_aside_is_never_written_over(lab: Path) -> None:
    for _ in range(2):
        (logs_of(lab) / "r001.arrows").write_bytes(b"\xff\xff\xff\xff\x10")
        open_recorder(lab).close()
    aside = logs_of(lab).parent / "not-runs"
    assert sorted(path.name for path in aside.iterdir()) == ["r001.2.arrows", "r001.arrows"]


@pytest.mark.parametrize("mask", [0xFF, 0x10])
def test_one_damaged_byte_leaves_a_recording_ours(tmp_path: Path, mask: int) -> None:
    """Whichever byte of its beginning it is: a run all the same, or named as damaged, and no crash."""
    path = tmp_path / "r009.arrows"
    whole = recording(path)
    kinds = set()
    for at in range(mask % 2, min(len(whole), 900), 7):
        path.write_bytes(whole[:at] + bytes([whole[at] ^ mask]) + whole[at + 1 :])
        kinds.add(look_at_leftover(path).kind)
    assert kinds <= {"run", "damaged", "no samples"} and "damaged" in kinds


@pytest.mark.parametrize("mask", [0x01, 0x80])
def test_no_damaged_byte_makes_another_run_or_another_reading(tmp_path: Path, mask: int) -> None:
    """Of the whole file: what is still a run has the cells and, up to its end, the samples as recorded."""
    path = tmp_path / "r009.arrows"
    whole = recording(path)
    kept = look_at_leftover(path).recorded
    assert kept is not None
    shorter = 0
    for at in range(mask % 2, len(whole), 37):
        path.write_bytes(whole[:at] + bytes([whole[at] ^ mask]) + whole[at + 1 :])
        found = look_at_leftover(path).recorded
        if found is not None:
            assert (found.about, found.names) == (kept.about, kept.names), at
            count = len(found.time)
            np.testing.assert_array_equal(found.time, kept.time[:count])
            np.testing.assert_array_equal(found.values, kept.values[:count])
            shorter += count < len(kept.time)
    assert shorter


@pytest.mark.parametrize(
    "cells",
    [
        {**CELLS, "tool": 5},
        {**CELLS, "block": ["9"]},
        {**CELLS, "note": None},
        {**CELLS, "article": ""},
        {**CELLS, "run": " "},
        {**CELLS, "run": "r009\x1b[2J"},
        {**CELLS, "note": "\ud800"},
        [["run", "r009"]],
        "r009",
    ],
)
def test_cells_that_no_sheet_can_hold_are_damage(tmp_path: Path, cells: object) -> None:
    recording(tmp_path / "r009.arrows", about=cells)
    assert look_at_leftover(tmp_path / "r009.arrows").kind == "damaged"


def test_a_recording_of_an_article_that_is_unknown_is_left_and_named(lab: Path) -> None:
    path = logs_of(lab) / "r009.arrows"
    recording(path, about={**CELLS, "article": "of another campaign"})
    with open_recorder(lab) as recorder:
        said = " ".join(recorder.view().messages)
        assert "r009" not in recorder.book.kept
    assert path.is_file() and "r009.arrows" in said and "of another campaign" in said


def test_a_recording_of_another_campaign_is_left_and_named(lab: Path) -> None:
    path = logs_of(lab) / "r009.arrows"
    recording(path, campaign="another one")
    with open_recorder(lab) as recorder:
        said = " ".join(recorder.view().messages)
        assert "r009" not in recorder.book.kept
    assert path.is_file() and "r009.arrows" in said and "'another one'" in said


def test_a_copy_of_a_recording_makes_no_second_run_and_what_is_kept_is_named(lab: Path) -> None:
    content = recording(logs_of(lab) / "r009.arrows", campaign="drum rollers")
    (logs_of(lab) / "r010.arrows").write_bytes(content)
    with open_recorder(lab) as recorder:
        said = recorder.view().messages
        assert set(recorder.book.kept) == {"r009"}
    assert any("r009 is saved from r009.arrows" in each for each in said), said
    assert any("r010.arrows stays in" in each and "run r009" in each for each in said), said
    with open_recorder(lab) as recorder:
        assert set(recorder.book.kept) == {"r009"}


@pytest.mark.parametrize("wrong", [OSError(errno.ENOSPC, "No space left on device"), MemoryError()])
def test_a_failure_of_the_machine_is_no_damage(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, wrong: Exception
) -> None:
    def fail(*_given: object) -> None:
        raise wrong

    recording(tmp_path / "r009.arrows")
    monkeypatch.setattr(book, "read_recording", fail)
    assert book._look(tmp_path / "r009.arrows").kind == "unread"


def test_a_recording_that_could_not_be_read_stays_and_is_kept_next_time(
    lab: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = logs_of(lab) / "r009.arrows"
    recording(path)

    def broken(path: Path, *_given: object) -> None:
        raise BadFile([Problem(str(path), None, "the reader broke down", "make room")])

    with monkeypatch.context() as full:
        full.setattr(book, "read_bounded", broken)
        with open_recorder(lab) as recorder:
            said = " ".join(recorder.view().messages)
    assert path.is_file() and "could not be read now" in said and "r009.arrows" in said
    with open_recorder(lab) as recorder:
        assert "r009" in recorder.book.kept
