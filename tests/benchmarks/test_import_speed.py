"""How fast logs come in, against a plain read of the same files by pandas in the same run.

The plain read does none of the work around it: it is told the separator and the decimal mark, and neither
times, units nor defects are looked for.
"""

from __future__ import annotations

import os
import platform
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from tests.benchmarks.yardstick import within

from strikeproof.campaign.gate import Job, read_each
from strikeproof.capture import pick_channel, read_log

LOGS, RATE_HZ, SECONDS = 200, 10_000, 10
LIMIT_S = 20.0  # for all logs on two cores


def _machine() -> str:
    lines = Path("/proc/cpuinfo").read_text().splitlines() if Path("/proc/cpuinfo").exists() else []
    model = next(
        (line.split(":")[1].strip() for line in lines if line.startswith("model name")), platform.processor()
    )
    return f"{model}, {os.cpu_count()} cores, Python {platform.python_version()}, {platform.system()}"


def _write_logs(folder: Path, separator: str, decimal: str) -> list[Path]:
    """The same ten different signals over and over, each file of its own."""
    rng = np.random.default_rng(1)
    stamps = np.arange(RATE_HZ * SECONDS) / RATE_HZ
    paths = []
    for i in range(LOGS):
        path = folder / f"log-{i:03d}.csv"
        if i < 10:
            load = 80 * (1 - np.exp(-stamps / 3)) + rng.normal(scale=0.2, size=len(stamps))
            rows = "".join(f"{t:.4f}{separator}{x:.4f}\n" for t, x in zip(stamps, load, strict=True))
            text = f"time [s]{separator}load [kN]\n" + rows.replace(".", decimal)
            path.write_text(text)
        else:
            path.write_bytes(paths[i % 10].read_bytes())
        paths.append(path)
    return paths


def _ours(path: Path) -> float:
    return float(pick_channel(read_log(path), "load").values[-1])


def _plain(path: Path, separator: str, decimal: str) -> float:
    return float(pd.read_csv(path, sep=separator, decimal=decimal).iloc[-1, 1])


def _clock(work: Callable[[], list[float]]) -> tuple[float, float, list[float]]:
    """Seconds on the wall, seconds of this process's computing, and the answer."""
    start, busy = time.perf_counter(), time.process_time()
    answer = work()
    return time.perf_counter() - start, time.process_time() - busy, answer


def _per_log(wall: float, busy: float) -> str:
    return f"{wall:6.2f} s, {wall / LOGS * 1e3:5.1f} ms a log, {busy / LOGS * 1e3:5.1f} ms of it computing"


@pytest.mark.benchmark
@pytest.mark.parametrize(("separator", "decimal"), [(",", "."), (";", ",")])
def test_two_hundred_logs_come_in_well_under_twenty_seconds(
    tmp_path: Path, separator: str, decimal: str
) -> None:
    paths = _write_logs(tmp_path, separator, decimal)
    size = sum(path.stat().st_size for path in paths) / 1e6
    _ours(paths[0]), _plain(paths[0], separator, decimal)  # imports and caches are not what is timed
    serial, busy, values = _clock(lambda: [_ours(path) for path in paths])
    plain, plain_busy, expected = _clock(lambda: [_plain(path, separator, decimal) for path in paths])
    jobs = [Job(path, _ours, (path,)) for path in paths]
    list(read_each(jobs[:4], 2))
    parallel, _, again = _clock(lambda: list(read_each(jobs, 2)))
    print(
        f"\n{_machine()}\n{LOGS} logs of {SECONDS} s at {RATE_HZ} Hz, separator {separator!r}, {size:.0f} MB:"
        f"\n  read_log        {_per_log(serial, busy)}"
        f"\n  pandas.read_csv {_per_log(plain, plain_busy)}"
        f"\n  read_log / pandas {serial / plain:.2f}, of computing {busy / plain_busy:.2f}, one process each"
        f"\n  read_log in two processes behind the gate {parallel:.2f} s"
    )
    assert values == again == expected
    assert parallel < within(LIMIT_S)
