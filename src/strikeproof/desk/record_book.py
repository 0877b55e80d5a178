"""The book of a campaign that is recorded: its plan, its kept runs, and what a person decides about them.

Everything that is decided is at once in the store and on the run sheet, and can be undone.
"""

from __future__ import annotations

import threading
from collections.abc import Callable, Collection, Iterator
from contextlib import ExitStack, contextmanager
from dataclasses import replace
from pathlib import Path

from strikeproof.campaign.flags import find_flag
from strikeproof.campaign.kept import StoredRun
from strikeproof.campaign.records import Campaign
from strikeproof.campaign.store import Store
from strikeproof.capture.recording import CUT_SHORT, Recorded, read_recording
from strikeproof.desk.record_bolt import BoltLog
from strikeproof.desk.record_folder import RecordFolder, take_sheet
from strikeproof.desk.record_keep import find_band, give_verdict, keep_recording
from strikeproof.desk.record_leftover import sort_leftovers
from strikeproof.desk.record_plan import (
    Cells,
    OpenRun,
    block_lines,
    find_next,
    insert_after_made,
    must_know,
    name_bolt,
    plan_state,
)
from strikeproof.desk.record_views import Band, RunVerdict, SpentBolt
from strikeproof.desk.worth import Worth, find_worth
from strikeproof.errors import BadInput, NotFound, StrikeproofError
from strikeproof.judge.planning import plan_runs

__all__ = ["RunBook", "refused"]


def refused(what: str, mend: str) -> BadInput:
    """What cannot be done just now."""
    return BadInput(what, where="recorder", allowed="another moment", mend=mend)


class RunBook:
    """Plan, kept runs and decisions; any thread may call it.

    Attributes
    ----------
    last
        Verdict of the run made last, in this sitting.
    busy
        While a run is recorded; nothing is decided then.
    messages
        What a person should be told, newest last.
    changes
        Counts up with every change.
    """

    def __init__(self, store: Store, key: int, campaign: Campaign, folder: RecordFolder) -> None:
        self.campaign = campaign
        self.worth: Worth = find_worth(store, key, campaign)
        self._sheet = store.calibration_rows(key)
        self.lock = threading.RLock()
        self.last: RunVerdict | None = None
        self.busy = False
        self.messages: tuple[str, ...] = ()
        self.changes = 0
        self._store, self._key, self._folder = store, key, folder
        self.kept: dict[str, StoredRun] = {run.row.run: run for run in store.runs(key)}
        self._refused = folder.made_by_file() - self.kept.keys()
        self._next: tuple[int, OpenRun | None] = (-1, None)
        self._again: tuple[int, OpenRun | None] = (-1, None)
        self._wanted: str | None = None
        self._bands: dict[tuple[str, str], Band | None] = {}
        self._bolts = BoltLog(store, campaign, self.worth)
        self._spent: tuple[int, SpentBolt | None] = (-1, None)
        self._undo: list[tuple[str, Callable[[], object]]] = []
        self._held: ExitStack | None = None

    def renew(self) -> bool:
        """Take the campaign and its calibration as the workspace knows them now; whether anything changed.

        Raises
        ------
        StoreError, NotFound
            If the campaign cannot be read, or is there no more.
        """
        with self.lock:
            key, campaign = self._store.campaign(self.campaign.name)
            sheet = self._store.calibration_rows(key)
            if (campaign, sheet) == (self.campaign, self._sheet):
                return False
            self.campaign, self._sheet = campaign, sheet
            self.worth = find_worth(self._store, key, campaign)
            self._bands = {}
            self._bolts.renew(campaign, self.worth)
            self.changes += 1
            return True

    def refresh(self) -> None:
        """Take the plan as it is on the sheet now; while a run is armed or recorded it stays as it was.

        Raises
        ------
        InUse, BadFile, StoreError
            If somebody is writing the sheet just now, or it cannot be read or written.
        """
        with self.lock:
            if self._held is None and self._folder.is_changed:
                self._tell_saved(take_sheet(self._store, self._key, self.campaign, self._folder))
                self._look_again()
                self._refused = self._folder.made_by_file() - self.kept.keys()
                self.changes += 1

    def hold_plan(self) -> None:
        """Let nobody change the plan from now on, until `release_plan`.

        Raises
        ------
        InUse, BadFile
            If somebody is changing it, or the sheet cannot be read.
        """
        with self.lock:
            if self._held is None:
                with ExitStack() as holding:
                    holding.enter_context(self._folder.hold())
                    self.refresh()
                    self._held = holding.pop_all()

    def release_plan(self) -> None:
        """Let others change the plan; the run that it was held for is made, or is not armed any more."""
        with self.lock:
            if self._held is not None:
                self._held.close()
            self._held = None

    def close(self) -> None:
        """Let another recorder in."""
        self.release_plan()
        self._folder.close()
        self._store.engine.dispose()

    def tell(self, message: str) -> None:
        """Something that a person should know."""
        self.messages = (*self.messages, message)[-50:]
        self.changes += 1

    # the plan ------------------------------------------------------------------------------

    def find_next(self) -> OpenRun | None:
        """The open run of the plan that comes next, or the one that was chosen."""
        if self._next[0] != self.changes:
            coming = find_next(self._folder.lines, self.kept, self._wanted, self._refused)
            self._next = (self.changes, self._on_sound_bolt(coming))
        return self._next[1]

    def _on_sound_bolt(self, coming: OpenRun | None) -> OpenRun | None:
        """Another try of a run that overloaded its bolt is made on the one that took its place."""
        if coming is None or coming.attempt == 1 or coming.cells in self._folder.lines:
            return coming
        runs = self.kept.values()
        if self._bolts.overloaded_in(self._bolt_of(coming), runs) is None:
            return coming
        bolt = self._bolts.bolt_in(runs)
        return coming if bolt is None else replace(coming, cells={**coming.cells, "bolt": bolt})

    def _bolt_of(self, run: OpenRun) -> str | None:
        return run.cells.get("bolt") or self.campaign.bolt.name

    @property
    def spent(self) -> SpentBolt | None:
        """The overloaded bolt that must be out before the next run; None when there is none."""
        if self._spent[0] != self.changes:
            coming = self.find_next()
            bolt = self._bolts.confirmed if coming is None else self._bolt_of(coming)
            found = self._bolts.find_spent(bolt, self.kept.values(), self._new_bolt_name(bolt))
            self._spent = (self.changes, found)
        return self._spent[1]

    def find_again(self) -> OpenRun | None:
        """What would come next if the last run were set aside."""
        if self._again[0] != self.changes:
            self._again = (self.changes, self._find_again())
        return self._again[1]

    def _find_again(self) -> OpenRun | None:
        if self.last is None or self.last.run not in self.kept:
            return None
        aside = replace(self.kept[self.last.run], set_aside="to be repeated")
        again = find_next(self._folder.lines, {**self.kept, self.last.run: aside}, None, self._refused)
        return self._on_sound_bolt(again)

    def open_runs(self) -> tuple[tuple[str, str], ...]:
        """The planned runs that are not done: name, and tool and article in words."""
        state = plan_state(self._folder.lines, self.kept, self._refused)
        first = self.campaign.tools[0].name
        return tuple(
            (line["run"], f"{line.get('tool') or first}, {line['article']}")
            for line, done in state
            if not done
        )

    def tool_of(self, run: OpenRun) -> str:
        """The tool of a planned run."""
        return run.cells.get("tool") or self.campaign.tools[0].name

    def band(self, run: OpenRun | None) -> Band | None:
        """Earlier runs of the same article with the same tool."""
        if run is None:
            return None
        pair = (self.tool_of(run), run.cells["article"])
        if pair not in self._bands:
            runs = [each for each in self.kept.values() if (each.row.tool, each.row.article) == pair]
            self._bands[pair] = find_band(self._store, self.campaign, runs, self.worth)
        return self._bands[pair]

    def choose(self, planned: str | None) -> None:
        """Take a planned run out of turn, once; None goes back to the plan's order.

        Raises
        ------
        NotFound
            If the plan has no such run.
        """
        with self._deciding():
            names = [line["run"] for line in self._folder.lines]
            if planned is not None and planned not in names:
                raise NotFound("planned run", planned, names)
            self._wanted = planned

    def add_run(self, tool: str, article: str) -> str:
        """Plan one more run at the end; returns its name.

        Raises
        ------
        NotFound
            If the campaign has no such tool or article.
        """
        return self._add_lines(tool, [article])[0]

    def add_block(self, tool: str) -> tuple[str, ...]:
        """Plan one more block at the end: every article once in random order, the reference at its ends.

        Raises
        ------
        NotFound
            If the campaign has no such tool.
        """
        names = [article.name for article in self.campaign.articles]
        seed = len(self._folder.lines)  # another order for each block, the same one again after a restart
        planned = plan_runs(names, [tool], self.campaign.reference, repeats=1, seed=seed, duration_s=1.0)
        return self._add_lines(tool, [run.article for run in planned])

    def _add_lines(self, tool: str, articles: list[str]) -> tuple[str, ...]:
        with self._deciding():
            must_know("tool", [tool], [each.name for each in self.campaign.tools])
            must_know("article", articles, [each.name for each in self.campaign.articles])
            bolt = next((line.get("bolt") for line in reversed(self._folder.lines)), None)
            fresh = block_lines(self._folder.lines, tool, articles, bolt)
            self._folder.lines += fresh
            self._write()
            return tuple(line["run"] for line in fresh)

    def leave_out(self, because: str) -> None:
        """Go on without the next run of the plan, with the reason.

        Raises
        ------
        BadInput
            If every run of the plan is done, or a try of it was made.
        """
        with self._deciding():
            coming = self._coming()
            if coming.attempt > 1:
                raise refused("only a run that was never tried is left out", "put a try of it back instead")
            runs = {coming.cells["run"]}
            self._set_cells(runs, "set_aside", " ".join(because.split()) or "left out")
            self._undo.append((f"leave out {coming.run}", lambda: self._set_cells(runs, "set_aside", None)))

    def change_bolt(self, name: str | None = None) -> str:
        """Take a new bolt for the next run and all that were planned on the same; returns its name.

        Raises
        ------
        BadInput
            If every run of the plan is done, the bolt was overloaded, or one that was must be out and the new
            one is not named.
        """
        with self._deciding():
            coming, spent = self._coming(), self.spent
            old = coming.cells.get("bolt")
            fresh = " ".join((name or "").split())
            if spent is not None and not fresh:
                raise refused("the new bolt is not named", f"say which is in now, such as {spent.fresh}")
            fresh = fresh or self._new_bolt_name(old)
            over = self._bolts.overloaded_in(fresh, self.kept.values())
            if over is not None:
                what = f"bolt {fresh!r} was overloaded in {over.row.run}"
                raise refused(what, "put in another one, and name that")
            insert_after_made(self._folder.lines, coming.cells, self.kept)  # a second try has no line yet
            open_lines = [line for line in self._folder.lines if line["run"] not in self.kept]
            runs = {line["run"] for line in open_lines if line.get("bolt") == old}
            self._set_cells(runs, "bolt", fresh)
            before, self._bolts.confirmed = self._bolts.confirmed, fresh
            self._undo.append((f"bolt {fresh}", lambda: self._unchange_bolt(runs, old, before)))
            return fresh

    def _unchange_bolt(self, runs: Collection[str], old: str | None, confirmed: str | None) -> None:
        self._set_cells(runs, "bolt", old)
        self._bolts.confirmed = confirmed

    def _new_bolt_name(self, old: str | None) -> str:
        used = {line.get("bolt") for line in self._folder.lines}
        return name_bolt(old, used | {run.row.bolt for run in self.kept.values()})

    def verdict(self, run: StoredRun) -> RunVerdict:
        """What came of a kept run."""
        return give_verdict(self._store, self.campaign, run, self.worth)

    # the runs ------------------------------------------------------------------------------

    def repeat(self, because: str | None = None) -> None:
        """Set the last run aside, so that it comes again next; without a reason its verdict is one.

        Raises
        ------
        BadInput
            If no run was made yet.
        """
        if self.last is None:
            raise refused("there is no run to repeat", "record one first")
        reason = "repeated" if self.last.good else self.last.reason
        self.set_aside(self.last.run, because or reason)

    def set_aside(self, run: str, because: str) -> None:
        """Leave a run out of the result, with the reason; its place in the plan is open again.

        Raises
        ------
        BadInput, NotFound
            If the reason is empty, or there is no such run.
        """
        reason = " ".join(because.split())
        if not reason:
            raise BadInput("the reason is empty", where="set aside", allowed="a few words", mend="say why")
        self._decide(run, "set_aside", reason, f"set aside {run}")

    def put_back(self, run: str) -> None:
        """Let a run count again.

        Raises
        ------
        NotFound
            If there is no such run.
        """
        self._decide(run, "set_aside", None, f"put back {run}")

    def note(self, run: str, text: str) -> None:
        """Say something beside a run.

        Raises
        ------
        NotFound
            If there is no such run.
        """
        self._decide(run, "note", " ".join(text.split()) or None, f"note of {run}")

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
        """Say one thing of a kept run: in the store, then on the sheet, which is a copy."""
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
        self._bands.pop((run.row.tool, run.row.article), None)
        if self.last is not None and self.last.run == name:
            self.last = replace(self.last, set_aside=run.set_aside, note=run.row.note)
        self.changes += 1

    # recordings ----------------------------------------------------------------------------

    def new_recording(self, run: OpenRun) -> Path:
        """Where the recording of a run goes."""
        return self._folder.new_log(run.run)

    def keep(self, cells: Cells, path: Path) -> None:
        """Keep a recording as a run, then write its line; a kill between the two is mended by `recover`.

        Raises
        ------
        BadFile, StoreError
            If it holds too little, or cannot be kept.
        """
        told = read_recording(path, path.read_bytes()).about
        if told.get("simulated"):
            self._mark_simulated()
        started = str(told.get("started", ""))[:19].replace("T", " ")
        cells = {**cells, "log": path.name, "started": started}
        with self.lock, self._folder.hold():
            self.refresh()
            place = insert_after_made(self._folder.lines, cells, self.kept)
            mark = self._folder.sheet_mark
            run = keep_recording(self._store, self._key, self.campaign, place, cells, path, mark)
            self.kept[cells["run"]] = run
            self._wanted = None
            self._write()
            self._bands.pop((run.row.tool, run.row.article), None)
            self.last = give_verdict(self._store, self.campaign, run, self.worth)
            self.changes += 1

    def _mark_simulated(self) -> None:
        """Say for good that runs of this campaign are invented: in its file, and in the store."""
        if not self.campaign.simulated:
            self._folder.mark_simulated()
            self.campaign = replace(self.campaign, simulated=True)
            self._store.keep_campaign(self.campaign, self._folder.path.resolve())
            self.tell("the rig is simulated: the campaign says from now on that its runs are")

    def recover(self) -> tuple[str, ...]:
        """Keep the recordings that a killed recorder left; one that misses its window is set aside.

        A file that is no such recording is named, never deleted. Returns the names of the runs.
        """
        known = {run.row.log for run in self.kept.values() if run.row.log}
        runs, messages = sort_leftovers(self._folder.orphans(known), self.set_beside)
        names = []
        for path, found in runs:
            try:
                names.append(self._recover(path, found))
            except StrikeproofError as wrong:
                self.tell(f"{path.name} cannot be kept: {wrong}")
        for message in messages:
            self.tell(message)
        return tuple(names)

    def set_beside(self, path: Path) -> str:
        """Move a recording that is no run out of the way; returns where it is, in the campaign's folder."""
        return self._folder.set_beside(path)

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
        self.keep(cells, path)
        if found.ending is None and self.last is not None:
            misses = any(find_flag(code).misses_window for code in self.last.flags)
            mend = "it is set aside, to be repeated" if misses else "its window is whole"
            self.tell(f"run {cells['run']} was {CUT_SHORT}; {mend}")
            if misses:
                self._amend(cells["run"], "set_aside", CUT_SHORT)
        return cells["run"]

    # the small parts -----------------------------------------------------------------------

    def _write(self) -> None:
        self._tell_saved(self._folder.write())

    def _tell_saved(self, saved: Path | None) -> None:
        if saved is not None:
            self.tell(f"the run sheet was changed by hand; that version is saved as {saved.name}")

    def _look_again(self) -> None:
        """Take up what was decided elsewhere meanwhile: on the command line, or on the runs page."""
        self.kept = {run.row.run: run for run in self._store.runs(self._key)}

    def _coming(self) -> OpenRun:
        coming = self.find_next()
        if coming is None:
            raise refused("every run of the plan is done", "add a block or a run")
        return coming

    def _set_cells(self, runs: Collection[str], column: str, value: str | None) -> None:
        for line in self._folder.lines:
            if line["run"] not in runs:
                continue
            line.pop(column, None)
            if value is not None:
                line[column] = value
        self._write()
        self.changes += 1

    @contextmanager
    def _deciding(self) -> Iterator[None]:
        with self.lock:
            if self.busy:
                raise refused("a run is being recorded", "wait for its end, or stop it")
            with self._folder.hold():
                self.refresh()
                self._look_again()
                yield
            self.changes += 1
