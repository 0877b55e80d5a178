"""A recording is on disk as it grows; cut off at any byte it gives back its whole batches and says so."""

from __future__ import annotations

import errno
import subprocess
import sys
from pathlib import Path

import numpy as np
import pyarrow as pa
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from strikeproof.capture import read_log
from strikeproof.capture.received import LineFlag
from strikeproof.capture.recording import RecordingWriter, read_recording
from strikeproof.errors import BadFile, StoreError

ABOUT = {"cells": {"run": "r001"}, "started": "2026-05-04T09:30:00.000+02:00"}


def record(path: Path, batches: int = 20, *, finish: bool = True) -> Path:
    """2000 samples at 1 kS/s in batches of 100, one a fifth of a second; a gap before sample 300."""
    writer = RecordingWriter(path, [("load", "kN"), ("temperature", None)], ABOUT)
    for k in range(batches):
        time = 5.0 + (np.arange(100) + 100 * k) / 1000.0
        odd = [LineFlag("gap", 300, 2, "2 frames were lost on the line")] if k == 3 else []
        writer.add(time, np.column_stack([time * 10, np.full(100, 21.5)]), odd, 0.2 * k)
    if finish:
        writer.finish("done")
    else:
        writer.abandon()
    return path


@pytest.fixture(scope="module")
def whole(tmp_path_factory: pytest.TempPathFactory) -> bytes:
    return record(tmp_path_factory.mktemp("recording") / "r001.arrows").read_bytes()


def test_a_recording_is_a_log_like_any_other(tmp_path: Path) -> None:
    log = read_log(record(tmp_path / "r001.arrows"))
    assert log.sample_rate_hz == pytest.approx(1000.0)
    assert [(each.name, each.unit) for each in log.channels] == [("load", "kN"), ("temperature", None)]
    assert log.started == ABOUT["started"]
    assert log.time[0] == 0.0 and len(log.time) == 2000
    assert [(each.kind, each.first_line, each.count) for each in log.findings] == [("gap", 301, 2)]


def test_the_open_format_is_read_by_its_own_library(tmp_path: Path) -> None:
    """Apache Arrow columnar format 1.x, IPC streaming: any reader of it opens a recording."""
    table = pa.ipc.open_stream(record(tmp_path / "r001.arrows").read_bytes()).read_all()
    assert table.column_names == ["time [s]", "load [kN]", "temperature"]
    assert table.num_rows == 2000


def test_a_recording_that_seems_to_have_no_checksums_is_not_believed(whole: bytes) -> None:
    """One letter of the word that says so in its beginning is damaged: the batches still have theirs."""
    at = whole.index(b"checksum")
    with pytest.raises(BadFile, match="whose beginning is damaged"):
        read_recording(Path("r001.arrows"), whole[:at] + b"cHecksum" + whole[at + 8 :])


def test_a_recording_without_checksums_is_read_as_before(tmp_path: Path) -> None:
    """As earlier recorders wrote it: the same stream without a word beside its batches."""
    table = pa.ipc.open_stream(record(tmp_path / "r001.arrows").read_bytes()).read_all()
    words = {name: text for name, text in table.schema.metadata.items() if name != b"checksum"}
    sink = pa.BufferOutputStream()
    with pa.ipc.new_stream(sink, table.schema.with_metadata(words)) as stream:
        stream.write_table(table.replace_schema_metadata(words))
    found = read_recording(tmp_path / "old.arrows", sink.getvalue().to_pybytes())
    assert len(found.time) == 2000 and found.about == ABOUT


def test_a_damaged_sample_ends_the_recording_before_it(whole: bytes, tmp_path: Path) -> None:
    value = np.float64((5.0 + 1234 / 1000.0) * 10).tobytes()  # as `record` made it
    at = whole.index(value)
    found = read_recording(tmp_path / "r001.arrows", whole[: at + 3] + b"\x7f" + whole[at + 4 :])
    assert found.ending is None and 1000 <= len(found.time) <= 1234
    np.testing.assert_allclose(found.values[:, 0], (5.0 + found.time) * 10)


def test_what_waits_is_on_disk_after_a_fifth_of_a_second(tmp_path: Path) -> None:
    path = tmp_path / "r001.arrows"
    writer = RecordingWriter(path, [("load", None)], {})
    for k in range(50):
        writer.add(np.array([k * 0.05]), np.array([[1.0]]), (), k * 0.05)
        kept = read_recording(path, path.read_bytes())
        assert kept.ending is None
        assert len(kept.time) >= k + 1 - 4
    writer.abandon()


def test_of_a_backlog_all_is_kept_but_the_last_batch_that_has_room(tmp_path: Path) -> None:
    """The quiet before a run comes at once: a disk that is full in its midst keeps what was before."""
    path = tmp_path / "r001.arrows"
    writer = RecordingWriter(path, [("load", None)], {})
    time = np.arange(10_000) / 1000.0
    writer.add(time, time[:, None], [LineFlag("gap", 2000, 2, "lost")], 0.0)
    writer.finish("done")
    raw = path.read_bytes()
    kept = read_recording(path, raw)
    assert np.array_equal(kept.time, time) and np.array_equal(kept.values[:, 0], time)
    assert [each.at for each in kept.line_flags] == [2000] and kept.ending == "done"
    for size in range(2_000, len(raw), 5_000):
        cut = read_recording(path, raw[:size])
        assert 16 * len(cut.time) > size - 20_000 and cut.ending is None
    assert len(read_recording(path, raw[:-100]).time) == len(time)


def test_nothing_is_loaded_in_the_middle_of_a_run(tmp_path: Path) -> None:
    """An Arrow array made of numbers in another way loads pandas, which these tests have."""
    code = """if True:
        import sys
        from pathlib import Path
        import numpy as np
        from strikeproof.capture.recording import RecordingWriter
        writer = RecordingWriter(Path(sys.argv[1]), [("load", None)], {})
        before = set(sys.modules)
        writer.add(np.arange(50.0), np.ones((50, 1)), (), 0.0)
        print(len(set(sys.modules) - before), "pandas" in sys.modules)"""
    words = [sys.executable, "-c", code, str(tmp_path / "r001.arrows")]
    done = subprocess.run(words, capture_output=True, text=True, check=True)
    assert done.stdout.split() == ["0", "False"]


@settings(max_examples=150, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(cut=st.integers(0, 40_000))
def test_cut_at_any_byte_it_says_so_and_holds_no_wrong_value(whole: bytes, tmp_path: Path, cut: int) -> None:
    path = tmp_path / "cut.arrows"
    part = whole[: min(cut, len(whole) - 1)]
    path.write_bytes(part)
    try:
        log = read_log(path)
    except BadFile:
        log = None
    if log is None:
        assert len(part) < 3200
        return
    assert np.allclose(log.channels[0].values, (log.time + 5.0) * 10)
    told = [each.kind for each in log.findings]
    if len(log.time) < 2000 or b"end" not in part[-600:]:
        assert "cut-short" in told
    assert len(log.time) >= 100 * int((len(part) - 1400) / (len(whole) / 20) - 1)


def test_without_its_end_it_was_cut_short(tmp_path: Path) -> None:
    log = read_log(record(tmp_path / "r001.arrows", finish=False))
    assert [each.kind for each in log.findings] == ["gap", "cut-short"]
    assert "the recorder stopped" in log.findings[-1].detail


def test_a_recording_never_takes_the_place_of_another_file(tmp_path: Path) -> None:
    record(tmp_path / "r001.arrows")
    with pytest.raises(StoreError, match="cannot be recorded"):
        RecordingWriter(tmp_path / "r001.arrows", [("load", None)], {})


def test_another_arrow_stream_than_numbers_is_refused(tmp_path: Path) -> None:
    sink = pa.BufferOutputStream()
    table = pa.table({"word": ["a", "b"]})
    with pa.ipc.new_stream(sink, table.schema) as stream:
        stream.write_table(table)
    path = tmp_path / "words.arrows"
    path.write_bytes(sink.getvalue().to_pybytes())
    with pytest.raises(BadFile, match="no numbers"):
        read_log(path)


def test_a_disk_that_takes_nothing_more_is_said_also_where_the_empty_file_stays(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fail(*_given: object, **_named: object) -> None:
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr("strikeproof.capture.recording.sync_folder", fail)
    monkeypatch.setattr(Path, "unlink", fail)
    with pytest.raises(StoreError, match="cannot be recorded: No space left"):
        RecordingWriter(tmp_path / "r001.arrows", [("load", "kN")], ABOUT)
