"""A simulated campaign with known truth, written as the raw files a bench would leave.

An invented quarry workshop compares eight 30 mm articles with two tools on an M20 test bolt. Names,
prices and gains are made up; `truth.csv` beside the campaign says what was put in.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path

import numpy as np
import pyarrow as pa
from pyarrow import csv as arrow_csv

from strikeproof.campaign.run_sheet import COLUMNS
from strikeproof.errors import StoreError
from strikeproof.judge.planning import plan_runs
from strikeproof.judge.records import PlannedRun
from strikeproof.quantity import FloatArray
from strikeproof.trace import TracePlan, simulate_trace

__all__ = ["TRUE_GAINS", "make_demo"]

Progress = Callable[[int, int, str], None]

REFERENCE = "plain-30"
REPEATS = 6
_RUN_SCATTER = 0.015
_BLOCK_SCATTER = 0.01
_DRIFT_PER_RUN = -0.0004
_DIVISIONS_PER_NM = 2.4
_COOL_DOWN_S = 75.0


@dataclass(frozen=True, slots=True)
class _Tool:
    """One invented tool: what the reference reaches with it [N·m], its blows, and its logger."""

    name: str
    mechanism: str
    supply: str
    level: float
    blow_rate_hz: float
    growth_blows: float


_TOOLS = (
    _Tool("air-a", "air", "6.2 bar", 300.0, 21.0, 55.0),
    _Tool("cordless-b", "spring-and-cam", "18 V", 185.0, 42.0, 70.0),
)

TRUE_GAINS: Mapping[str, Mapping[str, float]] = {
    "air-a": {
        REFERENCE: 0.0,
        "long-30": -0.7,
        "thin-wall-30": -2.5,
        "thick-wall-30": 8.5,
        "ring-30": 24.0,
        "loose-ring-30": -6.5,
        "extension-125": -34.0,
        "adapter-stack": -13.0,
    },
    "cordless-b": {
        REFERENCE: 0.0,
        "long-30": 0.4,
        "thin-wall-30": -1.0,
        "thick-wall-30": 1.5,
        "ring-30": -3.0,
        "loose-ring-30": -8.5,
        "extension-125": -38.0,
        "adapter-stack": -15.0,
    },
}
"""True gain over the reference, percent, of each article with each tool."""

# name, price [EUR], mass [kg], polar inertia [kg·m²]
_ARTICLES = (
    (REFERENCE, 16.0, 0.44, 1.0e-4),
    ("long-30", 21.0, 0.61, 1.4e-4),
    ("thin-wall-30", 24.0, 0.33, 0.7e-4),
    ("thick-wall-30", 29.0, 0.78, 2.4e-4),
    ("ring-30", 46.0, 1.35, 6.2e-4),
    ("loose-ring-30", 38.0, 1.30, 5.8e-4),
    ("extension-125", 33.0, 0.95, 1.3e-4),
    ("adapter-stack", 27.0, 0.72, 1.5e-4),
)


def make_demo(folder: Path, seed: int, progress: Progress | None = None) -> None:
    """Write the campaign into `folder`: campaign.toml, run sheet, calibration sheet, logs, truth.

    Raises
    ------
    StoreError
        If the folder holds something already, or cannot be written.
    """
    if folder.exists() and any(folder.iterdir()):
        raise StoreError(f"{folder}: is not empty", "name another folder with --into, or delete it")
    rng = np.random.default_rng(seed)
    runs = plan_runs(
        [name for name, *_rest in _ARTICLES],
        [tool.name for tool in _TOOLS],
        REFERENCE,
        repeats=REPEATS,
        seed=seed,
        duration_s=10.0,
        runs_per_bolt=27,
        cool_down_s=_COOL_DOWN_S,
    )
    try:
        (folder / "logs").mkdir(parents=True, exist_ok=True)
        (folder / "campaign.toml").write_text(_campaign_text(seed), encoding="utf-8")
        (folder / "calibration.csv").write_text(_calibration_text(rng), encoding="utf-8")
        (folder / "truth.csv").write_text(_truth_text(), encoding="utf-8")
        _write_runs(folder, runs, rng, progress)
    except OSError as cause:
        raise StoreError(f"{folder}: cannot be written: {cause.strerror}", "choose another place") from cause


def _write_runs(
    folder: Path, runs: tuple[PlannedRun, ...], rng: np.random.Generator, progress: Progress | None
) -> None:
    blocks = {run.block: float(rng.normal(0, _BLOCK_SCATTER)) for run in runs}
    spoiled = next(run.run for run in runs[40:] if run.article != REFERENCE)
    clipped = next(run.run for run in runs[60:] if (run.tool, run.article) == ("air-a", "ring-30"))
    rows = []
    for run in runs:
        tool = next(tool for tool in _TOOLS if tool.name == run.tool)
        log_level = (
            np.log(tool.level)
            + np.log1p(TRUE_GAINS[tool.name][run.article] / 100)
            + blocks[run.block]
            + _DRIFT_PER_RUN * run.order
            + rng.normal(0, _RUN_SCATTER)
            + (np.log(0.71) if run.run == spoiled else 0.0)
        )
        started = datetime(2026, 5, 4, 7, 30) + timedelta(seconds=run.start_s)
        plan = _plan(tool, float(np.exp(log_level)), run, clipped=run.run == clipped)
        name = _write_log(folder / "logs", run, plan, started, rng)
        aside = "socket not fully on the head, seen after the run" if run.run == spoiled else ""
        rows.append((run, name, started, aside))
        if progress:
            progress(run.order, len(runs), run.run)
    (folder / "runs.csv").write_text(_sheet_text(rows), encoding="utf-8")


def _plan(tool: _Tool, level_nm: float, run: PlannedRun, *, clipped: bool) -> TracePlan:
    """The first blocks were logged at 10 kS/s, the later ones by a board with 80 samples a second."""
    fast = int(run.block) <= 4
    level = level_nm * _DIVISIONS_PER_NM
    blows = 10.0 * tool.blow_rate_hz
    return TracePlan(
        sample_rate_hz=10_000.0 if fast else 80.0,
        length_s=13.0,
        start_s=1.1,
        hammer_s=10.3,
        blow_rate_hz=tool.blow_rate_hz,
        final_level=level / float(np.sqrt(-np.expm1(-blows / tool.growth_blows))),
        growth_blows=tool.growth_blows,
        step_scatter=0.05,
        zero=6.0,
        noise=0.9 if fast else 0.35,
        hum=0.5 if fast else 0.0,
        resolution=0.02 if fast else 0.1,
        clip_level=0.93 * level if clipped else None,
    )


def _write_log(
    folder: Path, run: PlannedRun, plan: TracePlan, started: datetime, rng: np.random.Generator
) -> str:
    trace = simulate_trace(rng, plan=plan)
    name = f"{run.run}-{run.tool}.csv"
    if plan.sample_rate_hz > 1000:
        _write_fast(folder / name, trace.time, trace.reading, started)
    else:
        _write_slow(folder / name, trace.time, trace.reading, started)
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


def _sheet_text(rows: list[tuple[PlannedRun, str, datetime, str]]) -> str:
    text = io.StringIO()
    sheet = csv.DictWriter(text, COLUMNS, restval="", lineterminator="\n")
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
                "note": "new bolt" if run.new_bolt else "",
            }
        )
    return text.getvalue()


def _calibration_text(rng: np.random.Generator) -> str:
    lines = ["applied;reading;direction;repeat"]
    for repeat in (1, 2, 3):
        for direction, steps in (("up", range(0, 451, 50)), ("down", range(450, -1, -50))):
            for applied in steps:
                lag = 0.8 if direction == "down" and 0 < applied < 450 else 0.0
                reading = 4.0 + _DIVISIONS_PER_NM * applied + lag + rng.normal(0, 1.2)
                lines.append(f"{applied};{f'{reading:.1f}'.replace('.', ',')};{direction};{repeat}")
    return "\n".join(lines) + "\n"


def _truth_text() -> str:
    lines = ["tool,article,true_gain_percent"]
    lines += [f"{tool},{name},{gain}" for tool, gains in TRUE_GAINS.items() for name, gain in gains.items()]
    return "\n".join(lines) + "\n"


def _campaign_text(seed: int) -> str:
    tools = "".join(
        f'\n[[tool]]\nname = "{tool.name}"\nmechanism = "{tool.mechanism}"\ndrive_mm = 12.7\n'
        f'supply = "{tool.supply}"\nblow_rate_hz = {tool.blow_rate_hz:g}\n'
        for tool in _TOOLS
    )
    articles = "".join(
        f'\n[[article]]\nname = "{name}"\nprice = {price}\nmass_kg = {mass}\n'
        f"polar_inertia_kg_m2 = {inertia:.1e}\n"
        for name, price, mass, inertia in _ARTICLES
    )
    return f"""# SIMULATED: an invented quarry workshop, made by `strikeproof demo` from seed {seed}.
[campaign]
name = "crusher liner bolts"
reference = "{REFERENCE}"
margin_percent = 4
currency = "EUR"
simulated = true
note = "Which 30 mm article tightens a crusher's liner bolts best? Invented articles, simulated runs."

[protocol]
duration = "10 s"
direction = "tighten"
score = "end"
cool_down = "{_COOL_DOWN_S:g} s"
repeats = {REPEATS}
seed = {seed}

[rig]
name = "bench A"
channel = "load"
unit = "reading"
resolution = 0.1

[bolt]
name = "test bolts"
thread = "M20x2.5"
class = "10.9"
friction = 0.12
friction_uncertainty_percent = 15
runs_per_bolt = 27

[calibration]
sheet = "calibration.csv"
applied_unit = "N m"
reference_uncertainty_percent = 2.0
rig = "bench A"
{tools}{articles}
[runs]
sheet = "runs.csv"
logs = "logs"
"""
