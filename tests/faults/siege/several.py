"""Three benches keep runs and ten readers look at once, in one workspace whose database is on a server."""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import asdict
from multiprocessing.connection import Connection
from multiprocessing.synchronize import Event
from pathlib import Path
from typing import Any

import numpy as np
from tests.database_server import run_server
from tests.faults.bench import processes, write_campaign
from tests.faults.siege.attack import Tally

from strikeproof.campaign.kept import KeptTrace
from strikeproof.campaign.records import RunRow
from strikeproof.campaign.store import Store, open_store
from strikeproof.desk.loading.load import load_campaign
from strikeproof.desk.workspace.check import check_workspace

__all__ = ["play_several"]

_WRITERS, _READERS = 3, 10
_SAMPLES = 2000


def play_several(first: int, count: int, folder: Path) -> Tally:
    """Keep `count` runs, a third at each bench, each with its own log and trace; then verify them all."""
    tally, context = Tally(), processes()
    with run_server() as server:
        lab = server.new_workspace(folder / "lab")
        assert load_campaign(write_campaign(folder / "campaign"), lab).exit_code == 0
        stop = context.Event()
        readers = [_start(context, _read, lab, stop) for _ in range(_READERS)]
        shares = np.array_split(np.arange(first, first + count), _WRITERS)
        writers = [_start(context, _write, lab, share.tolist()) for share in shares]
        promised = [ours.recv() for _child, ours in writers]
        stop.set()
        for looks, slowest in (ours.recv() for _child, ours in readers):
            tally.count("looks at all runs", looks)
            tally.see("seconds", slowest)
        for child, _ours in (*writers, *readers):
            child.join(60)
            if child.exitcode:
                tally.fail("processes that fell", f"exit {child.exitcode}")
        _verify(tally, lab, [each for share, _worst in promised for each in share])
        for _share, worst in promised:
            tally.see("seconds to keep a run", worst)
    return tally


def _start(context: Any, work: Callable[..., None], *arguments: object) -> tuple[Any, Connection]:
    ours, theirs = context.Pipe()
    child = context.Process(target=work, args=(*arguments, theirs))
    child.start()
    return child, ours


def _write(lab: Path, numbers: list[int], said: Connection) -> None:
    """Keep runs, exclude each second one; say which are stored as promised, and how long one took at most."""
    store = open_store(lab)
    key, _campaign = store.campaign(None)
    promised, worst = [], 0.0
    for number in numbers:
        begun = time.monotonic()
        row = RunRow(f"s{number}", "plain", "air", str(number // 6), log=f"{number}.csv")
        store.keep_run(key, 20 + number, row, _trace(store, number))
        if number % 2:
            store.set_aside(store.find_run(key, row.run), "slipped")
        promised.append((number, asdict(row)))
        worst = max(worst, time.monotonic() - begun)
    said.send((promised, worst))


def _trace(store: Store, number: int) -> KeptTrace:
    content = f"log {number}".encode()
    at = np.arange(_SAMPLES) / 1000.0
    samples = {"load": float(number) + np.tanh(at)}
    return KeptTrace(
        sha256=store.keep_trace(at, samples),
        original_sha256=store.keep_original(content),
        original_name=f"{number}.csv",
        original_bytes=len(content),
        samples=_SAMPLES,
        sample_rate_hz=1000.0,
        started=None,
        channels=(("load", "kN"),),
        findings=(),
    )


def _read(lab: Path, stop: Event, said: Connection) -> None:
    """Look at all runs again and again: whole ones only, and never fewer than before."""
    looks, worst, seen = 0, 0.0, 0
    while not stop.is_set():
        begun = time.monotonic()
        store = open_store(lab)
        key, _campaign = store.campaign(None)
        runs = store.runs(key)
        assert len(runs) >= seen
        assert all(run.trace is not None for run in runs if run.row.run.startswith("s"))
        seen, looks = len(runs), looks + 1
        worst = max(worst, time.monotonic() - begun)
    said.send((looks, worst))


def _verify(tally: Tally, lab: Path, promised: list[tuple[int, dict[str, object]]]) -> None:
    store = open_store(lab)
    key, _campaign = store.campaign(None)
    runs = {run.row.run: run for run in store.runs(key)}
    for number, row in promised:
        run = runs.get(f"s{number}")
        tally.count("runs kept")
        if run is None or asdict(run.row) | {"set_aside": None} != row:
            tally.fail("acknowledged runs lost or changed", f"run s{number}")
        elif run.trace is None or store.samples(run.trace, "load")[1][0] != float(number):
            tally.fail("traces lost or of another run", f"run s{number}")
        elif (run.set_aside == "slipped") != bool(number % 2):
            tally.fail("decisions lost", f"run s{number}")
    for problem in check_workspace(lab).problems:
        tally.fail("problems that check found", str(problem))
