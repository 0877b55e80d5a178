"""Kills, power cuts and failing disks against the scenes: what was acknowledged must be there afterwards."""

from __future__ import annotations

import errno
import functools
import os
import shutil
from collections.abc import Callable, Sequence
from pathlib import Path

import numpy as np
from tests.faults.siege.attack import Tally
from tests.faults.siege.power import Disk, Event, read_record
from tests.faults.siege.scenes import SCENES, Scene
from tests.faults.siege.stage import Stage

__all__ = ["play_failing_disks", "play_kills", "play_power_cuts"]

SEED = int(os.environ.get("STRIKEPROOF_SEED", "1"))
ERRORS = (errno.ENOSPC, errno.EIO, errno.EINTR)


def _scene(rng: np.random.Generator, scenes: Sequence[str]) -> Scene:
    chosen = [SCENES[name] for name in scenes]
    shares = np.array([each.share for each in chosen], float)
    return chosen[rng.choice(len(chosen), p=shares / shares.sum())]


class _Place:
    """One path at which a scene is prepared anew each time: workspaces know their folders by path."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder
        self.path = folder / "place"

    def prepare(self, scene: Scene) -> Path:
        shutil.rmtree(self.path, ignore_errors=True)
        kept = self._folder / f"kept-{scene.name}"
        if not kept.exists():
            self.path.mkdir()
            scene.prepare(self.path)
            shutil.copytree(self.path, kept)
        else:
            shutil.copytree(kept, self.path)
        return self.path

    def fill(self, found: Sequence[tuple[str, bytes | None]]) -> Path:
        shutil.rmtree(self.path, ignore_errors=True)
        self.path.mkdir()
        for name, content in found:
            path = self.path / name
            if content is None:
                path.mkdir(parents=True, exist_ok=True)
            elif path.parent.is_dir():
                path.write_bytes(content)
        return self.path


def _verify(tally: Tally, scene: Scene, folder: Path, promised: list[str], where: str) -> None:
    tally.count(f"steps acknowledged in {scene.name}", len(promised))
    try:
        wrong = scene.verify(folder, promised)
    except Exception as cause:
        wrong = [f"{type(cause).__name__}: {cause}"]
    if wrong:
        tally.fail("acknowledged steps lost, or something half", f"{where}, {len(promised)} said: {wrong[0]}")
    tally.count(f"{scene.name} afterwards whole", not wrong)


def play_kills(first: int, count: int, folder: Path, scenes: Sequence[str] = tuple(SCENES)) -> Tally:
    """Kill a scene at a random moment."""
    tally, place, lengths = Tally(), _Place(folder), dict[str, float]()
    with Stage(folder) as stage:
        for number in range(first, first + count):
            rng = np.random.default_rng([SEED, number])
            scene = _scene(rng, scenes)
            if scene.name not in lengths:
                lengths[scene.name] = stage.run(scene.name, place.prepare(scene)).took_s
            after = float(rng.uniform(0.0, lengths[scene.name]))
            outcome = stage.run(scene.name, place.prepare(scene), kill_after_s=after)
            tally.count("killed at work" if outcome.code == -9 else "ended before the kill")
            if outcome.code == 0:
                lengths[scene.name] *= 0.97
            _verify(
                tally,
                scene,
                place.path,
                outcome.promised,
                f"number {number}, {scene.name} after {after:.3f} s",
            )
    return tally


def play_power_cuts(first: int, count: int, folder: Path, scenes: Sequence[str] = tuple(SCENES)) -> Tally:
    """Write down a scene once, then cut the power at a random change of a file."""
    tally, place = Tally(), _Place(folder)

    @functools.cache
    def written(scene: Scene) -> tuple[Callable[[], Disk], list[Event]]:
        record, kept = folder / f"record-{scene.name}", folder / f"kept-{scene.name}"
        with Stage(folder) as stage:
            outcome = stage.run(scene.name, place.prepare(scene), record=record)
        assert outcome.code == 0, outcome.said

        def disk() -> Disk:
            shutil.rmtree(place.path)
            shutil.copytree(kept, place.path)
            return Disk(place.path)

        return disk, read_record(record)

    for number in range(first, first + count):
        rng = np.random.default_rng([SEED, number])
        scene = _scene(rng, scenes)
        made, events = written(scene)
        disk, cut = made(), int(rng.integers(1, len(events) + 1))
        for event in events[:cut]:
            disk.do(event)
        lines = disk.promised.splitlines(keepends=True)
        promised = [line[5:-1] for line in lines if line.startswith("done ") and line.endswith("\n")]
        place.fill(list(disk.after_cut(rng)))
        _verify(
            tally, scene, place.path, promised, f"number {number}, {scene.name} cut at {cut} of {len(events)}"
        )
    return tally


def play_failing_disks(first: int, count: int, folder: Path, scenes: Sequence[str] = tuple(SCENES)) -> Tally:
    """Let one call that changes a file fail, or all from there on, and look again once the disk is sound."""
    tally, place, calls = Tally(), _Place(folder), dict[str, int]()
    with Stage(folder) as stage:
        for number in range(first, first + count):
            rng = np.random.default_rng([SEED, number])
            scene = _scene(rng, scenes)
            if scene.name not in calls:
                calls[scene.name] = stage.run(scene.name, place.prepare(scene)).calls
            at, error = int(rng.integers(1, calls[scene.name] + 1)), int(rng.choice(ERRORS))
            stays = error != errno.EINTR and bool(rng.random() < 0.5)
            outcome = stage.run(scene.name, place.prepare(scene), fail_from=at, error=error, stays=stays)
            name = errno.errorcode[error]
            where = f"number {number}, {scene.name}, {name} at call {at}{' and all later ones' * stays}"
            tally.count({0: "withstood", 2: "refused with words"}.get(outcome.code, "fell"))
            tally.count(f"{name}{' that stays' * stays}")
            if outcome.code not in (0, 2):
                tally.fail("bugs that show themselves", f"{where}: {outcome.said[-300:]}")
            _verify(tally, scene, place.path, outcome.promised, where)
    return tally
