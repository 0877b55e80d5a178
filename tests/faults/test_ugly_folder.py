"""A folder as it comes from a real bench: every log of another make, some of them broken.

The files are written here by hand, not by the product's own simulator.
"""

from __future__ import annotations

import gzip
import json
import os
import subprocess
import sys
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

import numpy as np
import openpyxl
import pyarrow as pa
import pyarrow.parquet as pq
import pytest

RATE_HZ = 25.0


def hammered(level: float, rate: float, *, seconds: float = 12.5, zero: float = 1.5) -> tuple[Any, Any]:
    """A staircase that creeps to `level`: 25 blows a second from 1 s to 11.2 s, with a little noise."""
    time = np.arange(int(seconds * rate)) / rate
    blows = np.floor(np.clip((time - 1.0) * RATE_HZ + 1, 0, 10.2 * RATE_HZ))
    growth = level * np.sqrt(-np.expm1(-blows / 40.0)) / np.sqrt(-np.expm1(-250 / 40.0))
    noise = np.random.default_rng(7).normal(0, 0.05, time.size)
    return time, zero + growth + noise


def comma(path: Path, level: float) -> None:
    time, load = hammered(level, 1000)
    rows = [f"{t:.3f},{v:.3f}" for t, v in zip(time, load, strict=True)]
    path.write_text("time [s],load [kN]\n" + "\n".join(rows) + "\n")


def semicolon(path: Path, level: float) -> None:
    time, load = hammered(level, 200)
    rows = [f"{t * 1000:.0f};{v:.2f};21,5".replace(".", ",") for t, v in zip(time, load, strict=True)]
    head = "Prüfstand;Halle 2\r\nDatum;4.5.2026\r\n\r\nZeit (ms);Load (kN);Temp (°C)\r\n"
    path.write_bytes((head + "\r\n".join(rows) + "\r\n").encode("latin-1"))


def tabs_utf16(path: Path, level: float) -> None:
    time, load = hammered(level, 100)
    midnight = datetime(2026, 5, 4, 23, 59, 55)
    stamps = [(midnight + timedelta(seconds=float(t))).strftime("%H:%M:%S.%f")[:-3] for t in time]
    rows = [f"{s}\t{v:.2f}" for s, v in zip(stamps, load, strict=True)]
    path.write_bytes(("clock\tload\n" + "\n".join(rows)).encode("utf-16"))


def zipped(path: Path, level: float) -> None:
    time, load = hammered(level, 500)
    start = datetime(2026, 5, 4, 9, 30)
    rows = [
        f"{(start + timedelta(seconds=float(t))).isoformat()},{v:.3f}"
        for t, v in zip(time, load, strict=True)
    ]
    path.write_bytes(gzip.compress(("stamp,load\n" + "\n".join(rows) + "\n").encode()))


def workbook(path: Path, level: float) -> None:
    time, load = hammered(level, 80)
    book = openpyxl.Workbook()
    book.active.append(["time", "load"])
    book.active.append(["s", "kN"])
    for t, v in zip(time, load, strict=True):
        book.active.append([round(float(t), 4), round(float(v), 3)])
    book.save(path)


def parquet(path: Path, level: float) -> None:
    time, load = hammered(level, 10_000)
    pq.write_table(pa.table({"time_s": time, "load": load, "spare": load * 0}), path)


def gaps(path: Path, level: float) -> None:
    time, load = hammered(level, 400)
    rows = [f"{t:.4f},{v:.3f}" for t, v in zip(time, load, strict=True)]
    rows[2000], rows[2001] = rows[2001], rows[2000]  # backward
    rows[1500] = f"{time[1500]:.4f},NaN"
    rows[1501] = f"{time[1501]:.4f},ERR"
    rows[3000] = rows[2999]  # repeated
    del rows[1000:1100]  # a gap of a quarter second
    path.write_text("time_s,load\n" + "\n".join(rows) + "\n", encoding="utf-8-sig")


def ten_a_second(path: Path, level: float) -> None:
    time, load = hammered(level, 10)
    rows = [f'"{t:.1f}","{v:.2f}"'.replace(".", ",") for t, v in zip(time, load, strict=True)]
    path.write_text('"time s","load kN"\n' + "\n".join(rows) + "\n")


def newtons(path: Path, level: float) -> None:
    time, load = hammered(level, 100)
    rows = [f"{t:.2f} {v * 1000:.0f}" for t, v in zip(time, load, strict=True)]
    path.write_text("time[s] load[N]\n" + "\n".join(rows) + "\n")


def empty(path: Path, _level: float) -> None:
    path.write_bytes(b"")


def junk(path: Path, _level: float) -> None:
    path.write_bytes(np.random.default_rng(3).bytes(5000))


def letter(path: Path, _level: float) -> None:
    path.write_text("Dear all,\nthe logger was out of order on that day.\nRegards\n")


def missing(_path: Path, _level: float) -> None:
    pass


GOOD = (comma, semicolon, tabs_utf16, zipped, workbook, parquet, gaps, ten_a_second, newtons)
BAD = (empty, junk, letter, missing)

CAMPAIGN = """
[campaign]
name = "every make of log"
reference = "plain"
[protocol]
duration = "10 s"
[rig]
name = "old bench"
channel = "Load"
unit = "kN"
[bolt]
thread = "M20"
class = "10.9"
friction = 0.14
[[tool]]
name = "air"
[[article]]
name = "plain"
price = 12
[[article]]
name = "ring"
price = 40
"""


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("ugly")
    (folder / "logs").mkdir()
    (folder / "campaign.toml").write_text(CAMPAIGN)
    lines = ["run;log;tool;article;block;note"]
    for number, writer in enumerate((*GOOD, *BAD)):
        dealt = -1 if number in {0, 3, 4, 6, 9} else 1  # no order that repeats itself: that gets no verdict
        for article, level in (("plain", 100.0), ("ring", 120.0))[::dealt]:
            name = f"{writer.__name__}-{article}" + {"zipped": ".csv.gz", "workbook": ".xlsx"}.get(
                writer.__name__, ".log"
            )
            writer(folder / "logs" / name, level)
            lines.append(f"{writer.__name__}-{article};{name};air;{article};{number};Öl auf dem Gewinde")
    lines.append("told;;air;plain;20;only a note")
    (folder / "runs.csv").write_text("\n".join(lines) + "\n", encoding="cp1252")
    return folder


def strikeproof(*words: str | Path) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-m", "strikeproof", *map(str, words)],
        capture_output=True,
        text=True,
        env={**os.environ, "PYTHONWARNINGS": "error"},
        check=False,
    )


@pytest.fixture(scope="module")
def loaded(folder: Path) -> dict[str, Any]:
    done = strikeproof("load", folder, "-w", folder / "lab", "--json")
    assert done.returncode == 1, done.stderr
    found: dict[str, Any] = json.loads(done.stdout)
    return found


def test_all_good_logs_go_in_and_each_bad_one_is_named(loaded: dict[str, Any]) -> None:
    assert loaded["runs_loaded"] == 2 * len(GOOD)
    told = " ".join(f"{problem['file']}:{problem['line']}" for problem in loaded["problems"])
    for writer in BAD:
        assert told.count(f"{writer.__name__}-") == 2, told
    for problem in loaded["problems"]:
        assert problem["problem"]
        assert problem["fix"]
    assert len(loaded["problems"]) == 2 * len(BAD) + 1  # and the row without a log or a score


def test_scores_are_right_whatever_the_make(folder: Path, loaded: dict[str, Any]) -> None:
    assert loaded["campaign"] == "every make of log"
    done = strikeproof("runs", "-w", folder / "lab", "--json")
    assert done.returncode == 0, done.stderr
    for run in json.loads(done.stdout):
        level = 100.0 if run["article"] == "plain" else 120.0
        # Hammering goes on to 11.2 s, so the level at the end of the 10 s window is all but the last.
        assert run["score"] == pytest.approx(level, rel=0.004), run
        assert run["unit"] == "kN"
        assert run["clamp_load_n"] == pytest.approx(run["score"] * 1000)


def test_what_is_odd_is_flagged(folder: Path, loaded: dict[str, Any]) -> None:
    assert loaded["problems"]
    rows = {run["run"]: run for run in json.loads(strikeproof("runs", "-w", folder / "lab", "--json").stdout)}
    flags = set(rows["gaps-plain"]["flags"])
    assert "not-a-number" in flags
    assert flags & {"gap", "dropout"}
    assert flags & {"backward-time", "time-order"}
    assert "rate-too-low" in rows["ten_a_second-plain"]["flags"]
    assert rows["parquet-plain"]["blow_rate_hz"] == pytest.approx(RATE_HZ, rel=0.01)


def test_comparison_and_page_come_out(folder: Path, loaded: dict[str, Any], tmp_path: Path) -> None:
    assert loaded["runs_loaded"]
    done = strikeproof("compare", "-w", folder / "lab", "--json")
    assert done.returncode == 0, done.stderr
    ring = next(each for each in json.loads(done.stdout)["articles"] if each["article"] == "ring")
    assert ring["verdict"] == "higher"
    assert ring["low_percent"] < 20.0 < ring["high_percent"]
    page = tmp_path / "page.html"
    done = strikeproof("report", "-w", folder / "lab", "-o", page)
    assert done.returncode == 0, done.stderr
    assert "Öl auf dem Gewinde" in page.read_text(encoding="utf-8")


def test_loading_again_changes_nothing(folder: Path, loaded: dict[str, Any]) -> None:
    again = json.loads(strikeproof("load", folder, "-w", folder / "lab", "--json").stdout)
    assert again["runs_loaded"] == 0
    assert again["runs_unchanged"] == loaded["runs_loaded"]
