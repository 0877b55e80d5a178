"""Damaged archives, campaign folders, traces and originals: named, refused, or of no effect; never a bug."""

from __future__ import annotations

import contextlib
import io
import os
import shutil
import time
import zipfile
from collections.abc import Callable
from pathlib import Path
from typing import Final

import numpy as np
from tests.faults.bench import write_campaign
from tests.faults.siege.attack import Tally
from tests.faults.siege.log_mutations import TOKENS

from strikeproof.campaign.archive import unpack_campaign
from strikeproof.campaign.files import read_original, read_trace
from strikeproof.campaign.folder import read_folder
from strikeproof.desk.loading.load import load_campaign
from strikeproof.desk.workspace.backup import back_up, restore
from strikeproof.desk.workspace.check import check_workspace
from strikeproof.errors import StoreError, StrikeproofError

__all__ = ["play_damage"]

SEED = int(os.environ.get("STRIKEPROOF_SEED", "1"))
Rng = np.random.Generator
_TOML: Final = (
    "[[",
    "]]",
    '"""',
    "'''",
    "= ",
    "\n[campaign]\n",
    "inf",
    "nan",
    "1e999",
    "{a={a={",
    "\\u0000",
    "\x00",
    "2026-01-01",
    "é\u202e",
    "a." * 200 + "a = 1\n",
    "[" * 300,
    "= [1, 'a', {}]",
    "-0x1",
    "../../etc",
)


class _Bench:
    """What is damaged: one campaign folder, its archives, a loaded workspace and a backup of it."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.campaign = write_campaign(folder / "campaign", rows=40)
        self.lab = folder / "lab"
        load_campaign(self.campaign, self.lab)
        back_up(self.lab, folder / "backup.zip")
        self.archive = _zipped(self.campaign)
        self.files = sorted([*(self.lab / "traces").iterdir(), *(self.lab / "originals").iterdir()])


def _zipped(folder: Path) -> bytes:
    made = io.BytesIO()
    with zipfile.ZipFile(made, "w", zipfile.ZIP_DEFLATED) as archive:
        for path in sorted(each for each in folder.rglob("*") if each.is_file()):
            archive.write(path, path.relative_to(folder.parent).as_posix())
    return made.getvalue()


def _spoil(rng: Rng, raw: bytes, tokens: tuple[bytes, ...] = TOKENS) -> bytes:
    found = bytearray(raw)
    for _ in range(rng.integers(1, 5)):
        at = int(rng.integers(len(found) + 1))
        end = min(at + int(rng.choice([1, 4, 30])), len(found))
        match rng.integers(5):
            case 0:
                found[at:end] = rng.bytes(end - at)
            case 1:
                del found[at:end]
            case 2:
                found[at:at] = tokens[rng.integers(len(tokens))]
            case 3 if at < len(found):
                found[at] ^= 1 << int(rng.integers(8))
            case _ if rng.random() < 0.3:
                del found[at:]
    return bytes(found)


def _archive(bench: _Bench, rng: Rng, place: Path) -> str:
    """A damaged archive of a campaign; nothing comes out beside the folder that it was to go into."""
    (place / "packed.zip").write_bytes(_spoil(rng, bench.archive))
    before = {each.name for each in place.iterdir()}
    try:
        unpack_campaign(place / "packed.zip", place / "unpacked")
    finally:
        beside = {each.name for each in place.iterdir()} - before - {"unpacked"}
        assert not beside, f"files beside the folder: {beside}"
    return "unpacked"


def _folder(bench: _Bench, rng: Rng, place: Path) -> str:
    """A damaged campaign.toml, run sheet or calibration sheet."""
    target = place / "campaign"
    shutil.copytree(bench.campaign, target)
    path = target / str(rng.choice(["campaign.toml", "runs.csv", "calibration.csv"], p=[0.6, 0.25, 0.15]))
    path.write_bytes(_spoil(rng, path.read_bytes(), (*TOKENS, *(each.encode() for each in _TOML))))
    read_folder(target)
    return "read"


def _kept_file(bench: _Bench, rng: Rng, _place: Path) -> str:
    """A damaged trace or original of a workspace, put right again afterwards."""
    path = bench.files[rng.integers(len(bench.files))]
    whole = path.read_bytes()
    damaged = _spoil(rng, whole)
    if damaged == whole:
        return "unchanged"
    try:
        path.write_bytes(damaged)
        named = [each.file for each in check_workspace(bench.lab).problems]
        assert named == [str(path)], f"check names {named} for {path}"
        folder, digest = path.parent, path.name.removesuffix(".parquet")
        with contextlib.suppress(StoreError):
            if path.suffix:
                read_trace(folder, digest, "load")
            else:
                read_original(folder, digest, "log")
            raise AssertionError(f"{path.name} was read although it is damaged")
    finally:
        path.write_bytes(whole)
    return "named"


def _backup(bench: _Bench, rng: Rng, place: Path) -> str:
    """A damaged backup in one file: what is restored is whole, or named."""
    (place / "b.zip").write_bytes(_spoil(rng, (bench.folder / "backup.zip").read_bytes()))
    found = restore(place / "b.zip", place / "restored")
    problems = check_workspace(place / "restored").problems
    assert len(problems) <= len(found.problems), f"restored with problems unsaid: {problems[0]}"
    return "restored with what is missing named" if found.problems else "restored"


_WAYS: Final[tuple[tuple[Callable[[_Bench, Rng, Path], str], float], ...]] = (
    (_archive, 0.35), (_folder, 0.35), (_kept_file, 0.2), (_backup, 0.1),
)  # fmt: skip


def play_damage(first: int, count: int, folder: Path) -> Tally:
    """So many damaged things, each refused with words, named, or of no effect."""
    tally, bench = Tally(), _Bench(folder)
    place = folder / "place"
    for number in range(first, first + count):
        rng = np.random.default_rng([SEED, number])
        way = _WAYS[rng.choice(len(_WAYS), p=[share for _, share in _WAYS])][0]
        place.mkdir()
        begun, word = time.monotonic(), way.__name__.strip("_").replace("_", " ")
        try:
            tally.count(f"{word}: {way(bench, rng, place)}")
        except StrikeproofError:
            tally.count(f"{word}: refused with words")
        except AssertionError as wrong:
            tally.fail("damage unnamed", f"number {number}, {word}: {wrong}")
        except Exception as wrong:
            tally.fail("foreign exceptions", f"number {number}, {word}: {type(wrong).__name__}: {wrong}")
        tally.see("seconds", time.monotonic() - begun)
        shutil.rmtree(place)
    return tally
