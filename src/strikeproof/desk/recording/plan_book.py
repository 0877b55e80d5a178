"""The plan of a campaign that is recorded: what comes next, on which bolt, and what a person changes."""

from __future__ import annotations

import threading
from collections.abc import Callable, Collection, Iterator, Mapping
from contextlib import ExitStack, contextmanager
from dataclasses import replace
from pathlib import Path

from strikeproof.campaign.kept import StoredRun
from strikeproof.campaign.records import Campaign, RunRow
from strikeproof.campaign.store import Store
from strikeproof.desk.calibrating.worth import Worth, find_worth
from strikeproof.desk.recording.bolt import BoltLog
from strikeproof.desk.recording.folder import RecordFolder, take_sheet
from strikeproof.desk.recording.keeping import as_row, find_band
from strikeproof.desk.recording.remaining import (
    Cells,
    OpenRun,
    block_lines,
    find_next,
    insert_after_made,
    must_know,
    name_bolt,
    plan_state,
)
from strikeproof.desk.recording.views import Band, RunVerdict, SpentBolt
from strikeproof.errors import BadInput, NotFound
from strikeproof.judge.planning import plan_runs
from strikeproof.language import say
from strikeproof.plain_text import TextKind, accept_text

__all__ = ["PlanBook", "refused"]

_NEW_BOLT = say("a new bolt, by its name")


def refused(what: str, fix: str, allowed: str = say("another moment")) -> BadInput:
    """What cannot be done as things are, what is, and what to do."""
    return BadInput(what, where="recorder", allowed=allowed, fix=fix)


class PlanBook:
    """The plan of a campaign beside its stored runs; any thread may call it.

    Attributes
    ----------
    last
        Verdict of the run made last, since the start.
    busy
        While a run is recorded; nothing is decided then, and notes wait.
    expected
        Overloads of the bolt that are predicted, in words, by tool and article.
    recorded
        The run that is recorded or saved while `busy`.
    messages
        What a person should read, newest last.
    changes
        Counts up with every change.
    """

    def __init__(self, store: Store, key: int, campaign: Campaign, folder: RecordFolder) -> None:
        self.campaign = campaign
        of_rigs = find_worth(store, key, campaign)
        self.worth: Worth = of_rigs.on(campaign.rig.name)
        self._sheet = store.calibration_rows(key)
        self.lock = threading.RLock()
        self.last: RunVerdict | None = None
        self.busy = False
        self.recorded: str | None = None
        self.expected: Mapping[tuple[str, str], str] = {}
        self._accepted: str | None = None
        self._notes_due: dict[str, str | None] = {}
        self.messages: tuple[str, ...] = tuple(folder.problems)
        self.changes = 0
        self._store, self._key, self._folder = store, key, folder
        self.kept: dict[str, StoredRun] = {run.row.run: run for run in store.runs(key)}
        self._refused = self._not_here()
        if elsewhere := self._on_other_rigs() - self.kept.keys():
            self.tell(
                say(
                    "{count} planned runs are for another rig: only those of {rig} are recorded here",
                    count=len(elsewhere),
                    rig=campaign.rig.name,
                )
            )
        self._next: tuple[int, OpenRun | None] = (-1, None)
        self._again: tuple[int, OpenRun | None] = (-1, None)
        self._wanted: str | None = None
        self._bands: dict[tuple[str, str], Band | None] = {}
        self._bolts = BoltLog(store, campaign, of_rigs)
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
            of_rigs = find_worth(self._store, key, campaign)
            self.worth = of_rigs.on(campaign.rig.name)
            self._bands = {}
            self._bolts.renew(campaign, of_rigs)
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
                self._refused = self._not_here()
                self.changes += 1

    def _not_here(self) -> set[str]:
        """The planned runs that are none to record: made by a file, or on another rig."""
        return {*(self._folder.made_by_file() - self.kept.keys()), *self._on_other_rigs()}

    def _on_other_rigs(self) -> set[str]:
        own = (None, "", self.campaign.rig.name)
        return {line["run"] for line in self._folder.lines if line.get("rig") not in own}

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
        """Another try of a run that overloaded its bolt is made on the one that took its place.

        Where that one is spent too, the run is on it until the next one is named.
        """
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
        """What would come next if the last run were excluded."""
        if self._again[0] != self.changes:
            self._again = (self.changes, self._find_again())
        return self._again[1]

    def _find_again(self) -> OpenRun | None:
        if self.last is None or self.last.run not in self.kept:
            return None
        aside = replace(self.kept[self.last.run], set_aside=say("to be repeated"))
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

    def pair_of(self, row: RunRow) -> tuple[str, str]:
        """What the band of a run is of: its tool, with the rotation where it is another, and its article."""
        return self.campaign.series_of(row), row.article

    def band(self, run: OpenRun | None) -> Band | None:
        """Earlier runs of the same article with the same tool."""
        if run is None:
            return None
        pair = self.pair_of(as_row(run.cells, self.campaign))
        if pair not in self._bands:
            own = self.campaign.rig.name
            here = [each for each in self.kept.values() if self.campaign.rig_of(each.row) == own]
            runs = [each for each in here if self.pair_of(each.row) == pair]
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
            elsewhere = self._on_other_rigs()
            names = [line["run"] for line in self._folder.lines if line["run"] not in elsewhere]
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
        """Plan one more block at the end: every article once and the reference twice, shuffled.

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
            If every run of the plan is done, a try of it was made, or the reason holds what no text may hold.
        """
        reason = accept_text(because, TextKind.NOTE, "reason") or say("left out")
        with self._deciding():
            coming = self._coming()
            if coming.attempt > 1:
                raise refused(
                    say("only a run that was never tried can be left out"),
                    say("include a try of it again instead"),
                )
            runs = {coming.cells["run"]}
            self._set_cells(runs, "set_aside", reason)
            self._undo.append(
                (say("leave out {run}", run=coming.run), lambda: self._set_cells(runs, "set_aside", None))
            )

    def change_bolt(self, name: str | None = None) -> str:
        """Take a new bolt for the next run and all planned on the same or on a spent one; returns its name.

        Raises
        ------
        BadInput
            If every run of the plan is done, the bolt was overloaded, or one that was must be out and the new
            one is not named, or not as a name may be.
        """
        given = accept_text(name or "", TextKind.NAME, "bolt")
        with self._deciding():
            coming, spent = self._coming(), self.spent
            old = coming.cells.get("bolt")
            if spent is not None and not given:
                raise refused(
                    say("the new bolt is not named"),
                    say("name it, such as {fresh}", fresh=spent.fresh),
                    _NEW_BOLT,
                )
            fresh = given or self._new_bolt_name(old)
            over = self._bolts.overloaded_in(fresh, self.kept.values())
            if over is not None:
                what = say("bolt {fresh} was overloaded in {run}", fresh=repr(fresh), run=over.row.run)
                raise refused(what, say("put another one in and give its name"), _NEW_BOLT)
            insert_after_made(self._folder.lines, coming.cells, self.kept)  # a second try has no line yet
            open_lines = [line for line in self._folder.lines if line["run"] not in self.kept]
            before_of = {
                line["run"]: line.get("bolt")
                for line in open_lines
                if line.get("bolt") == old or self._is_spent(line)
            }
            self._set_cells(before_of, "bolt", fresh)
            before, self._bolts.confirmed = self._bolts.confirmed, fresh
            self._undo.append(
                (say("bolt {fresh}", fresh=fresh), lambda: self._unchange_bolt(before_of, before))
            )
            return fresh

    def _is_spent(self, line: Cells) -> bool:
        bolt = line.get("bolt") or self.campaign.bolt.name
        return self._bolts.overloaded_in(bolt, self.kept.values()) is not None

    def _unchange_bolt(self, before_of: Mapping[str, str | None], confirmed: str | None) -> None:
        for old in set(before_of.values()):
            self._set_cells([run for run, bolt in before_of.items() if bolt == old], "bolt", old)
        self._bolts.confirmed = confirmed

    def _new_bolt_name(self, old: str | None) -> str:
        used = {line.get("bolt") for line in self._folder.lines}
        return name_bolt(old, used | {run.row.bolt for run in self.kept.values()})

    # the small parts -----------------------------------------------------------------------

    def _write(self) -> None:
        self._tell_saved(self._folder.write())

    def _tell_saved(self, saved: Path | None) -> None:
        if saved is not None:
            self.tell(
                say("the run sheet was changed by hand; that version is saved as {name}", name=saved.name)
            )

    def _look_again(self) -> None:
        """Take up what was decided elsewhere meanwhile: on the command line, or on the runs page."""
        self.kept = {run.row.run: run for run in self._store.runs(self._key)}

    def _coming(self) -> OpenRun:
        coming = self.find_next()
        if coming is None:
            raise refused(say("every run of the plan is done"), say("add a block or a run"))
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
                raise refused(say("a run is being recorded"), say("wait for its end, or end it"))
            with self._folder.hold():
                self.refresh()
                self._look_again()
                yield
            self.changes += 1
