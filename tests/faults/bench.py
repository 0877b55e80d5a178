"""A small campaign folder, a way to load it in a process of its own, and all that a workspace holds."""

from __future__ import annotations

import multiprocessing
import os
import sys
from dataclasses import asdict
from multiprocessing.connection import Connection
from pathlib import Path
from typing import Any

import numpy as np

from strikeproof.campaign.files import hash_file
from strikeproof.campaign.store import open_store

RUNS = 12

CAMPAIGN = """\
[campaign]
name = "{name}"
reference = "plain"
[rig]
channel = "load"
unit = "kN"
[calibration]
sheet = "calibration.csv"
applied_unit = "N m"
[[tool]]
name = "air"
[[article]]
name = "plain"
[[article]]
name = "ring"
"""


def write_campaign(folder: Path, name: str = "drum rollers", *, rows: int = 600) -> Path:
    """A campaign folder of 12 runs with short logs, one of them set aside, and a calibration sheet."""
    (folder / "logs").mkdir(parents=True)
    (folder / "campaign.toml").write_text(CAMPAIGN.format(name=name))
    sheet = ["run,log,article,block,set_aside"]
    time = np.arange(rows) / 50.0
    for number in range(1, RUNS + 1):
        level = 100.0 + number + len(name) * np.tanh(time)
        lines = [f"{t:.2f},{v:.4f}" for t, v in zip(time, level, strict=True)]
        (folder / "logs" / f"{number}.csv").write_text("time [s],load [kN]\n" + "\n".join(lines) + "\n")
        article = "plain" if number % 2 else "ring"
        sheet.append(f"run-{number},{number}.csv,{article},{number // 4},{'jaw slipped' * (number == 5)}")
    (folder / "runs.csv").write_text("\n".join(sheet) + "\n")
    (folder / "calibration.csv").write_text("applied,reading\n0,0.1\n100,20.5\n200,41\n300,61.2\n")
    return folder


def content(workspace: Path) -> dict[str, Any]:
    """All that a workspace holds but keys and instants, so that two may be compared."""
    store = open_store(workspace)
    campaigns = {}
    for name in store.campaigns():
        key, campaign = store.campaign(name)
        runs = [
            (
                asdict(run.row),
                run.ordinal,
                run.set_aside,
                run.trace,
                [(event.kind, event.because, event.by) for event in store.history(run)],
            )
            for run in store.runs(key)
        ]
        campaigns[name] = (campaign, runs, store.calibration_rows(key))
    store.engine.dispose()
    return {"campaigns": campaigns, "files": kept_files(workspace)}


def kept_files(workspace: Path) -> dict[str, str]:
    """Name and hash of every trace and original; what waits under a temporary name is none."""
    return {
        str(path.relative_to(workspace)): hash_file(path)
        for folder in ("traces", "originals")
        for path in sorted((workspace / folder).iterdir())
        if not path.name.startswith(".")
    }


def acknowledged(text: str) -> list[str]:
    """The runs that a load said were kept: each `loading 3/12 name` that was written to its end."""
    return [line.split()[2] for line in text.splitlines(keepends=True) if _is_acknowledged(line)]


def _is_acknowledged(line: str) -> bool:
    return line.startswith("loading ") and line.endswith("\n")


def run_command(words: list[str], said: Path, started: Connection | None = None, largest: int = 0) -> None:
    """The command line in this process, its standard error into a file, files limited to `largest` bytes."""
    import resource

    from strikeproof.cli import course, main
    from strikeproof.desk.loading import load

    course.QUIET_S = 0.0  # type: ignore[misc]  # every run that is acknowledged is said
    load._FEW = 1000  # read here and not in workers, so that all of the work can be hit
    if largest:
        resource.setrlimit(resource.RLIMIT_FSIZE, (largest, largest))
    out = os.open(said, os.O_WRONLY | os.O_CREAT | os.O_TRUNC)
    os.dup2(out, 2)
    os.dup2(out, 1)
    sys.stderr = open(2, "w", buffering=1)  # noqa: SIM115  # it lives as long as the process
    sys.argv = ["strikeproof", *words]
    if started:
        started.send("started")
    main()


def processes() -> Any:
    """Fresh processes that have imported all they need, so that many can be killed in little time."""
    context = multiprocessing.get_context("forkserver")
    context.set_forkserver_preload(
        ["strikeproof.cli", "strikeproof.desk.loading.load", "alembic.command", "pydantic"]
    )
    return context
