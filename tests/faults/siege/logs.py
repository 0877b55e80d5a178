"""Damaged logs through the readers, by the function that the gate's own processes call, and through the gate.

Each number makes one log: that of a seed of its own, damaged in a way of its own. Workers read thousands;
one that hangs or breaks down ends by the bounds that the gate sets, and what it read when it ended is known.
"""

from __future__ import annotations

import multiprocessing
import os
import resource
import signal
import time
import warnings
from collections import deque
from collections.abc import Iterator
from multiprocessing.connection import Connection, wait
from pathlib import Path
from typing import Any

import numpy as np
from tests.faults.siege.attack import Tally
from tests.faults.siege.log_mutations import Damaged, damage_binary, damage_blindly, damage_text
from tests.faults.siege.log_seeds import Seed, binary_seeds, text_seed

from strikeproof.campaign import gate_process
from strikeproof.campaign.bounds import bounds_for
from strikeproof.campaign.gate import BROKEN, MEMORY, PROBLEM, RESULT, read_bounded
from strikeproof.capture.keeping import LogBench, keep_log
from strikeproof.capture.log import Log, pick_channel
from strikeproof.capture.reading import read_log_of
from strikeproof.errors import BadFile

__all__ = ["LogMaker", "judge", "play_logs", "play_logs_through_the_gate"]

SEED = int(os.environ.get("STRIKEPROOF_SEED", "1"))
_SLICE = 500
_TIME_S = 2e-6  # what a stamp of any style keeps of the time
_TEXTS = 200  # different good logs of text


class LogMaker:
    """Makes the log of any number; `folder` is where the seeds are written."""

    def __init__(self, folder: Path) -> None:
        self.binary = binary_seeds(folder)
        rng = np.random.default_rng(SEED)
        self.texts = [text_seed(rng, folder / "seed-text") for _ in range(_TEXTS)]

    def make(self, number: int) -> tuple[Seed, Damaged, float | None]:
        """The good log, the damaged one, and the sample rate that the campaign gives, if it does."""
        rng = np.random.default_rng([SEED, number])
        rate = 20.0 if rng.random() < 0.2 else None
        if rng.random() < 0.6:
            seed = self.texts[rng.integers(len(self.texts))]
            known = rng.random() < 0.6
            return seed, damage_text(rng, seed) if known else self._blindly(rng, seed), rate
        seed = self.binary[rng.integers(len(self.binary))]
        return seed, damage_binary(rng, seed) if rng.random() < 0.2 else self._blindly(rng, seed), rate

    def _blindly(self, rng: np.random.Generator, seed: Seed) -> Damaged:
        others = self.binary if rng.random() < 0.5 else self.texts
        return damage_blindly(rng, seed, others[rng.integers(len(others))])


def read_and_pick(path: Path, raw: bytes, rate: float | None, channel: str | None) -> Log:
    """What a load does with a log, but for the disk."""
    log = read_log_of(path, raw, sample_rate_hz=rate, channel=channel)
    pick_channel(log, channel)
    return log


class Judge:
    """Says of each log that was read whether it may be so."""

    def __init__(self) -> None:
        self._usual: dict[int, tuple[frozenset[str], str | None, np.ndarray] | None] = {}

    def usual(self, seed: Seed, rate: float | None) -> tuple[frozenset[str], str | None, np.ndarray] | None:
        """What the good log itself is flagged with, its unit and its times; None when it is refused."""
        key = hash((id(seed), rate))
        if key not in self._usual:
            kind, value = gate_process._call(
                read_and_pick, (Path("log"), seed.raw, rate, seed.channel), bounds_for(len(seed.raw))
            )
            good = None
            if kind == RESULT:
                flags = frozenset(each.kind for each in value.findings)
                good = (flags, value.channel(seed.channel).unit, value.time)
            self._usual[key] = good
        return self._usual[key]

    def judge(self, log: Log, seed: Seed, damaged: Damaged, rate: float | None) -> str:
        """`equal`, `beginning`, `flagged`, `flagged, with other values`, `unknown`; `wrong: ...` else."""
        broken = _impossible(log)
        usual = self.usual(seed, rate)
        if broken:
            return f"wrong: {broken}"
        if damaged.allowed == "anything" or usual is None:
            return "unknown"
        flags, unit, time_s = usual
        channel = log.channel(seed.channel)
        if frozenset(each.kind for each in log.findings) - flags or (channel.unit is None and unit):
            return "flagged" if _are_among(channel.values, seed.load) else "flagged, with other values"
        if damaged.allowed == "nothing":
            return f"wrong: {damaged.name} without a word"
        if channel.unit != unit:
            return f"wrong: unit {channel.unit!r} for {unit!r}"
        return _compare(channel.values, log.time, seed.load, time_s, damaged.allowed == "all")


def _compare(load: np.ndarray, time_s: np.ndarray, want: np.ndarray, at: np.ndarray, is_all: bool) -> str:
    count = len(load)
    if (count < len(want) and is_all) or count > len(want):
        return f"wrong: {count} samples of {len(want)}"
    if not np.allclose(load, want[:count], rtol=1e-12, atol=1e-9):
        return "wrong: other values"
    if not np.allclose(time_s, at[:count], rtol=0, atol=_TIME_S):
        return "wrong: other times"
    return "equal" if count == len(want) else "beginning"


def _impossible(log: Log) -> str:
    """What no log may be, whatever was in the file."""
    if len(log.time) < 2 or log.time[0] != 0 or not np.isfinite(log.time).all():
        return "times that are no numbers"
    if not (np.isfinite(log.sample_rate_hz) and log.sample_rate_hz > 0):
        return f"a sample rate of {log.sample_rate_hz}"
    if not all(each.values.shape == log.time.shape for each in log.channels):
        return "channels of other lengths"
    return "endless values" if any(np.isinf(each.values).any() for each in log.channels) else ""


def _are_among(values: np.ndarray, known: np.ndarray) -> bool:
    """Whether every value that was read is one that was there."""
    read = values[np.isfinite(values)]
    return bool(np.isclose(read[:, None], known[None, :], rtol=1e-9, atol=1e-9).any(axis=1).all())


def judge(maker: LogMaker, judges: Judge, number: int, tally: Tally) -> None:
    """Make, read and judge one log; what may not be goes among the failures."""
    seed, damaged, rate = maker.make(number)
    begun = time.process_time()
    kind, value = gate_process._call(
        read_and_pick, (Path("log"), damaged.raw, rate, seed.channel), bounds_for(len(damaged.raw))
    )
    tally.see("seconds", time.process_time() - begun)
    where = f"number {number}, {seed.kind}, {damaged.name}"
    if kind == PROBLEM:
        tally.count("refused")
    elif kind == MEMORY:
        tally.count("stopped by the bound of memory")
    elif kind == BROKEN:
        tally.fail("foreign exceptions", f"{where}: {value}")
    else:
        verdict = judges.judge(value, seed, damaged, rate)
        if verdict.startswith("wrong"):
            tally.fail("wrong readings without a word", f"{where}, {seed.form}: {verdict}")
        else:
            tally.count(verdict)


def _work(pipe: Connection, at: Any, folder: Path) -> None:
    """Read what numbers are asked for, a slice at a time."""
    nowhere = os.open(os.devnull, os.O_WRONLY)  # as behind the gate: some libraries print
    os.dup2(nowhere, 1)
    os.dup2(nowhere, 2)
    gate_process.gate.enter()
    warnings.simplefilter("ignore")
    maker, judges = LogMaker(folder), Judge()
    while (asked := pipe.recv()) is not None:
        tally = Tally()
        for number in range(*asked):
            at[:] = number, time.monotonic()
            judge(maker, judges, number, tally)
        tally.see("memory_gb", resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1e6)
        pipe.send(tally)


class _Worker:
    """One reading process, and what slice it is at."""

    def __init__(self, folder: Path) -> None:
        context = multiprocessing.get_context("spawn")
        folder.mkdir()
        self.pipe, theirs = context.Pipe()
        self._at = context.Array("d", (-1.0, 0.0), lock=False)
        self.process = context.Process(target=_work, args=(theirs, self._at, folder), daemon=True)
        self.process.start()
        theirs.close()

    def begin(self, first: int, end: int) -> None:
        self.slice = (first, end)
        self._at[0] = -1.0
        self.pipe.send(self.slice)

    def fell_at(self) -> tuple[int, float, int]:
        """The number at which it ended, how long it had been at it [s], and its exit code."""
        self.process.join()
        return int(self._at[0]), time.monotonic() - self._at[1], int(self.process.exitcode or 0)

    def end(self) -> None:
        if self.process.is_alive():
            self.process.kill()
        self.process.join()
        self.pipe.close()


def play_logs(first: int, count: int, folder: Path, workers: int | None = None) -> Tally:
    """So many numbers from the first on, in `workers` processes, or as `$STRIKEPROOF_WORKERS` says."""
    many = workers or int(os.environ.get("STRIKEPROOF_WORKERS", "1"))
    tally = Tally()
    todo = deque((at, min(at + _SLICE, first + count)) for at in range(first, first + count, _SLICE))
    busy: dict[Any, _Worker] = {}
    started = 0
    try:
        while todo or busy:
            while todo and len(busy) < many:
                started += 1
                worker = _Worker(folder / f"worker-{started}")
                worker.begin(*todo.popleft())
                busy[worker.pipe] = worker
            for pipe in wait(list(busy)):
                worker = busy[pipe]
                try:
                    tally.add(pipe.recv())
                except (EOFError, OSError):
                    todo.extendleft(_bury(busy.pop(pipe), tally))
                    continue
                if todo:
                    worker.begin(*todo.popleft())
                else:
                    busy.pop(pipe).end()
    finally:
        for worker in busy.values():
            worker.end()
    return tally


def _bury(worker: _Worker, tally: Tally) -> list[tuple[int, int]]:
    """Count what ended a worker, and at which log; what is left of its slice, which begins again."""
    number, took_s, code = worker.fell_at()
    worker.end()
    first, end = worker.slice
    if not first <= number < end:  # before the first of them, such as by a system without memory
        tally.count("workers that did not start")
        return [(first, end)]
    is_late = -code in (signal.SIGXCPU, signal.SIGALRM)
    tally.count("ended by the bound of time" if is_late else "crashes of a reader that stayed its own")
    tally.found.append(f"no failure: reader ended by signal {-code} after {took_s:.1f} s: number {number}")
    if is_late:
        tally.see("seconds", took_s)
    return [each for each in ((first, number), (number + 1, end)) if each[0] < each[1]]


def play_logs_through_the_gate(first: int, count: int, folder: Path) -> Tally:
    """The same logs as files, through the gate itself and on to originals and traces."""
    tally, maker = Tally(), LogMaker(folder)
    for name in ("originals", "traces"):
        (folder / name).mkdir()
    path = folder / "log"
    for number in range(first, first + count):
        seed, damaged, rate = maker.make(number)
        path.write_bytes(damaged.raw)
        bench = LogBench(folder / "originals", folder / "traces", rate, seed.channel)
        begun = time.monotonic()
        try:
            kept = read_bounded(path, keep_log, path, bench)
        except Exception as wrong:
            _count_refusal(tally, wrong, f"number {number}, {seed.kind}, {damaged.name}")
        else:
            tally.count("kept")
            for place in (
                folder / "originals" / kept.original_sha256,
                folder / "traces" / f"{kept.sha256}.parquet",
            ):
                if not place.is_file():
                    tally.fail("kept without a file", f"number {number}")
                place.unlink(missing_ok=True)
        tally.see("seconds", time.monotonic() - begun)
        left = [each.name for each in _left_over(folder)]
        if left:
            tally.count("files left by a refused log", len(left))
            for each in _left_over(folder):
                each.unlink()
    tally.see("memory_gb", resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss / 1e6)
    return tally


def _left_over(folder: Path) -> Iterator[Path]:
    yield from (folder / "originals").iterdir()
    yield from (folder / "traces").iterdir()


def _count_refusal(tally: Tally, wrong: Exception, where: str) -> None:
    if not isinstance(wrong, BadFile):
        tally.fail("exceptions that reach the asker", f"{where}: {wrong!r}")
        return
    said = str(wrong)
    if "(Segmentation fault)" in said or "(Aborted)" in said:
        tally.count("crashes of a reader that stayed its own")
    elif "broke down" in said:
        tally.fail("foreign exceptions", f"{where}: {said}")
    elif "takes longer" in said:
        tally.count("ended by the bound of time")
    else:
        tally.count("stopped by the bound of memory" if "of memory to be read" in said else "refused")
