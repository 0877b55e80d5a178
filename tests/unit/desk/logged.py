"""A small campaign whose runs have logs, each as simulated or changed on its way to the file."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path

import numpy as np
from tests.unit.desk.live_bench import CAMPAIGN, one_run

from strikeproof.quantity import FloatArray

Change = Callable[[FloatArray, FloatArray], tuple[FloatArray, FloatArray]]
"""From time and reading as simulated to what the log says."""

RATE_HZ = 250.0
RUNS = ("plain", "ring") * 4


def as_it_is(time: FloatArray, reading: FloatArray) -> tuple[FloatArray, FloatArray]:
    """No change."""
    return time, reading


def times(factor: float) -> Change:
    """The reading so many times larger."""
    return lambda time, reading: (time, factor * reading)


def write_logged(folder: Path, changes: Mapping[int, Change] | None = None) -> Path:
    """Eight runs in four blocks, 1 to 8, plain and ring in turn; `changes` by run."""
    (folder / "logs").mkdir(parents=True)
    (folder / "campaign.toml").write_text(CAMPAIGN)
    lines = ["run,log,tool,article,block"]
    for number, article in enumerate(RUNS, start=1):
        trace = one_run(
            number, sample_rate_hz=RATE_HZ, **({"final_level": 130.0} if article == "ring" else {})
        )
        time, reading = (changes or {}).get(number, as_it_is)(trace.time, trace.reading)
        rows = "\n".join(f"{t:.4f},{v:.9g}" for t, v in zip(time.tolist(), reading.tolist(), strict=True))
        (folder / "logs" / f"{number}.csv").write_text(f"time [s],load [kN]\n{rows}\n")
        lines.append(f"{number},{number}.csv,air,{article},{(number + 1) // 2}")
    (folder / "runs.csv").write_text("\n".join(lines) + "\n")
    return folder


def jumped(time: FloatArray, reading: FloatArray) -> tuple[FloatArray, FloatArray]:
    """The clock jumps by 1e9 s in the middle of the run."""
    late = np.arange(len(time)) > len(time) // 2
    return np.asarray(time + 1e9 * late), np.asarray(reading)
