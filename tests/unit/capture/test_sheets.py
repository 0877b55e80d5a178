"""Workbooks and Parquet files give the same log as text does."""

from __future__ import annotations

import datetime
from pathlib import Path

import numpy as np
import openpyxl
import pyarrow as pa
import pyarrow.parquet as pq
import pytest

from strikeproof.capture import read_log
from strikeproof.errors import BadFile

TIME = np.arange(100) / 20
LOAD = np.round(np.sin(TIME) * 50, 3)
START = datetime.datetime(2026, 3, 17, 12, 0, 0)


def _write_workbook(path: Path, rows: list[list[object]]) -> None:
    book = openpyxl.Workbook()
    for row in rows:
        book.active.append(row)
    book.save(path)


def test_a_workbook_with_preamble_and_units(tmp_path: Path) -> None:
    rows = [["Rig", "bench 4"], [], ["time", "load", "note"], ["ms", "kN", None]]
    rows += [[float(t * 1e3), float(v), "a\tb"] for t, v in zip(TIME, LOAD, strict=True)]
    _write_workbook(tmp_path / "log.xlsx", rows)
    log = read_log(tmp_path / "log.xlsx")
    np.testing.assert_allclose(log.time, TIME, atol=1e-12)
    assert log.channel("load").unit == "kN" and np.array_equal(log.channel("load").values, LOAD)


def test_a_workbook_with_dates(tmp_path: Path) -> None:
    rows = [["when", "load"]]
    rows += [
        [START + datetime.timedelta(seconds=float(t)), float(v)] for t, v in zip(TIME, LOAD, strict=True)
    ]
    _write_workbook(tmp_path / "log.xlsx", rows)
    log = read_log(tmp_path / "log.xlsx")
    assert log.started == "2026-03-17T12:00:00"
    np.testing.assert_allclose(log.time, TIME, atol=1e-3)  # a sheet's dates are kept to the millisecond


def test_the_row_of_a_bad_cell_in_a_workbook(tmp_path: Path) -> None:
    rows = [
        ["t [s]", "load"],
        *([float(t), "slipped" if t == 1 else float(v)] for t, v in zip(TIME, LOAD, strict=True)),
    ]
    _write_workbook(tmp_path / "log.xlsx", rows)
    (finding,) = read_log(tmp_path / "log.xlsx").findings
    assert (finding.kind, finding.channel, finding.first_line) == ("not-a-number", "load", 22)


@pytest.mark.parametrize(
    ("time", "started"),
    [
        (pa.array(TIME), None),
        (pa.array((TIME * 1e6).round().astype("int64"), pa.duration("us")), None),
        (pa.array([START + datetime.timedelta(seconds=float(t)) for t in TIME]), "2026-03-17T12:00:00"),
        (
            pa.array(
                [START + datetime.timedelta(seconds=float(t)) for t in TIME], pa.timestamp("ms", tz="UTC")
            ),
            "2026-03-17T12:00:00+00:00",
        ),
        (pa.array([(START + datetime.timedelta(seconds=float(t))).time() for t in TIME]), None),
    ],
)
def test_parquet_of_any_time_type(tmp_path: Path, time: pa.Array, started: str | None) -> None:
    table = pa.table({"time": time, "load [kN]": pa.array(LOAD, pa.float64()), "note": ["x"] * len(TIME)})
    pq.write_table(table, tmp_path / "log.csv")  # content counts, not the name
    log = read_log(tmp_path / "log.csv")
    np.testing.assert_allclose(log.time, TIME, atol=1e-9)
    assert log.started == started
    assert [(each.name, each.unit) for each in log.channels] == [("load", "kN")]
    assert np.array_equal(log.channels[0].values, LOAD)


def test_parquet_takes_units_from_metadata_and_rates_from_outside(tmp_path: Path) -> None:
    field = pa.field("load", pa.float32(), metadata={"unit": "kN"})
    pq.write_table(
        pa.table([pa.array(LOAD, pa.float32())], schema=pa.schema([field])), tmp_path / "log.parquet"
    )
    log = read_log(tmp_path / "log.parquet", sample_rate_hz=80)
    assert log.channel().unit == "kN" and log.time[1] == 1 / 80
    with pytest.raises(BadFile, match="no time column"):
        read_log(tmp_path / "log.parquet")


def test_damaged_parquet_is_a_bad_file(tmp_path: Path) -> None:
    pq.write_table(pa.table({"time": TIME, "load": LOAD}), tmp_path / "log.parquet")
    whole = (tmp_path / "log.parquet").read_bytes()
    (tmp_path / "log.parquet").write_bytes(whole[: len(whole) // 2])
    with pytest.raises(BadFile, match="Parquet"):
        read_log(tmp_path / "log.parquet")
