"""Small good logs of every format that is read, written by its own library, with what they hold."""

from __future__ import annotations

import zipfile
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import h5py
import numpy as np
import openpyxl
import pyarrow as pa
import pyarrow.parquet as pq
import soundfile
from asammdf import MDF, Signal
from nptdms import ChannelObject, TdmsWriter
from tests.unit.capture.formats import (
    DECIMALS,
    ENCODINGS,
    HEADINGS,
    LINE_ENDS,
    PREAMBLES,
    SEPARATORS,
    TIMES,
    Format,
    write_log,
)

from strikeproof.capture.received import LineFlag
from strikeproof.capture.recording import RecordingWriter

__all__ = ["COUNT", "Seed", "binary_seeds", "text_form", "text_seed"]

COUNT, RATE_HZ = 24, 20.0


@dataclass(frozen=True, slots=True)
class Seed:
    """A good log: its bytes, the judged channel, and the (n,) times [s] and loads that are in it.

    `is_sealed` where the format carries a checksum of its values: then no damage may change one unnoticed.
    """

    kind: str
    raw: bytes
    channel: str | None
    time: np.ndarray
    load: np.ndarray
    is_sealed: bool = False
    form: Format | None = None


def signal(rng: np.random.Generator) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Time, and two channels none of whose values comes twice."""
    load = np.cumsum(rng.uniform(0.05, 4.0, COUNT)) - 3.0
    air = 6.0 + np.cumsum(rng.uniform(0.02, 0.05, COUNT))
    return np.arange(COUNT) / RATE_HZ, np.round(load, 3), np.round(air, 2)


def text_form(rng: np.random.Generator) -> Format:
    """Any way of writing numbers that can be told apart from the others; most of them plain."""
    while True:
        form = Format(
            separator=str(rng.choice(SEPARATORS)),
            decimal=str(rng.choice(DECIMALS, p=[0.7, 0.3])),
            encoding=str(rng.choice(ENCODINGS, p=[0.6, *[0.4 / 7] * 7])),
            time=str(rng.choice(TIMES, p=[0.5, *[0.5 / 11] * 11])),
            preamble=str(rng.choice(PREAMBLES[:3], p=[0.7, 0.2, 0.1])),
            heading=str(rng.choice(HEADINGS[:5])),
            line_end=str(rng.choice(LINE_ENDS, p=[0.7, 0.2, 0.1])),
            quoted=bool(rng.random() < 0.15),
        )
        bare = form.separator == "," and form.decimal == "," and not form.quoted
        if not bare and not (form.quoted and form.separator == "  "):
            return form


def text_seed(rng: np.random.Generator, path: Path, form: Format | None = None) -> Seed:
    """A log of text, written to `path` on the way."""
    form = form or text_form(rng)
    time, load, air = signal(rng)
    write_log(path, form, time, load, air)
    return Seed("text", path.read_bytes(), "Load", time, load, form.encoding == "gzip", form)


def _tdms(path: Path, time: np.ndarray, load: np.ndarray, air: np.ndarray) -> None:
    with TdmsWriter(path) as writer:
        step = {"wf_increment": time[1], "unit_string": "kN"}
        writer.write_segment([ChannelObject("g", "Load", load, step), ChannelObject("g", "Air", air, step)])


def _mdf(path: Path, time: np.ndarray, load: np.ndarray, air: np.ndarray) -> None:
    with MDF(version="4.10") as file:
        file.append([Signal(load, time, unit="kN", name="Load"), Signal(air, time, unit="bar", name="Air")])
        file.save(path.with_suffix(".mf4"), overwrite=True).rename(path)


def _hdf5(path: Path, time: np.ndarray, load: np.ndarray, air: np.ndarray) -> None:
    with h5py.File(path, "w") as file:
        file.create_dataset("time", data=time).attrs["unit"] = "s"
        for name, values in (("Load", load), ("Air", air)):
            file.create_dataset(name, data=values, chunks=(8,), compression="gzip", fletcher32=name == "Load")


def _parquet(path: Path, time: np.ndarray, load: np.ndarray, air: np.ndarray) -> None:
    table = pa.table({"time [s]": time, "Load [kN]": load, "Air [bar]": air})
    pq.write_table(table, path, write_page_checksum=True)


def _workbook(path: Path, time: np.ndarray, load: np.ndarray, air: np.ndarray) -> None:
    book = openpyxl.Workbook()
    book.active.append(["time [s]", "Load [kN]", "Air [bar]"])
    for row in zip(time.tolist(), load.tolist(), air.tolist(), strict=True):
        book.active.append(row)
    book.save(path)


def _open_document(path: Path, time: np.ndarray, load: np.ndarray, air: np.ndarray) -> None:
    def cell(value: object) -> str:
        kind = f'office:value-type="float" office:value="{value}"' if isinstance(value, float) else (
            'office:value-type="string"')  # fmt: skip
        return f"<table:table-cell {kind}><text:p>{value}</text:p></table:table-cell>"

    rows = [
        ("time [s]", "Load [kN]", "Air [bar]"),
        *zip(time.tolist(), load.tolist(), air.tolist(), strict=True),
    ]
    filled = "".join(f"<table:table-row>{''.join(map(cell, row))}</table:table-row>" for row in rows)
    names = " ".join(
        f'xmlns:{each}="urn:oasis:names:tc:opendocument:xmlns:{each}:1.0"'
        for each in ("office", "table", "text")
    )
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as book:
        book.writestr("mimetype", "application/vnd.oasis.opendocument.spreadsheet")
        book.writestr("META-INF/manifest.xml", "<manifest/>")
        book.writestr(
            "content.xml",
            f"<office:document-content {names}><office:body><office:spreadsheet>"
            f'<table:table table:name="a">{filled}</table:table></office:spreadsheet></office:body>'
            "</office:document-content>",
        )


def _recording(path: Path, time: np.ndarray, load: np.ndarray, air: np.ndarray) -> None:
    path.unlink(missing_ok=True)
    writer = RecordingWriter(
        path, [("Load", "kN"), ("Air", "bar")], {"run": "r1", "started": "2026-03-17T12:00:00Z"}
    )
    values = np.column_stack([load, air])
    for begin in range(0, len(time), 8):
        odd = [LineFlag("gap", begin, 1, "simulated")] if begin == 8 else []
        writer.add(time[begin : begin + 8], values[begin : begin + 8], odd, float(begin))
    writer.finish("done")


def _sound(kind: str, subtype: str) -> Callable[..., None]:
    def write(path: Path, time: np.ndarray, load: np.ndarray, air: np.ndarray) -> None:
        both = np.column_stack([load / 256.0, air / 256.0])
        soundfile.write(path, both, int(RATE_HZ) * 100, format=kind, subtype=subtype)

    return write


_BINARY: tuple[tuple[str, Callable[..., None], str | None, bool], ...] = (
    ("tdms", _tdms, "Load", False),
    ("mdf", _mdf, "Load", False),
    ("hdf5", _hdf5, "Load", False),
    ("parquet", _parquet, "Load", False),
    ("workbook", _workbook, "Load", True),
    ("open document", _open_document, "Load", True),
    ("recording", _recording, "Load", True),
    ("wav", _sound("WAV", "PCM_24"), "channel 1", False),
    ("wav float", _sound("WAV", "DOUBLE"), "channel 1", False),
    ("aiff", _sound("AIFF", "PCM_24"), "channel 1", False),
    ("flac", _sound("FLAC", "PCM_24"), "channel 1", False),
)


def binary_seeds(folder: Path) -> list[Seed]:
    """One good log of each format that is no text, with what is read from the undamaged file."""
    from strikeproof.capture.reading import read_log_of

    seeds = []
    time, load, air = signal(np.random.default_rng(7))
    for kind, write, channel, is_sealed in _BINARY:
        path = folder / f"seed-{kind.replace(' ', '-')}"
        write(path, time, load, air)
        raw = path.read_bytes()
        log = read_log_of(path, raw, channel=channel)
        of_sound = 1 / 256.0 if channel == "channel 1" else 1.0
        np.testing.assert_allclose(log.channel(channel).values, load * of_sound, atol=2e-7, rtol=1e-12)
        seeds.append(Seed(kind, raw, channel, log.time, log.channel(channel).values, is_sealed))
    return seeds
