"""The book of a campaign that is recorded: its plan, its stored runs, and what a person decides about them.

Everything that is decided is at once in the store and on the run sheet, and can be undone.

A killed recorder leaves its run in the folder of recordings; so may a person, another program or a failing
disk leave a file there. Those that no run is known by are sorted and shown.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Literal

from strikeproof.campaign.files import hash_file
from strikeproof.campaign.flags import find_flag
from strikeproof.campaign.gate import read_bounded
from strikeproof.campaign.kept import StoredRun
from strikeproof.campaign.text import read_file
from strikeproof.capture.recording import CUT_SHORT, HEAD_BYTES, Recorded, claims_to_be_ours, read_recording
from strikeproof.desk.recording.bolt import latest_run
from strikeproof.desk.recording.keeping import give_verdict, keep_recording
from strikeproof.desk.recording.plan_book import PlanBook, refused
from strikeproof.desk.recording.remaining import (
    Cells,
    OpenRun,
    insert_after_made,
    must_know,
)
from strikeproof.desk.recording.views import RunVerdict
from strikeproof.desk.runs.standing import read_reason
from strikeproof.errors import BadFile, BadInput, NotFound, StoreError, StrikeproofError
from strikeproof.language import say
from strikeproof.plain_text import TextKind, accept_text

__all__ = ["Leftover", "RunBook", "look_at_leftover"]


class RunBook(PlanBook):
    """Plan, stored runs and decisions; any thread may call it."""

    def verdict(self, run: StoredRun) -> RunVerdict:
        """What came of a stored run."""
        return give_verdict(self._store, self.campaign, run, self.worth)

    def renew(self) -> bool:
        """Take the campaign and its calibration as they are now, and judge the run made last by them.

        Raises
        ------
        StoreError, NotFound
            If the campaign cannot be read, or is there no more.
        """
        with self.lock:
            is_other = super().renew()
            run = None if self.last is None else self.kept.get(self.last.run)
            if not is_other or run is None:
                return is_other
            try:
                self.last = self.verdict(run)
            except StrikeproofError as wrong:
                self.last = None
                self.tell(say("run {run} cannot be judged again: {wrong}", run=run.row.run, wrong=wrong))
            return True

    # the runs ------------------------------------------------------------------------------

    def repeat(self, because: str | None = None) -> None:
        """Set the last run aside, so that it comes again next; without a reason its verdict is one.

        Raises
        ------
        BadInput
            If no run was made yet.
        """
        if self.last is None:
            raise self._nothing_to_repeat()
        reason = "repeated" if self.last.good else self.last.reason
        self.set_aside(self.last.run, because or reason)

    def accept(self) -> None:
        """Let the run made last count as it is, whatever its verdict."""
        with self.lock:
            self._accepted = None if self.last is None else self.last.run

    @property
    def undecided(self) -> str | None:
        """The run made last, when it is to be repeated or accepted and nobody has said so yet."""
        last = self.last
        if last is None or last.good or last.row.set_aside is not None or last.run == self._accepted:
            return None
        return last.run

    def _nothing_to_repeat(self) -> BadInput:
        """After a restart no verdict is shown: a run before it is excluded by its name, or not at all."""
        latest = latest_run([run for run in self.kept.values() if run.set_aside is None])
        if latest is None:
            return refused(say("there is no run to repeat"), say("record one first"))
        return refused(
            say(
                "no run was made since the recorder was opened; the last before was {run}", run=latest.row.run
            ),
            say(
                "if that one is to be repeated, exclude it by its name, with the reason: a {run} WHY",
                run=latest.row.run,
            ),
        )

    def set_aside(self, run: str, because: str) -> None:
        """Leave a run out of the result, with the reason; its place in the plan is open again.

        Raises
        ------
        BadInput, NotFound
            If the reason is empty, too long or holds what no text may hold, or there is no such run.
        """
        reason = read_reason(because)
        self._decide(run, "set_aside", reason, say("exclude {run}", run=run))

    def put_back(self, run: str) -> None:
        """Let a run count again.

        Raises
        ------
        NotFound
            If there is no such run.
        """
        self._decide(run, "set_aside", None, say("include {run}", run=run))

    def note(self, run: str, text: str) -> None:
        """Say something beside a run.

        Raises
        ------
        BadInput, NotFound
            If it is too long or holds what no text may hold, or there is no such run.
        """
        note = accept_text(text, TextKind.NOTE, "note") or None
        with self.lock:
            if self.busy:  # while a run is stored its note waits for it
                self._must_come(run)
                self._notes_due[run] = note
                return
        self._decide(run, "note", note, say("note of {run}", run=run))

    def add_note(self, run: str, text: str) -> None:
        """Add to the note of a run.

        Raises
        ------
        BadInput, NotFound
            If it is too long, or holds what no text may hold, or there is no such run.
        """
        before = self.note_of(run)
        self.note(run, f"{before}; {text}" if before else text)

    def note_of(self, run: str) -> str | None:
        """What is said beside a run, or will be once it is saved."""
        with self.lock:
            if run in self._notes_due:
                return self._notes_due[run]
            if run in self.kept:
                return self.kept[run].row.note
            planned = next((line for line in self._folder.lines if line["run"] == run), {})
            return planned.get("note")

    def save_notes(self) -> None:
        """Save the notes that were given while a run was recorded and saved; one that cannot be is said."""
        with self.lock:
            due, self._notes_due = self._notes_due, {}
        for run, note in due.items():
            try:
                self.note(run, note or "")
            except StrikeproofError as wrong:
                self.tell(
                    say("the note of {run} is not saved ({wrong}): {note}", run=run, wrong=wrong, note=note)
                )

    def _must_come(self, run: str) -> None:
        """See that a run is there, or is the one that is recorded."""
        if run not in self.kept and run != self.recorded:
            raise NotFound("run", run, self.kept)

    def undo(self) -> str | None:
        """Take back the last decision; returns what it was, None when there was none."""
        with self._deciding():
            if not self._undo:
                return None
            words, take_back = self._undo.pop()
            take_back()
            return words

    @property
    def undoes(self) -> str | None:
        """What undoing would take back."""
        return self._undo[-1][0] if self._undo else None

    def _decide(self, run: str, column: str, value: str | None, words: str) -> None:
        with self._deciding():
            if run not in self.kept:
                raise NotFound("run", run, self.kept)
            stored = self.kept[run]
            before = stored.set_aside if column == "set_aside" else stored.row.note
            self._amend(run, column, value)
            self._undo.append((words, lambda: self._amend(run, column, before)))

    def _amend(self, name: str, column: str, value: str | None) -> None:
        """Say one thing of a stored run: in the store, then on the sheet, which is a copy."""
        run = self._store.find_run(self._key, name)
        if column != "set_aside":
            self._store.amend_run(run, {column: value})
        elif value is not None and value != run.set_aside:
            self._store.set_aside(run, value)
        elif value is None and run.set_aside is not None:
            self._store.put_back(run)
        run = self.kept[name] = self._store.find_run(self._key, name)
        self._folder.copy_words(run)
        self._write()
        self._store.know_sheet(self._folder.sheet_mark, [run])
        self._bands.pop(self.pair_of(run.row), None)
        if self.last is not None and self.last.run == name:
            self.last = replace(self.last, row=run.row_now)
        self.changes += 1

    # recordings ----------------------------------------------------------------------------

    def new_recording(self, run: OpenRun) -> Path:
        """Where the recording of a run goes."""
        return self._folder.new_log(run.run)

    def keep(self, cells: Cells, path: Path, *, found: Recorded | None = None) -> None:
        """Keep a recording as a run, then write its line; a kill between the two is fixed by `recover`.

        `found` is what it holds, where it was there before this recorder.

        Raises
        ------
        BadFile, StoreError
            If it holds too little, or cannot be saved.
        """
        told = (found or read_recording(path, path.read_bytes())).about
        if told.get("simulated"):
            self._mark_simulated()
        started = str(told.get("started", ""))[:19].replace("T", " ")
        cells = {**cells, "log": path.name, "started": started}
        with self._folder.hold():
            with self.lock:
                self.refresh()
                place = insert_after_made(self._folder.lines, cells, self.kept)
            mark = self._folder.sheet_mark
            run = keep_recording(
                self._store, self._key, self.campaign, place, cells, path, mark, found=found is not None
            )
            with self.lock:
                self.kept[cells["run"]] = run
                self._wanted = None
                self._write()
                self._bands.pop(self.pair_of(run.row), None)
                self.changes += 1
        verdict = give_verdict(self._store, self.campaign, run, self.worth)
        with self.lock:
            self.last = verdict
            self.changes += 1

    def _mark_simulated(self) -> None:
        """Say for good that runs of this campaign are invented: in its file, and in the store."""
        if not self.campaign.simulated:
            self._folder.mark_simulated()
            self.campaign = replace(self.campaign, simulated=True)
            self._store.keep_campaign(self.campaign, self._folder.path.resolve())
            self.tell(say("the rig is simulated: from now on the campaign says that its runs are simulated"))

    def recover(self) -> tuple[str, ...]:
        """Keep the recordings that a killed recorder left; one that misses its window is excluded.

        Each is named, and so is a file that is no such recording, or of another campaign, or saved
        already; none is deleted. Returns the names of the runs.
        """
        known = {run.row.log for run in self.kept.values() if run.row.log}
        runs, messages = _sort_leftovers(self._folder.orphans(known), self.set_beside)
        names = []
        for path, found in runs:
            why = self._why_left(path, found)
            if why is not None:
                self.tell(
                    say("{name} stays in logs and does not become a run: {why}", name=path.name, why=why)
                )
                continue
            try:
                names.append(self._recover(path, found))
            except StrikeproofError as wrong:
                self.tell(say("{name} cannot be saved: {wrong}", name=path.name, wrong=wrong))
        for message in messages:
            self.tell(message)
        return tuple(names)

    def set_beside(self, path: Path) -> str:
        """Move a recording that is no run out of the way; returns where it is, in the campaign's folder."""
        return self._folder.set_beside(path)

    def _why_left(self, path: Path, found: Recorded) -> str | None:
        """Why a recording that lies there is no run of this campaign; None where it may be one."""
        owner = found.about.get("campaign")
        if owner is not None and owner != self.campaign.name:
            return say("it is a recording of the campaign {owner}", owner=repr(owner))
        content = hash_file(path)
        kept = {run.trace.original_sha256: name for name, run in self.kept.items() if run.trace}
        twin = kept.get(content)
        return None if twin is None else say("it is saved already, as run {twin}", twin=twin)

    def _recover(self, path: Path, found: Recorded) -> str:
        cells: Cells = dict(found.about["cells"])
        must_know(
            "tool",
            [cells.get("tool") or self.campaign.tools[0].name],
            [each.name for each in self.campaign.tools],
        )
        must_know("article", [cells["article"]], [each.name for each in self.campaign.articles])
        while cells["run"] in self.kept:
            cells["run"] += "-again"
        self.keep(cells, path, found=found)
        self.tell(
            say(
                "run {run} is saved from {name}, which an earlier recorder left",
                run=cells["run"],
                name=path.name,
            )
        )
        if found.ending is None and self.last is not None:
            misses = any(find_flag(code).misses_window for code in self.last.flags)
            fix = say("it is excluded, to be repeated") if misses else say("the timed window is complete")
            self.tell(say("run {run} was {how}; {fix}", run=cells["run"], how=CUT_SHORT, fix=fix))
            if misses:
                self._amend(cells["run"], "set_aside", CUT_SHORT)
        return cells["run"]


Kind = Literal["run", "no samples", "damaged", "foreign", "unread"]
_CONTROL = re.compile(r"[\x00-\x1f\x7f-\x9f\ud800-\udfff]")
_WHY_ASIDE = {
    "damaged": say("its beginning cannot be read"),
    "no samples": say("cut off or damaged before its first samples"),
}


@dataclass(frozen=True, slots=True)
class Leftover:
    """One file: what it is, and what it holds when that is a run.

    `foreign` is what no recorder of ours wrote, or what cannot be opened at all. Of one that is `unread`
    nothing is known: the machine failed (its disk, its memory, the process that reads), not the content.
    """

    path: Path
    kind: Kind
    recorded: Recorded | None = None


def look_at_leftover(path: Path) -> Leftover:
    """What a file is; it is only read."""
    if path.is_symlink() or not path.is_file():
        return Leftover(path, "foreign")
    try:
        found: Leftover = read_bounded(path, _look, path)
    except BadFile:  # no reader came back with an answer
        return Leftover(path, "unread" if _begins_like_ours(path) else "foreign")
    return found


def _begins_like_ours(path: Path) -> bool:
    try:
        with path.open("rb") as stream:
            return claims_to_be_ours(stream.read(HEAD_BYTES))
    except OSError:
        return False


def _look(path: Path) -> Leftover:
    try:
        raw = read_file(path)
    except BadFile:
        return Leftover(path, "foreign")
    ours = claims_to_be_ours(raw)
    try:
        found = read_recording(path, raw)
    except BadFile:
        return Leftover(path, "damaged" if ours else "foreign")
    except Exception as cause:
        of_machine = isinstance(cause, MemoryError) or getattr(cause, "errno", None) is not None
        return Leftover(path, "unread" if of_machine else "damaged" if ours else "foreign")
    cells = found.about.get("cells")
    if not _are_cells(cells):
        return Leftover(path, "damaged" if ours else "foreign")
    return Leftover(path, "run", found) if len(found.time) > 1 else Leftover(path, "no samples")


def _are_cells(cells: object) -> bool:
    """Whether they are the line of a run, with text in every cell that a sheet can hold."""
    return (
        isinstance(cells, dict)
        and all(isinstance(text, str) and not _CONTROL.search(text) for text in cells.values())
        and all(str(cells.get(name, "")).strip() for name in ("run", "article"))
    )


def _sort_leftovers(
    paths: Iterable[Path], move_aside: Callable[[Path], str]
) -> tuple[list[tuple[Path, Recorded]], list[str]]:
    """The runs among the files, and what a person should know of all the others; no file is deleted.

    `move_aside` takes a recording that is no run out of the way and returns where it is then.
    """
    runs, aside, foreign, unread = [], [], [], []
    messages: list[str] = []
    for found in map(look_at_leftover, paths):
        name = found.path.name
        if found.recorded is not None:
            runs.append((found.path, found.recorded))
        elif found.kind == "foreign":
            foreign.append(name)
        elif found.kind == "unread":
            unread.append(name)
        else:
            try:
                aside.append(
                    say(
                        "{name} ({why}; now {place})",
                        name=name,
                        why=_WHY_ASIDE[found.kind],
                        place=move_aside(found.path),
                    )
                )
            except StoreError as wrong:
                messages.append(str(wrong))
    if aside:
        messages.append(
            say("moved aside, not deleted, because no run is in them: {listed}", listed=", ".join(aside))
        )
    if foreign:
        messages.append(
            say(
                "not recordings of this program, left as they are in logs: {listed}",
                listed=", ".join(foreign),
            )
        )
    if unread:
        messages.append(
            say(
                "could not be read now and left as they are in logs: {listed}. Make room on the disk, and "
                "start the recorder again",
                listed=", ".join(unread),
            )
        )
    return runs, messages
