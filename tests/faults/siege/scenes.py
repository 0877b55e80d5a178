"""What a person does while the machine dies or the disk fails, each step acknowledged on standard error.

Each scene runs in a process of its own, on a folder that `prepare` has made. What is acknowledged a person
takes for a promise; `verify` says which of them were broken.
"""

from __future__ import annotations

import os
import shutil
import sys
import tempfile
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from tests.faults.bench import RUNS, write_campaign
from tests.unit.desk.live_bench import PtyRig, make_workspace, one_run, quiet

from strikeproof.campaign import gate
from strikeproof.campaign.files import is_whole
from strikeproof.campaign.store import open_store
from strikeproof.desk.loading import load
from strikeproof.desk.recording.recorder import open_recorder
from strikeproof.desk.runs.standing import put_run_back, set_run_aside
from strikeproof.desk.workspace.backup import back_up, restore
from strikeproof.desk.workspace.check import check_workspace
from strikeproof.errors import StrikeproofError

__all__ = ["SCENES", "Scene"]

DONE = "done "
CAMPAIGN = "drum rollers"


@dataclass(frozen=True, slots=True)
class Scene:
    """One piece of work.

    Parameters
    ----------
    prepare
        Fills an empty folder with what is there before.
    play
        Does the work there, and says `done NAME` on standard error after each step that is promised.
    verify
        Given a folder as it was found afterwards and the names that were said, all that is wrong with it.
    share
        How often it is taken, as against the others.
    """

    name: str
    prepare: Callable[[Path], None]
    play: Callable[[Path], None]
    verify: Callable[[Path, list[str]], list[str]]
    share: int


def say(name: str) -> None:
    """Promise one step."""
    os.write(2, f"{DONE}{name}\n".encode())


def read_here() -> None:
    """Read logs in this process, so that all of the work may be hit in it."""

    def each(jobs: Any, _most: int = 1) -> Any:
        for job in jobs:
            try:
                yield job.function(*job.given)
            except StrikeproofError as wrong:
                yield wrong

    load.read_each = each  # type: ignore[assignment]
    gate.enter()


# load ------------------------------------------------------------------------------------------------------


def _campaign_alone(folder: Path) -> None:
    write_campaign(folder / "campaign", rows=60)


def _load(folder: Path) -> None:
    load.load_campaign(folder / "campaign", folder / "lab", lambda _n, _of, run: say(run))


def _verify_load(folder: Path, said: list[str]) -> list[str]:
    wrong = _verify_store(folder / "lab", {name: {} for name in said})
    try:
        outcome = load.load_campaign(folder / "campaign", folder / "lab")
    except StrikeproofError as cause:
        return [*wrong, f"cannot be loaded again: {cause}"]
    if outcome.problems or outcome.runs_loaded + outcome.runs_unchanged != RUNS:
        wrong.append(f"loading again: {outcome.problems} {outcome.runs_loaded} {outcome.runs_unchanged}")
    return wrong + [str(each) for each in check_workspace(folder / "lab").problems]


# decisions by command ---------------------------------------------------------------------------------------


def _loaded(folder: Path) -> None:
    _campaign_alone(folder)
    load.load_campaign(folder / "campaign", folder / "lab")


_DECISIONS = [(f"run-{number}", word) for word in ("jaw slipped", None, "again") for number in (1, 2, 6, 9)]


def _decide(folder: Path) -> None:
    for number, (run, why) in enumerate(_DECISIONS):
        if why is None:
            put_run_back(folder / "lab", None, run)
        else:
            set_run_aside(folder / "lab", None, run, why)
        say(str(number))


def _verify_decisions(folder: Path, said: list[str]) -> list[str]:
    """What was said is so; the one step that was under way may be so or not."""
    wanted: dict[str, dict[str, Any]] = {f"run-{number}": {"set_aside": ()} for number in range(1, RUNS + 1)}
    wanted["run-5"] = {"set_aside": ("jaw slipped",)}
    for number, (run, why) in enumerate(_DECISIONS[: len(said) + 1]):
        before = wanted[run]["set_aside"]
        wanted[run] = {"set_aside": (why,) if number < len(said) else (*(before or (None,)), why)}
    for each in wanted.values():
        each["set_aside"] = each["set_aside"] or (None,)
    return _verify_store(folder / "lab", wanted)


# at the rig ------------------------------------------------------------------------------------------------


def _no_run_yet(folder: Path) -> None:
    make_workspace(folder)


def _record(folder: Path) -> None:
    """Two runs of a simulated rig, played faster than time, with a note, a repeat and its undoing."""
    rig = PtyRig(Path(tempfile.mkdtemp()))
    with open_recorder(folder / "lab") as recorder:
        recorder.connect(rig.port)
        rig.play(recorder, quiet(2.5))
        for number in (1, 2):
            coming = recorder.view().next
            recorder.arm()
            rig.play(recorder, one_run(number).reading)
            rig.play(recorder, quiet(3.0))
            last = recorder.view().last
            if coming is None or last is None or last.run != coming.row.run:
                raise StrikeproofError(f"no run was made: {recorder.view().messages}", "look at the rig")
            say(last.run)
            recorder.book.note(last.run, f"note {number}")
            say(f"note {number} {last.run}")
            recorder.book.set_aside(last.run, f"slipped {number}")
            say(f"aside {number} {last.run}")
            recorder.book.undo()
            say(f"back {number} {last.run}")


def _verify_record(folder: Path, said: list[str]) -> list[str]:
    """Runs that were said are there with what was said of them, in the store and on the sheet."""
    wanted: dict[str, dict[str, Any]] = {}
    for line in said:
        word, *rest = line.split()
        if not rest:
            wanted[word] = {
                "note": ("new bolt", None, "note 1", "note 2"),
                "set_aside": (None, "slipped 1", "slipped 2"),
            }
        elif word == "note":
            wanted[rest[1]]["note"] = (f"note {rest[0]}",)
        elif word == "aside":
            wanted[rest[1]]["set_aside"] = (f"slipped {rest[0]}", None)
        elif word == "back":
            wanted[rest[1]]["set_aside"] = (None,)
    wrong = _verify_store(folder / "lab", wanted)
    try:
        with open_recorder(folder / "lab") as recorder:
            view, kept = recorder.view(), recorder.book.kept
    except StrikeproofError as cause:
        return [*wrong, f"the recorder does not start again: {cause}"]
    sheet = (folder / "lab" / "campaigns" / "drum-rollers" / "runs.csv").read_text()
    wrong += [f"run {name} is not on the sheet" for name in kept if f"\n{name}," not in sheet]
    wrong += [f"run {name} has no trace" for name, run in kept.items() if run.trace is None]
    wrong += [f"leftover: {text}" for text in view.messages if "cannot be saved" in text]
    return wrong + _verify_store(folder / "lab", wanted)


# backup ----------------------------------------------------------------------------------------------------


def _backed_up(folder: Path) -> None:
    """A backup of an earlier state is there, and the workspace has gone on."""
    _loaded(folder)
    back_up(folder / "lab", folder / "copy")
    back_up(folder / "lab", folder / "copy.zip")
    set_run_aside(folder / "lab", None, "run-1", "since the backup")
    (folder / "lab" / "prices.csv").write_text("stock,price\n")


def _back_up(folder: Path) -> None:
    for name in ("copy", "copy.zip"):
        back_up(folder / "lab", folder / name)
        say(name)


def _verify_backup(folder: Path, said: list[str]) -> list[str]:
    """Under each name a whole backup can be restored; the new one where that was said."""
    wrong = _verify_store(folder / "lab", {"run-1": {"set_aside": ("since the backup",)}})
    for name in ("copy", "copy.zip"):
        target = folder / f"restored-{name}"
        try:
            found = restore(folder / name, target)
        except StrikeproofError as cause:
            wrong.append(f"{name} cannot be restored: {cause}")
            continue
        wrong += [f"{name}: {each}" for each in found.problems]
        aside = ("since the backup",) if name in said else ("since the backup", None)
        wrong += [f"{name}: {each}" for each in _verify_store(target, {"run-1": {"set_aside": aside}})]
        shutil.rmtree(target)
    return wrong


# what all have in common -----------------------------------------------------------------------------------


def _verify_store(lab: Path, wanted: dict[str, dict[str, Any]]) -> list[str]:
    """It opens, `check` finds nothing, and every run wanted is whole, with one of the values allowed."""
    if not (lab / "strikeproof.db").is_file():
        return [f"there is no database, and {len(wanted)} runs were promised"] if wanted else []
    try:
        wrong = [str(each) for each in check_workspace(lab).problems]
        store = open_store(lab)
    except StrikeproofError as cause:
        return [f"does not open: {cause}"]
    try:
        if CAMPAIGN not in store.campaigns():
            return [*wrong, "the campaign is not there"] if wanted else wrong
        found = {run.row.run: run for run in store.runs(store.campaign(CAMPAIGN)[0])}
        for name, values in wanted.items():
            if name not in found:
                wrong.append(f"run {name} was acknowledged and is not there")
                continue
            trace = found[name].trace
            if trace is None or not is_whole(lab / "traces" / f"{trace.sha256}.parquet", trace.sha256):
                wrong.append(f"run {name} has no whole trace")
            said = {"set_aside": found[name].set_aside, "note": found[name].row.note}
            wrong += [
                f"{what} of {name} is {said[what]!r} and not one of {allowed}"
                for what, allowed in values.items()
                if said[what] not in allowed
            ]
    except StrikeproofError as cause:
        wrong.append(f"cannot be read: {cause}")
    finally:
        store.engine.dispose()
    return wrong


SCENES = {
    each.name: each
    for each in (
        Scene("load", _campaign_alone, _load, _verify_load, 5),
        Scene("decide", _loaded, _decide, _verify_decisions, 2),
        Scene("record", _no_run_yet, _record, _verify_record, 2),
        Scene("backup", _backed_up, _back_up, _verify_backup, 2),
    )
}


def play_in_child(name: str, folder: Path, said: Path) -> int:
    """The work of a scene in this process; what it says goes to a file. Its exit code, as the command's."""
    out = os.open(said, os.O_WRONLY | os.O_CREAT | os.O_TRUNC | os.O_APPEND)
    os.dup2(out, 2)
    os.dup2(out, 1)
    sys.stderr = sys.stdout = open(2, "w", buffering=1, closefd=False)  # noqa: SIM115
    read_here()
    try:
        SCENES[name].play(folder)
    except StrikeproofError as wrong:
        print(f"refused: {wrong}", flush=True)
        return 2
    except BaseException as wrong:
        print(f"bug: {type(wrong).__name__}: {wrong}", flush=True)
        return 3
    return 0
