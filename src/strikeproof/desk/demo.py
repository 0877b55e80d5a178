"""A simulated campaign of known truth, written as the raw files a bench would leave.

An invented quarry workshop compares eight 27 mm articles with two tools. Each run is hammered on the
simulated drivetrain; on top come what differs between runs, the rig's drift and the sensor's faults.
`truth.csv` beside the campaign says what was put in.
"""

from __future__ import annotations

import csv
import math
import shutil
import tomllib
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from importlib.resources import files
from pathlib import Path
from typing import Any

import numpy as np
import pyarrow as pa
from pyarrow import csv as arrow_csv

from strikeproof.campaign.run_sheet import COLUMNS, NEW_BOLT
from strikeproof.campaign.whole_file import write_whole
from strikeproof.desk.articles.article import describe_article
from strikeproof.desk.loading.load import load_campaign
from strikeproof.desk.simulating.bench import read_setup
from strikeproof.desk.workspace.places import campaign_place
from strikeproof.drivetrain import Chain, ToolModel, build_chain, draw_scatter, simulate_run
from strikeproof.errors import StoreError
from strikeproof.explain.article_model import article_model
from strikeproof.judge.planning import plan_runs
from strikeproof.judge.records import PlannedRun
from strikeproof.quantity import FloatArray
from strikeproof.trace import TracePlan, record_blows

__all__ = ["build_benches", "demo_place", "design_demo", "make_demo", "make_trial", "true_gains"]

Progress = Callable[[int, int, str], None]
Benches = Mapping[tuple[str, str], tuple[Chain, ToolModel]]

_RUN_SCATTER = 0.014  # friction and fit differ from run to run
_BLOCK_SCATTER = 0.01  # supply and temperature differ from block to block
_DRIFT_PER_RUN = -0.0003
_DIVISIONS_PER_KN = 7.0
_ZERO = 4.0
_HAMMER_S = 10.3  # a person releases the trigger a little after the ten seconds
_TRUTH_DRAWS = 10  # the same luck for every article, so few are enough
_FAST_BLOCKS = 4  # logged at 10 kS/s; a board with 80 samples a second logged the others
_TRIAL_SEED = 13  # the demo's own
_SPOILED = "socket not fully on the head, seen after the run"


@dataclass(frozen=True, slots=True)
class _Oddities:
    """The runs that went wrong."""

    spoiled: str
    clipped: str


def demo_place(workspace: Path) -> Path:
    """Where the demo's campaign lies in a workspace: where the browser plans, records and designs."""
    name = tomllib.loads(_campaign_text(0))["campaign"]["name"]
    return campaign_place(workspace, name)


def make_demo(folder: Path, seed: int, progress: Progress | None = None) -> None:
    """Write the campaign into `folder`: campaign.toml, brief.toml, run sheet, calibration sheet, logs, truth.

    Raises
    ------
    StoreError
        If the folder holds something already, or cannot be written.
    """
    if folder.exists() and any(folder.iterdir()):
        raise StoreError(f"{folder}: is not empty", "name another folder with --into, or delete it")
    text = _campaign_text(seed)
    tables = tomllib.loads(text)
    benches = build_benches(tables)
    rng = np.random.default_rng(seed)
    try:
        (folder / "logs").mkdir(parents=True, exist_ok=True)
        write_whole(folder / "campaign.toml", text)
        write_whole(folder / "brief.toml", _template("demo-brief.toml"))
        write_whole(folder / "calibration.csv", _calibration_text(rng, benches))
        _write_truth(folder / "truth.csv", true_gains(tables, benches, seed))
        _write_runs(folder, _plan(tables, seed), benches, rng, progress)
    except OSError as cause:
        raise StoreError(f"{folder}: cannot be written: {cause.strerror}", "choose another place") from cause


def make_trial(workspace: Path, progress: Progress | None = None) -> Path:
    """A workspace to try everything in: the demo's campaign, written and loaded; gives the workspace.

    Raises
    ------
    StoreError
        If it cannot be written.
    """
    folder = demo_place(workspace)
    make_demo(folder, _TRIAL_SEED, progress)
    load_campaign(folder, workspace, progress)
    return workspace


def design_demo(
    folder: Path, workspace: Path, out: Path, progress: Progress | None = None
) -> list[tuple[str, ...]]:
    """Search by the campaign's brief; what was found goes to `out`, and to where the browser shows it.

    Raises
    ------
    StrikeproofError
        If the campaign of another seed teaches too little, or `out` cannot be written.
    """
    # A search takes rooms that nobody waits for who only wants the campaign.
    from strikeproof.desk.designing.brief_draft import open_brief
    from strikeproof.desk.designing.design import design_from
    from strikeproof.desk.designing.files import require_outlet
    from strikeproof.desk.designing.show import keep_design

    require_outlet(out)
    outcome = design_from(folder / "brief.toml", workspace, quick=True, progress=progress)
    kept = folder / "design"
    keep_design(outcome, kept, open_brief(workspace, None).mark, quick=True)
    try:
        shutil.copytree(kept, out, ignore=shutil.ignore_patterns("view.json"), dirs_exist_ok=True)
    except OSError as cause:
        raise StoreError(f"{out}: cannot be written: {cause.strerror}", "choose another place") from cause
    return outcome.lines()


def _campaign_text(seed: int) -> str:
    return _template("demo-campaign.toml").replace("SEED", str(seed))


def _template(name: str) -> str:
    return (files("strikeproof.desk") / "templates" / name).read_text(encoding="utf-8")


def build_benches(tables: Mapping[str, Any]) -> Benches:
    """The chain of every article with every tool."""
    stiffness = tables["rig"]["clamp_stiffness_n_per_m"]
    known = ("thread", "class", "friction", "grip_length_mm")
    bolt = {key: value for key, value in tables["bolt"].items() if key in known}
    found: dict[tuple[str, str], tuple[Chain, ToolModel]] = {}
    for article in tables["article"]:
        model = article_model(describe_article({"article": article}).properties)
        for tool in tables["tool"]:
            setup = read_setup(
                {"rig": {"clamp_stiffness_n_per_m": stiffness}, "bolt": bolt, "tool": tool},
                article=model,
                rigid_shank=True,
            )
            chain = build_chain(setup.tool, model, setup.bolt, setup.rig)
            found[tool["name"], article["name"]] = (chain, setup.tool)
    return found


def true_gains(tables: Mapping[str, Any], benches: Benches, seed: int) -> dict[tuple[str, str], float]:
    """Gain of each article over the reference with each tool, percent, over many draws of blow scatter."""
    window = 10.0
    levels = {
        pair: math.exp(
            np.mean(
                [
                    math.log(
                        simulate_run(
                            chain,
                            tool,
                            duration=window,
                            scatter=draw_scatter(tool, window, np.random.default_rng([seed, draw])),
                        ).end_load
                    )
                    for draw in range(_TRUTH_DRAWS)
                ]
            )
        )
        for pair, (chain, tool) in benches.items()
    }
    reference = tables["campaign"]["reference"]
    return {
        (tool, article): 100.0 * (level / levels[tool, reference] - 1.0)
        for (tool, article), level in levels.items()
    }


def _plan(tables: Mapping[str, Any], seed: int) -> tuple[PlannedRun, ...]:
    return plan_runs(
        [article["name"] for article in tables["article"]],
        [tool["name"] for tool in tables["tool"]],
        tables["campaign"]["reference"],
        repeats=tables["protocol"]["repeats"],
        seed=seed,
        duration_s=10.0,
        runs_per_bolt=tables["bolt"]["runs_per_bolt"],
        cool_down_s=75.0,
    )


def _write_runs(
    folder: Path,
    runs: tuple[PlannedRun, ...],
    benches: Benches,
    rng: np.random.Generator,
    progress: Progress | None,
) -> None:
    blocks = {run.block: float(rng.normal(0, _BLOCK_SCATTER)) for run in runs}
    odd = _Oddities(
        spoiled=next(run.run for run in runs[40:] if run.article == "long-27"),
        clipped=next(run.run for run in runs[60:] if (run.tool, run.article) == ("air-a", "ring-27")),
    )
    rows = []
    for run in runs:
        share = math.exp(blocks[run.block] + _DRIFT_PER_RUN * run.order + float(rng.normal(0, _RUN_SCATTER)))
        share *= 0.71 if run.run == odd.spoiled else 1.0
        started = datetime(2026, 5, 4, 7, 30) + timedelta(seconds=run.start_s)
        trace = _hammer(run, benches[run.tool, run.article], share, rng, clipped=run.run == odd.clipped)
        log = _write_log(folder / "logs", run, *trace, started)
        rows.append((run, log, started, _SPOILED if run.run == odd.spoiled else ""))
        if progress:
            progress(run.order, len(runs), run.run)
    _write_run_sheet(folder / "runs.csv", rows)


def _hammer(
    run: PlannedRun,
    bench: tuple[Chain, ToolModel],
    share: float,
    rng: np.random.Generator,
    *,
    clipped: bool,
) -> tuple[FloatArray, FloatArray]:
    """Time and reading of one run: the drivetrain's blows, as the rig records them."""
    chain, tool = bench
    hammered = simulate_run(chain, tool, duration=_HAMMER_S, scatter=draw_scatter(tool, _HAMMER_S, rng))
    levels = hammered.clamp_load / 1000.0 * _DIVISIONS_PER_KN * share
    fast = int(run.block) <= _FAST_BLOCKS
    plan = TracePlan(
        sample_rate_hz=10_000.0 if fast else 80.0,
        length_s=13.0,
        start_s=1.1,
        final_level=float(levels[-1]),
        zero=6.0,
        noise=0.9 if fast else 0.35,
        hum=0.5 if fast else 0.0,
        resolution=0.02 if fast else 0.1,
        clip_level=0.93 * float(levels[-1]) if clipped else None,
    )
    trace = record_blows(rng, hammered.time, levels, plan=plan)
    return trace.time, trace.reading


def _calibration_text(rng: np.random.Generator, benches: Benches) -> str:
    """Torque wrench against reading, up and down, three times, with decimal commas."""
    chain = next(chain for chain, _tool in benches.values())
    per_torque = _DIVISIONS_PER_KN / 1000.0 / chain.torque_per_load
    steps = list(range(0, 1101, 100))
    lines = ["applied;reading;direction;repeat"]
    for repeat in (1, 2, 3):
        for direction, order in (("up", steps), ("down", steps[::-1])):
            for applied in order:
                lag = 1.2 if direction == "down" and 0 < applied < steps[-1] else 0.0
                reading = _ZERO + per_torque * applied + lag + rng.normal(0, 1.8)
                lines.append(f"{applied};{f'{reading:.1f}'.replace('.', ',')};{direction};{repeat}")
    return "\n".join(lines) + "\n"


_FAST_HZ = 1000.0


def _write_log(
    folder: Path, run: PlannedRun, time: FloatArray, reading: FloatArray, started: datetime
) -> str:
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


def _write_run_sheet(path: Path, rows: Sequence[tuple[PlannedRun, str, datetime, str]]) -> None:
    """The run sheet of runs as they were done: run, log, start, and why excluded."""
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


def _write_truth(path: Path, gains: Mapping[tuple[str, str], float]) -> None:
    """The gains that the simulation put in, percent over the reference."""
    lines = ["tool,article,true_gain_percent"]
    lines += [f"{tool},{article},{gain:.2f}" for (tool, article), gain in gains.items()]
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")
