"""The binary files of the measuring trade, and columns by pyarrow, each written by an independent library."""

from __future__ import annotations

import datetime
import gzip
import io
import sqlite3
import tempfile
from pathlib import Path

import h5py
import numpy as np
import pyarrow as pa
import scipy.io
import soundfile
from asammdf import MDF
from asammdf import Signal as MdfSignal
from nptdms import ChannelObject, TdmsWriter
from pyarrow import csv, parquet
from tests.corpus.writers.cases import Case, Cases, channel, make_signal, read, refused
from tests.corpus.writers.workbooks import START, START_ISO, two_channels

__all__ = ["WRITERS"]


def arrow_files() -> Cases:
    """Parquet and CSV by pyarrow: plain, units in the fields, stamps, durations, whole numbers, texts."""
    signal = make_signal(520)
    both = {"Load [kN]": signal.load, "Air [bar]": signal.air}
    stamps = pa.array([START + datetime.timedelta(seconds=float(t)) for t in signal.time], pa.timestamp("us"))
    spans = pa.array((signal.time * 1e6).round().astype("int64"), pa.duration("us"))
    tables = {
        "plain": (pa.table({"Time [s]": signal.time, **both}), two_channels(signal)),
        "stamps": (pa.table({"Stamp": stamps, **both}), two_channels(signal, START_ISO)),
        "stamps-utc": (
            pa.table({"Stamp": stamps.cast(pa.timestamp("ms", "UTC")), **both}),
            two_channels(signal, START_ISO + "+00:00"),
        ),
        "durations": (pa.table({"Elapsed": spans, **both}), two_channels(signal)),
        "texts": (
            pa.table(
                {
                    "Time [s]": [f"{t:.3f}" for t in signal.time],
                    "Load [kN]": [f"{a:.2f}".replace(".", ",") for a in signal.load],
                    "Air [bar]": signal.air,
                }
            ),
            two_channels(signal),
        ),
        "dictionary": (
            pa.table(
                {
                    "Time [s]": signal.time,
                    "Load [kN]": pa.array([f"{a:.2f}" for a in signal.load]).dictionary_encode(),
                    "Air [bar]": signal.air,
                }
            ),
            two_channels(signal),
        ),
        "whole": (
            pa.table(
                {
                    "time_ms": (signal.time * 1e3).round().astype("int32"),
                    "Load [N]": (signal.load * 100).round().astype("int16"),
                }
            ),
            read([channel("Load", "N", (signal.load * 100).round())], signal.time),
        ),
        "single": (
            pa.table({"Time [s]": signal.time, "Load [kN]": signal.load.astype("float32")}),
            read([channel("Load", "kN", signal.load.astype("float32").astype("float64"))], signal.time),
        ),
    }
    fields = pa.schema(
        [
            pa.field("Time", pa.float64(), metadata={"unit": "s"}),
            pa.field("Load", pa.float64(), metadata={"unit": "kN"}),
            pa.field("Air", pa.float64(), metadata={"unit": "bar"}),
        ]
    )
    tables["field-units"] = (
        pa.table([signal.time, signal.load, signal.air], schema=fields),
        two_channels(signal),
    )
    for name, (table, want) in tables.items():
        out = io.BytesIO()
        parquet.write_table(table, out)
        yield Case(f"columns/{name}.parquet", out.getvalue(), "pyarrow", want)
    for name in ("plain", "stamps", "stamps-utc"):
        out = io.BytesIO()
        csv.write_csv(tables[name][0], out)
        yield Case(f"columns-csv/{name}.csv", out.getvalue(), "pyarrow", tables[name][1])
    out = io.BytesIO()
    with pa.ipc.new_file(out, tables["plain"][0].schema) as writer:
        writer.write_table(tables["plain"][0])
    yield Case("columns/plain.arrow", out.getvalue(), "pyarrow", refused("binary|Arrow|NUL"))


def trees() -> Cases:
    """HDF5 by h5py: beside each other, in one table, with scales, packed numbers, two groups of two rates."""
    signal = make_signal(530)
    fast = make_signal(531, count=96, rate=20.0)
    want = two_channels(signal, None, "load", "air")
    want["channels"].reverse()  # the tree is in the order of the alphabet

    def file(fill) -> bytes:  # type: ignore[no-untyped-def]
        out = io.BytesIO()
        with h5py.File(out, "w") as new:
            fill(new)
        return out.getvalue()

    def plain(new: h5py.File) -> None:
        for name, unit, values in (
            ("time", "s", signal.time),
            ("load", "kN", signal.load),
            ("air", "bar", signal.air),
        ):
            new.create_dataset(name, data=values).attrs["units"] = unit

    def records(new: h5py.File) -> None:
        kind = [("time_s", "f8"), ("load_kN", "f8"), ("air_bar", "f8")]
        new["run"] = np.array(list(zip(signal.time, signal.load, signal.air, strict=True)), dtype=kind)

    def matrix(new: h5py.File) -> None:
        new["run"] = np.column_stack([signal.time, signal.load, signal.air])
        new["run"].attrs["columns"] = ["time [s]", "load [kN]", "air [bar]"]

    def packed(new: h5py.File) -> None:
        new.create_dataset("time", data=signal.time).attrs["units"] = "seconds since 2026-03-17 08:30:00"
        for name, unit, values, step in (
            ("load", "kN", signal.load, 0.01),
            ("air", "bar", signal.air, 0.001),
        ):
            each = new.create_dataset(name, data=np.round(values / step).astype("int32"), compression="gzip")
            each.attrs.update({"units": unit, "scale_factor": step, "_FillValue": np.int32(-2147483648)})

    def rate_only(new: h5py.File) -> None:
        new.attrs["sample_rate"] = 10.0
        new.create_dataset("load", data=signal.load).attrs["unit"] = "kN"
        new.create_dataset("air", data=signal.air).attrs["unit"] = "bar"

    def two(new: h5py.File) -> None:
        for name, of in (("fast", fast), ("slow", signal)):
            new.create_dataset(f"{name}/time", data=of.time).attrs["units"] = "s"
            new.create_dataset(f"{name}/load", data=of.load).attrs["units"] = "kN"

    for name, fill, expected in (("beside", plain, want), ("rate-only", rate_only, want)):
        yield Case(f"trees/{name}.h5", file(fill), "h5py", expected)
    for name, fill in (("records", records), ("matrix", matrix)):
        yield Case(f"trees/{name}.h5", file(fill), "h5py", two_channels(signal, None, "run/load", "run/air"))
    yield Case("trees/packed.nc", file(packed), "h5py", want | {"started": START_ISO})
    yield Case("trees/two-rates.h5", file(two), "h5py", refused("channels"))
    slow = read([channel("slow/load", "kN", signal.load)], signal.time, judged="slow/load")
    yield Case("trees/two-rates-one-judged.h5", file(two), "h5py", slow)
    yield Case("trees/cut.h5", file(plain)[:3000], "h5py", refused("HDF5"))
    mat = io.BytesIO()
    scipy.io.savemat(mat, {"time": signal.time, "load": signal.load})
    yield Case(
        "trees/matrix-5.mat",
        b"simulated".ljust(116) + mat.getvalue()[116:],
        "scipy",
        refused("binary|NUL|MATLAB"),
    )


def measured_files() -> Cases:
    """TDMS by nptdms, MDF by asammdf: a time channel, a rate alone, two groups, scaled whole numbers."""
    signal = make_signal(540)

    def tdms(*objects: ChannelObject) -> bytes:
        out = io.BytesIO()
        with TdmsWriter(out) as writer:
            writer.write_segment(list(objects))
        return out.getvalue()

    time = ChannelObject("run", "Time", signal.time, {"unit_string": "s"})
    load = ChannelObject("run", "Load", signal.load, {"unit_string": "kN"})
    air = ChannelObject("run", "Air", signal.air, {"unit_string": "bar"})
    yield Case("measured-tdms/time-channel.tdms", tdms(time, load, air), "nptdms", two_channels(signal))
    timed = {"wf_increment": 0.1, "wf_start_offset": 0.0}
    even = [
        ChannelObject("run", name, values, {"unit_string": unit, **timed})
        for name, unit, values in (("Load", "kN", signal.load), ("Air", "bar", signal.air))
    ]
    yield Case("measured-tdms/rate.tdms", tdms(*even), "nptdms", two_channels(signal))
    dated = ChannelObject(
        "run",
        "Load",
        signal.load,
        {"unit_string": "kN", **timed, "wf_start_time": np.datetime64("2026-03-17T08:30:00")},
    )
    yield Case(
        "measured-tdms/dated.tdms",
        tdms(dated),
        "nptdms",
        read([channel("Load", "kN", signal.load)], signal.time, started=START_ISO + "+00:00"),
    )
    yield Case("measured-tdms/no-time.tdms", tdms(load), "nptdms", refused("time"))
    with tempfile.TemporaryDirectory() as folder:
        for name, values in (("plain", signal.load), ("whole", np.round(signal.load * 100).astype("int16"))):
            file = MDF(version="4.10")
            file.header.start_time = START.replace(tzinfo=datetime.UTC)
            unit = "kN" if name == "plain" else "N"
            file.append([MdfSignal(values, signal.time, name="Load", unit=unit)])
            place = file.save(Path(folder) / f"{name}.mf4")
            file.close()
            want = read(
                [channel("Load", unit, values.astype("float64"))], signal.time, started=START_ISO + "+00:00"
            )
            yield Case(f"measured-mdf/{name}.mf4", Path(place).read_bytes(), "asammdf", want)


def sounds() -> Cases:
    """WAV, FLAC and AIFF by soundfile, a load written as sound."""
    signal = make_signal(550, count=400, rate=8000.0)
    share = np.round(signal.load / 100 * 32768) / 32768
    for name, form, kind in (
        ("whole", "WAV", "PCM_16"),
        ("packed", "FLAC", "PCM_16"),
        ("big-end", "AIFF", "PCM_16"),
    ):
        out = io.BytesIO()
        soundfile.write(out, share, 8000, format=form, subtype=kind)
        want = read([channel("channel 1", None, share)], np.arange(400) / 8000, findings=["assumed"])
        yield Case(f"sounds/{name}.{form.lower()}", out.getvalue(), "soundfile", want)
    out = io.BytesIO()
    soundfile.write(out, np.column_stack([signal.load, signal.air]), 8000, format="WAV", subtype="DOUBLE")
    want = read(
        [channel("channel 1", None, signal.load), channel("channel 2", None, signal.air)],
        np.arange(400) / 8000,
    )
    yield Case("sounds/two-channels-float.wav", out.getvalue(), "soundfile", want)


def foreign() -> Cases:
    """Files that are no logs: each says what it is."""
    with tempfile.TemporaryDirectory() as folder:
        place = Path(folder) / "run.db"
        with sqlite3.connect(place) as base:
            base.execute("create table run (t real, load real)")
        base.close()
        yield Case("foreign/tables.db", place.read_bytes(), "sqlite3", refused("binary|NUL"))
    yield Case("foreign/page.pdf", b"%PDF-1.7\n1 0 obj\n<<>>\nendobj\n", "by hand", refused("PDF"))
    yield Case("foreign/picture.png", b"\x89PNG\r\n\x1a\n" + b"\0" * 40, "by hand", refused("picture"))
    packed = gzip.compress(b"Time [s],Load [kN]\n" + b"0.1,1.5\n" * 40, mtime=0)
    yield Case("foreign/cut.csv.gz", packed[:-12], "gzip", refused("gzip"))


WRITERS = (arrow_files, trees, measured_files, sounds, foreign)
