"""Files that the libraries themselves write give the same log as text does."""

from __future__ import annotations

import datetime
import gzip
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import h5py
import numpy as np
import pytest
import soundfile
from asammdf import MDF, Signal
from nptdms import ChannelObject, TdmsWriter

from strikeproof.capture import Log, read_log
from strikeproof.errors import BadFile

RATE = 200.0
TIME = np.arange(400) / RATE
LOAD = np.linspace(-2.0, 90.0, 400) + np.random.default_rng(1).normal(scale=0.5, size=400)
SLOW_TIME = np.arange(20) / 10.0 + 0.3
AIR = 6.0 + 0.1 * np.sin(SLOW_TIME)
START = datetime.datetime(2026, 3, 17, 12, 0, 0, tzinfo=datetime.UTC)


def write_tdms(path: Path, *channels: tuple[str, str, Any, dict[str, Any]]) -> None:
    with TdmsWriter(path) as writer:
        writer.write_segment([ChannelObject(*each) for each in channels])


def _waveform(step: float) -> dict[str, Any]:
    return {"wf_increment": step, "wf_start_time": np.datetime64("2026-03-17T12:00:00"), "unit_string": "kN"}


def _write_two_tdms(path: Path) -> None:
    slow = {"wf_increment": 0.1, "wf_start_time": np.datetime64("2026-03-17T12:00:00"), "unit_string": "bar"}
    slow["wf_start_offset"] = 0.3
    write_tdms(
        path, ("fast", "Load", LOAD, _waveform(1 / RATE)), ("slow", "Air", AIR, slow), ("none", "x", [], {})
    )


def save_mdf(file: MDF, path: Path, **options: Any) -> None:
    """Under this very name; the library itself gives every file its own ending."""
    file.save(path.with_suffix(".mf4"), overwrite=True, **options).rename(path)


def write_mdf(path: Path, **options: Any) -> None:
    with MDF(version="4.10") as file:
        file.start_time = START
        file.append([Signal(LOAD, TIME, unit="kN", name="Load")], acq_name="fast")
        file.append([Signal(AIR, SLOW_TIME, unit="bar", name="Air")], acq_name="slow")
        save_mdf(file, path, **options)


def _write_two_hdf5(path: Path) -> None:
    with h5py.File(path, "w") as file:
        for name, time, what, values, unit in (
            ("fast", TIME, "Load", LOAD, "kN"),
            ("slow", SLOW_TIME, "Air", AIR, "bar"),
        ):
            file[f"{name}/time"] = time
            file[f"{name}/time"].attrs["units"] = "seconds since 2026-03-17 12:00:00+00:00"
            file[f"{name}/{what}"] = values
            file[f"{name}/{what}"].attrs["unit"] = unit


@pytest.mark.parametrize("write", [_write_two_tdms, write_mdf, _write_two_hdf5])
@pytest.mark.parametrize("name", ["Air", "slow/Air", "SLOW/air [bar]"])
def test_of_two_clocks_the_judged_channels_own_is_taken(
    tmp_path: Path, write: Callable[[Path], None], name: str
) -> None:
    write(tmp_path / "log.csv")  # content counts, not the name
    log = read_log(tmp_path / "log.csv", channel=name)
    assert [(each.name, each.unit) for each in log.channels] == [("slow/Air", "bar")]
    np.testing.assert_allclose(log.channel(name).values, AIR, rtol=1e-12)
    np.testing.assert_allclose(log.time, SLOW_TIME - 0.3, atol=1e-9)
    assert log.sample_rate_hz == pytest.approx(10.0, rel=1e-6)
    assert log.started is not None and log.started.startswith("2026-03-17T12:00:00.3")
    assert log.findings == ()


@pytest.mark.parametrize("write", [_write_two_tdms, write_mdf, _write_two_hdf5])
def test_two_clocks_and_no_channel_named_lists_them_in_full(
    tmp_path: Path, write: Callable[[Path], None]
) -> None:
    write(tmp_path / "log")
    with pytest.raises(BadFile, match=r"has 2 channels: fast/Load, slow/Air; set channel in \[rig\]"):
        read_log(tmp_path / "log")
    with pytest.raises(BadFile, match="did you mean 'fast/Load'"):
        read_log(tmp_path / "log", channel="fast/Laod")


def _write_one_tdms(path: Path) -> None:
    write_tdms(path, ("bench", "Load [kN]", LOAD, {"wf_increment": 1 / RATE}))


def _write_tdms_stamps(path: Path) -> None:
    stamps = np.datetime64("2026-03-17T12:00:00") + (TIME * 1e6).round().astype("timedelta64[us]")
    write_tdms(path, ("b", "Time", stamps, {}), ("b", "Load", LOAD, {"NI_UnitDescription": "kN"}))


def _write_tdms_column(path: Path) -> None:
    write_tdms(path, ("b", "t [ms]", TIME * 1e3, {}), ("b", "Load [kN]", LOAD, {}), ("b", "note", ["a"], {}))


def _write_one_mdf(path: Path) -> None:
    words = np.array([b"on"] * len(TIME))
    with MDF(version="4.10") as file:
        signals = [Signal(LOAD, TIME, unit="kN", name="Load")]
        file.append([*signals, Signal(words, TIME, name="state", encoding="latin-1")])
        save_mdf(file, path, compression=2)


def _hdf5(fill: Callable[[h5py.File], None]) -> Callable[[Path], None]:
    def write(path: Path) -> None:
        with h5py.File(path, "w", userblock_size=512) as file:
            fill(file)

    return write


def _attributes(file: h5py.File) -> None:
    file.create_dataset("Load", data=LOAD, compression="gzip", chunks=(64,)).attrs.update(
        units="kN", sample_rate_hz=RATE
    )


def _root_interval(file: h5py.File) -> None:
    file.attrs["dt"] = 1 / RATE
    file["run 3/raw/Load [kN]"] = LOAD


def _scale(file: h5py.File) -> None:
    file["axis"] = TIME
    file["axis"].make_scale("axis")
    file["axis"].attrs["units"] = "seconds"
    file["Load"] = LOAD
    file["Load"].attrs["units"] = "kN"
    file["Load"].dims[0].attach_scale(file["axis"])


def _compound(file: h5py.File) -> None:
    rows = np.zeros(len(TIME), dtype=[("time", "f8"), ("Load", "f8"), ("state", "S4")])
    rows["time"], rows["Load"] = TIME, LOAD
    file["table"] = rows


def _wide(file: h5py.File) -> None:
    file["data"] = np.stack([TIME, LOAD])
    file["data"].attrs["columns"] = ["time [s]", "Load [kN]"]


@pytest.mark.parametrize(
    "write",
    [
        _write_one_tdms,
        _write_tdms_stamps,
        _write_tdms_column,
        _write_one_mdf,
        *map(_hdf5, (_attributes, _root_interval, _scale, _compound, _wide)),
    ],
)
@pytest.mark.parametrize("packed", [False, True])
def test_one_channel_needs_no_name(tmp_path: Path, write: Callable[[Path], None], packed: bool) -> None:
    write(tmp_path / "log.bin")
    if packed:
        (tmp_path / "log.bin").write_bytes(gzip.compress((tmp_path / "log.bin").read_bytes()))
    log = read_log(tmp_path / "log.bin")
    channel = log.channel()
    assert channel.name.rsplit("/", 1)[-1] == "Load" and channel.unit in ("kN", None)
    np.testing.assert_allclose(channel.values, LOAD, rtol=1e-12)
    np.testing.assert_allclose(log.time, TIME, atol=2e-7)
    assert log.sample_rate_hz == pytest.approx(RATE, rel=1e-6)


def test_integers_are_scaled_as_the_file_says(tmp_path: Path) -> None:
    counts = np.arange(-100, 100, dtype=np.int16)
    scale = {
        "wf_increment": 0.01,
        "NI_Scaling_Status": "unscaled",
        "NI_Number_Of_Scales": 1,
        "NI_Scale[0]_Scale_Type": "Linear",
        "NI_Scale[0]_Linear_Slope": 0.5,
        "NI_Scale[0]_Linear_Y_Intercept": 2.0,
        "NI_Scale[0]_Linear_Input_Source": 0xFFFFFFFF,
    }
    write_tdms(tmp_path / "a", ("g", "load", counts, scale))
    with MDF(version="4.10") as file:
        seconds = np.arange(200) / 100
        file.append([Signal(counts, seconds, name="load", conversion={"a": 0.5, "b": 2.0})])
        save_mdf(file, tmp_path / "b")
    with h5py.File(tmp_path / "c", "w") as h5:
        h5["load"] = counts
        h5["load"].attrs.update(scale_factor=0.5, add_offset=2.0, _FillValue=np.int16(0), fs=100.0)
    soundfile.write(tmp_path / "d", counts * np.int16(256), 100, subtype="PCM_16", format="WAV")
    for name in ("a", "b"):
        assert np.array_equal(read_log(tmp_path / name).channel().values, counts * 0.5 + 2.0), name
    wanted = np.where(counts == 0, np.nan, counts * 0.5 + 2.0)
    np.testing.assert_array_equal(read_log(tmp_path / "c").channel().values, wanted)
    np.testing.assert_array_equal(read_log(tmp_path / "d").channel().values, counts / 128)


def _told(log: Log) -> list[tuple[str, str | None, int | None, int]]:
    return [(each.kind, each.channel, each.first_line, each.count) for each in log.findings]


def test_what_is_invalid_is_nan_and_told(tmp_path: Path) -> None:
    bad = np.arange(400) % 50 == 7
    with MDF(version="4.10") as file:
        file.append([Signal(LOAD, TIME, name="load", invalidation_bits=bad)])
        save_mdf(file, tmp_path / "a")
    values = LOAD.copy()
    values[bad] = np.nan
    write_tdms(tmp_path / "b", ("g", "load", values, {"wf_increment": 0.005}))
    for name in ("a", "b"):
        log = read_log(tmp_path / name)
        assert _told(log) == [("not-a-number", "load", 8, 8)]
        np.testing.assert_array_equal(np.isnan(log.channel().values), bad)


@pytest.mark.parametrize(
    ("kind", "subtype", "step", "told"),
    [
        ("WAV", "PCM_U8", 2.0**-7, True),
        ("WAV", "PCM_16", 2.0**-15, True),
        ("WAV", "PCM_24", 2.0**-23, True),
        ("RF64", "PCM_24", 2.0**-23, True),
        ("W64", "PCM_32", 2.0**-24, True),
        ("FLAC", "PCM_16", 2.0**-15, True),
        ("AIFF", "PCM_16", 2.0**-15, True),
        ("WAV", "FLOAT", 2.0**-24, False),
        ("WAV", "DOUBLE", 2.0**-52, False),
    ],
)
def test_sound_is_a_share_of_full_scale(
    tmp_path: Path, kind: str, subtype: str, step: float, told: bool
) -> None:
    sound = np.stack([0.9 * np.sin(40 * TIME), 0.5 * np.cos(40 * TIME)], axis=1)
    soundfile.write(tmp_path / "log", sound, 8000, format=kind, subtype=subtype)
    log = read_log(tmp_path / "log")
    assert [(each.name, each.unit) for each in log.channels] == [("channel 1", None), ("channel 2", None)]
    np.testing.assert_allclose(log.channel("channel 2").values, sound[:, 1], atol=1.01 * step)
    assert log.sample_rate_hz == 8000.0 and log.time[1] == 1 / 8000
    assert [each.kind for each in log.findings] == (["assumed"] if told else [])


def test_a_float_file_keeps_its_physical_numbers(tmp_path: Path) -> None:
    soundfile.write(tmp_path / "log.wav", LOAD, 200, subtype="DOUBLE")
    assert np.array_equal(read_log(tmp_path / "log.wav").channel().values, LOAD)


@pytest.mark.parametrize(
    ("library", "extra", "write"),
    [
        ("nptdms", "logs", _write_one_tdms),
        ("h5py", "logs", _hdf5(_attributes)),
        ("asammdf", "mdf", _write_one_mdf),
        ("soundfile", "logs", lambda path: soundfile.write(path, LOAD / 100, 200, format="WAV")),
    ],
)
def test_without_its_library_a_file_names_the_extra(
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    library: str,
    extra: str,
    write: Callable[[Path], None],
) -> None:
    write(tmp_path / "log")
    monkeypatch.setitem(sys.modules, library, None)  # as Python itself marks what cannot be imported
    with pytest.raises(BadFile, match=rf"\({library}\) is not installed; install it.*strikeproof\[{extra}\]"):
        read_log(tmp_path / "log")
