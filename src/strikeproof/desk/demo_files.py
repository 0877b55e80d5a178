"""The demo's raw files, in the different shapes that different loggers give them."""

from __future__ import annotations

import csv
from collections.abc import Mapping, Sequence
from datetime import datetime, timedelta
from pathlib import Path

import numpy as np
import pyarrow as pa
from pyarrow import csv as arrow_csv

from strikeproof.campaign.run_sheet import COLUMNS, NEW_BOLT
from strikeproof.judge.records import PlannedRun
from strikeproof.quantity import FloatArray

__all__ = ["write_log", "write_run_sheet", "write_truth"]

_FAST_HZ = 1000.0


def write_log(folder: Path, run: PlannedRun, time: FloatArray, reading: FloatArray, started: datetime) -> str:
    """Write one log as its logger would; returns its name."""
    name = f"{run.run}-{run.tool}.csv"
    if 1.0 / (time[1] - time[0]) > _FAST_HZ:
        _write_fast(folder / name, time, reading, started)
    else:
        _write_slow(folder / name, time, reading, started)
    return name


def _write_fast(path: Path, time: FloatArray, reading: FloatArray, started: datetime) -> None:
    """As a data logger exports: a preamble, then comma-separated time and load."""
    table = pa.table({"time [s]": np.round(time, 4), "load [div]": np.round(reading, 2)})
    with path.open("wb") as stream:
        stream.write(f"# simulated log, started {started.isoformat(sep=' ')}\n".encode())
        arrow_csv.write_csv(table, stream)


def _write_slow(path: Path, time: FloatArray, reading: FloatArray, started: datetime) -> None:
    """As a small board prints: clock times, semicolons, decimal commas, a second channel."""
    lines = ["simulated board;firmware 0", "", "clock;load;temperature"]
    for since, value in zip(time, reading, strict=True):
        clock = (started + timedelta(seconds=float(since))).strftime("%H:%M:%S,%f")[:-3]
        number = f"{value:.1f}".replace(".", ",")
        lines.append(f"{clock};{number};21,5")
    path.write_text("\r\n".join(lines) + "\r\n", encoding="cp1252", newline="")


def write_run_sheet(path: Path, rows: Sequence[tuple[PlannedRun, str, datetime, str]]) -> None:
    """The run sheet of runs as they were done: run, log, start, and why set aside."""
    with path.open("w", encoding="utf-8", newline="") as stream:
        sheet = csv.DictWriter(stream, COLUMNS, restval="", lineterminator="\n")
        sheet.writeheader()
        for run, log, started, aside in rows:
            sheet.writerow(
                {
                    "run": run.run,
                    "log": log,
                    "tool": run.tool,
                    "article": run.article,
                    "block": run.block,
                    "bolt": run.bolt,
                    "started": started.isoformat(sep=" "),
                    "set_aside": aside,
                    "note": NEW_BOLT if run.new_bolt else "",
                }
            )


def write_truth(path: Path, gains: Mapping[tuple[str, str], float]) -> None:
    """The gains that the simulation put in, percent over the reference."""
    lines = ["tool,article,true_gain_percent"]
    lines += [f"{tool},{article},{gain:.2f}" for (tool, article), gain in gains.items()]
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")
