"""Logs made to do harm, among good ones: each becomes one problem of its run, and the good ones go in."""

from __future__ import annotations

import gzip
import os
import zipfile
from collections.abc import Callable
from pathlib import Path

import h5py
import numpy as np
import openpyxl
import pyarrow as pa
import pyarrow.parquet as pq
import pytest
import soundfile

from strikeproof.campaign import bounds
from strikeproof.campaign.gate import read_bounded
from strikeproof.campaign.store import open_store
from strikeproof.capture.keeping import LogBench, keep_log
from strikeproof.desk.loading.load import load_campaign
from strikeproof.errors import BadFile

CAMPAIGN = """\
[campaign]
name = "drum rollers"
reference = "plain"
[rig]
channel = "load"
unit = "kN"
[[tool]]
name = "air"
[[article]]
name = "plain"
"""
GOOD = "time [s],load [kN]\n" + "".join(f"{n / 50:.2f},{np.tanh(n / 99):.4f}\n" for n in range(300))


def pipe(path: Path) -> None:
    os.mkfifo(path)


def device(path: Path) -> None:
    path.symlink_to("/dev/zero")


def folder(path: Path) -> None:
    path.mkdir()


def zeros_in_parquet(path: Path) -> None:
    """A few kB that claim 160 MB of numbers."""
    time = pa.array(np.zeros(100_000))
    table = pa.table({"time [s]": time, "load": time})
    with pq.ParquetWriter(path, table.schema, compression="zstd") as writer:
        for _ in range(100):
            writer.write_table(table)


def silence(path: Path) -> None:
    soundfile.write(path, np.zeros((3_000_000, 2), np.int16), 48_000, format="FLAC")


def filled_by_nothing(path: Path) -> None:
    """2 kB: all of a data set of 3.2 GB is its fill value."""
    with h5py.File(path, "w") as file:
        file.create_dataset("load", (400_000_000,), "f8", fillvalue=1.0).attrs["fs"] = 200.0


def cells_far_out(path: Path) -> None:
    book = openpyxl.Workbook()
    book.active["A1"], book.active["B1"], book.active["XFD1048576"] = "time", "load", 1
    book.save(path)


def rows_without_end(path: Path) -> None:
    """A sheet of the open document kind, cut between two rows and packed again."""
    rows = '<table:table-row><table:table-cell office:value-type="float" office:value="1"/></table:table-row>'
    names = " ".join(
        f'xmlns:{each}="urn:oasis:names:tc:opendocument:xmlns:{each}:1.0"' for each in ("office", "table")
    )
    with zipfile.ZipFile(path, "w") as book:
        book.writestr("mimetype", "application/vnd.oasis.opendocument.spreadsheet")
        book.writestr("META-INF/manifest.xml", "<manifest/>")
        book.writestr(
            "content.xml",
            f"<office:document-content {names}><office:body><office:spreadsheet>"
            f'<table:table table:name="a">{rows * 9}',
        )


def packed_zeros(path: Path) -> None:
    """Text that is 1000 times as long as the file: 150 MB in 150 kB."""
    path.write_bytes(gzip.compress(b"time,load\n") + 15 * gzip.compress(b"0" * 10_000_000))


def milliseconds_of_the_second(path: Path) -> None:
    rows = (f"{n * 20 % 1000},{n / 300:.3f}\n" for n in range(1200))
    path.write_text("time [ms],load [kN]\n" + "".join(rows))


HOSTILE: dict[Callable[[Path], None], str] = {
    pipe: "is not a regular file",
    device: "is not a regular file",
    folder: "is a folder",
    zeros_in_parquet: "claims 20000000 cells",
    silence: "claims 6000000 cells",
    filled_by_nothing: "claims 400000000 cells",
    cells_far_out: "is a workbook too large to read",
    rows_without_end: "is a damaged workbook",
    packed_zeros: "needs more than 0.2 GB of memory to be read",
    milliseconds_of_the_second: "its time begins again and again",
}


@pytest.fixture
def bench(tmp_path: Path) -> LogBench:
    for name in ("originals", "traces"):
        (tmp_path / name).mkdir()
    return LogBench(tmp_path / "originals", tmp_path / "traces", None, "load")


@pytest.mark.parametrize("make", HOSTILE, ids=lambda make: make.__name__)
def test_each_is_refused_with_its_reason(
    make: Callable[[Path], None], tmp_path: Path, bench: LogBench, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(bounds, "BEYOND_BYTES", 200_000_000)
    make(tmp_path / "log")
    with pytest.raises(BadFile, match=HOSTILE[make]):
        read_bounded(tmp_path / "log", keep_log, tmp_path / "log", bench)
    assert not any(bench.originals.iterdir()) and not any(bench.traces.iterdir())


def test_ten_hostile_logs_among_four_good_ones(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(bounds, "BEYOND_BYTES", 200_000_000)
    campaign = tmp_path / "bench"
    (campaign / "logs").mkdir(parents=True)
    (campaign / "campaign.toml").write_text(CAMPAIGN)
    names = []
    for number, make in enumerate(HOSTILE):
        make(campaign / "logs" / make.__name__)
        names.append(make.__name__)
        if number % 3 == 0:
            names.append(f"good-{number}")
            (campaign / "logs" / names[-1]).write_text(GOOD.replace("0.0000", f"0.000{number}"))
    sheet = "".join(f"{name},{name},plain,1\n" for name in names)
    (campaign / "runs.csv").write_text("run,log,article,block\n" + sheet)
    outcome = load_campaign(campaign, tmp_path / "lab")
    assert (outcome.runs_loaded, len(outcome.problems)) == (4, 10)
    named = [Path(each.file).name for each in outcome.problems]  # a link that leads out is found in the sheet
    assert named == ["runs.csv", *(each.__name__ for each in HOSTILE if each is not device)]
    store = open_store(tmp_path / "lab")
    (name,) = store.campaigns()
    assert [run.row.run for run in store.runs(store.campaign(name)[0])] == [
        each for each in names if each.startswith("good")
    ]
