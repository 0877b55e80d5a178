"""Binary logs as they come from real benches: cut off, half empty, packed oddly; only BadFile comes out."""

from __future__ import annotations

import struct
from collections.abc import Callable
from pathlib import Path

import h5py
import numpy as np
import pytest
import soundfile
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from tests.unit.capture.test_binary_files import LOAD, TIME, write_mdf, write_tdms

from strikeproof.capture import Log, pick_channel, read_log
from strikeproof.capture.sound_file import read_sound
from strikeproof.errors import BadFile


def _waves(path: Path) -> None:
    properties = {"wf_increment": 0.005}
    write_tdms(path, ("g", "load", LOAD, properties), ("g", "torque", LOAD, properties))


def _plain_mdf(path: Path) -> None:
    write_mdf(path, compression=0)


def _tree(path: Path) -> None:
    with h5py.File(path, "w") as file:
        file.create_dataset("a/load", data=LOAD, chunks=(100,), compression="gzip").attrs["fs"] = 200.0
        file.create_dataset("a/air", data=np.float32(LOAD)).attrs["fs"] = 200.0


def _sound(path: Path) -> None:
    soundfile.write(path, LOAD / 100, 8000, format="WAV", subtype="PCM_24")


WRITERS = (_waves, _plain_mdf, _tree, _sound)


def _whole(folder: Path, kind: int) -> Path:
    path = folder / f"whole-binary-log-{kind}"
    if not path.exists():
        WRITERS[kind](path)
    return path


@pytest.mark.parametrize("step", [1e307, 1e-300])
def test_a_rate_at_which_nothing_is_sampled_is_none(tmp_path: Path, step: float) -> None:
    write_tdms(tmp_path / "log", ("g", "load", LOAD, {"wf_increment": step}))
    with pytest.raises(BadFile, match="no sample rate is known"):
        read_log(tmp_path / "log")


def _check(path: Path, raw: bytes) -> Log | None:
    path.write_bytes(raw)
    try:
        log = read_log(path, sample_rate_hz=200.0, channel="load" if raw[:4] != b"RIFF" else None)
    except BadFile:
        return None
    assert len(log.time) >= 2 and np.all(np.isfinite(log.time)) and log.time[0] == 0
    assert log.channels and all(each.values.shape == log.time.shape for each in log.channels)
    assert not any(np.isinf(each.values).any() for each in log.channels)
    return log


@pytest.mark.parametrize("kind", range(len(WRITERS)))
@pytest.mark.parametrize("share", [0.001, 0.02, 0.1, 0.5, 0.9, 0.999])
def test_a_file_cut_anywhere_is_told(tmp_path: Path, kind: int, share: float) -> None:
    raw = _whole(tmp_path, kind).read_bytes()
    log = _check(tmp_path / "log", raw[: int(share * len(raw))])
    whole_still = log is not None and len(log.time) == len(TIME) and kind < 3
    assert whole_still or log is None or "cut-off" in [each.kind for each in log.findings]
    if whole_still and log is not None:
        np.testing.assert_allclose(log.channel("load").values, LOAD, rtol=1e-12)


@settings(max_examples=150, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    kind=st.integers(0, len(WRITERS) - 1),
    hits=st.lists(
        st.tuples(st.floats(0, 1, exclude_max=True), st.binary(min_size=1, max_size=4)), max_size=6
    ),
)
def test_damaged_bytes_give_a_log_or_a_bad_file(
    tmp_path_factory: pytest.TempPathFactory, kind: int, hits: list[tuple[float, bytes]]
) -> None:
    path = _whole(tmp_path_factory.getbasetemp(), kind)
    raw = bytearray(path.read_bytes())
    for at, piece in hits:
        start = int(at**3 * len(raw))  # heads are where it hurts
        raw[start : start + len(piece)] = piece
    _check(path.with_suffix(".damaged"), bytes(raw))


def test_no_interval_and_no_time_needs_a_rate(tmp_path: Path) -> None:
    write_tdms(tmp_path / "log", ("g", "load", LOAD, {"wf_increment": 0.0}))
    with pytest.raises(BadFile, match="has no time column, and no sample rate is known"):
        read_log(tmp_path / "log")
    assert read_log(tmp_path / "log", sample_rate_hz=80.0).time[1] == 1 / 80


def test_a_rate_of_the_rig_wins_over_the_files(tmp_path: Path) -> None:
    _waves(tmp_path / "log")
    assert read_log(tmp_path / "log", channel="load", sample_rate_hz=100.0).sample_rate_hz == 100.0


def test_a_channel_that_ends_a_little_early_is_filled_up_and_told(tmp_path: Path) -> None:
    write_tdms(tmp_path / "log", ("g", "t [s]", TIME, {}), ("g", "load", LOAD[:-3], {}))
    log = read_log(tmp_path / "log")
    assert [(each.kind, each.channel, each.first_line, each.count) for each in log.findings] == [
        ("not-a-number", "load", 398, 3)
    ]
    assert np.array_equal(log.channel().values[:-3], LOAD[:-3])


def test_channels_of_quite_other_lengths_are_not_on_one_clock(tmp_path: Path) -> None:
    with h5py.File(tmp_path / "log", "w") as file:
        file["time"], file["load"], file["temperature"] = TIME, LOAD, np.arange(50.0)
    assert [each.name for each in read_log(tmp_path / "log", channel="load").channels] == ["load"]
    with pytest.raises(BadFile, match="has 2 channels: load, temperature"):
        read_log(tmp_path / "log")
    with pytest.raises(BadFile, match="has no time column"):
        read_log(tmp_path / "log", channel="temperature")


def _nothing_but_words(file: h5py.File) -> None:
    file["note"] = "nothing else"
    file.create_group("empty")
    file["none"] = np.zeros(0)


def _only_elsewhere(file: h5py.File) -> None:
    file.create_dataset("load", (10,), "f8", external=[("/etc/hostname", 0, 80)])
    file["link"] = h5py.ExternalLink("other.h5", "/load")
    layout = h5py.VirtualLayout((10,), "f8")
    layout[:] = h5py.VirtualSource("other.h5", "load", (10,))
    file.create_virtual_dataset("virtual", layout)


def _all_nan(file: h5py.File) -> None:
    file["time"], file["load"] = TIME, np.full(400, np.nan)


def _claims_the_earth(file: h5py.File) -> None:
    file.create_dataset("load", (10**10,), "f8", chunks=(1024,)).attrs["fs"] = 100.0


def _picture(file: h5py.File) -> None:
    file["picture"] = np.zeros((1200, 1600), np.uint8)


@pytest.mark.parametrize(
    ("fill", "told"),
    [
        (_nothing_but_words, "holds no columns of numbers"),
        (_only_elsewhere, "holds no columns of numbers"),
        (_all_nan, "100% of the cells of 'load' cannot be read"),
        (_claims_the_earth, "claims 10000000000 cells"),
        (_picture, "holds no columns of numbers"),
    ],
)
def test_a_tree_without_a_log_says_so(tmp_path: Path, fill: Callable[[h5py.File], None], told: str) -> None:
    with h5py.File(tmp_path / "log", "w") as file:
        fill(file)
    with pytest.raises(BadFile, match=told):
        read_log(tmp_path / "log")


def test_a_packing_that_nobody_here_knows_is_told(tmp_path: Path) -> None:
    _tree(tmp_path / "log")
    raw = (tmp_path / "log").read_bytes()
    at = raw.index(b"deflate\0")
    other = raw[: at - 8] + struct.pack("<H", 32_099) + raw[at - 6 : at] + b"unknown\0" + raw[at + 8 :]
    (tmp_path / "log").write_bytes(other)
    with pytest.raises(BadFile, match="packed by filter 32099, which is not installed"):
        read_log(tmp_path / "log", channel="load")


def test_loops_in_a_tree_end(tmp_path: Path) -> None:
    with h5py.File(tmp_path / "log", "w") as file:
        file["a/time"], file["a/load"] = TIME, LOAD
        file["a/again"] = file["/"]
        file["a/soft"] = h5py.SoftLink("/a/load")
    assert np.array_equal(read_log(tmp_path / "log").channel("load").values, LOAD)


def test_older_versions_of_a_format_are_named(tmp_path: Path) -> None:
    (tmp_path / "log").write_bytes(b"MDF     3.30    other   " + bytes(300))
    with pytest.raises(BadFile, match=r"is MDF of version '3.30'"):
        read_log(tmp_path / "log")


@pytest.mark.parametrize("size", [b"\0\0\0\0", b"\xff\xff\xff\xff"])
def test_a_recorder_killed_before_it_wrote_the_length_loses_nothing(tmp_path: Path, size: bytes) -> None:
    _sound(tmp_path / "log")
    raw = bytearray((tmp_path / "log").read_bytes())
    at = raw.index(b"data")
    raw[4:8] = raw[at + 4 : at + 8] = size
    (tmp_path / "log").write_bytes(raw)
    log = read_log(tmp_path / "log")
    np.testing.assert_allclose(log.channel().values, LOAD / 100, atol=2.0**-23)
    assert next(each.kind for each in log.findings) == ("cut-off" if size == b"\0\0\0\0" else "assumed")


def test_sound_that_a_phone_packed_says_what_to_do(tmp_path: Path) -> None:
    (tmp_path / "log.wav").write_bytes(b"\0\0\0\x20ftypM4A " + bytes(100))
    for read in (read_log, read_sound):
        with pytest.raises(BadFile, match=r"packed by a phone.*save it as WAV"):
            read(tmp_path / "log.wav")


def test_a_clipped_recording_is_flagged(tmp_path: Path) -> None:
    loud = np.clip(1.5 * np.sin(np.arange(8000) / 50), -1, 1)
    soundfile.write(tmp_path / "log.wav", loud, 8000, subtype="PCM_16")
    log = read_log(tmp_path / "log.wav")
    assert "clipped-plateau" in [each.kind for each in log.findings]
    assert pick_channel(log, None).values.max() == 1 - 2.0**-15
