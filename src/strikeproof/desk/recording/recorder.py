"""Record planned runs from a live rig: arm, and the rest goes by itself, until a person decides otherwise.

The recorder asks no browser and no terminal. Some thread calls `step` about fifty times a second
(`run_in_background` makes one); any other thread may call everything else. What a person decides about plan
and runs is asked of its `book`.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import replace
from datetime import datetime, timedelta
from pathlib import Path
from types import TracebackType

import numpy as np

import strikeproof
from strikeproof.campaign.records import Campaign
from strikeproof.capture.recording import LINE_LOST, RECORDER_FAILED, RecordingWriter
from strikeproof.capture.rig_clock import Placed
from strikeproof.capture.rig_talk import announce_run
from strikeproof.capture.watch import RunWatch
from strikeproof.desk.calibrating.worth import level_in_readings, own_zero
from strikeproof.desk.recording.before_run import (
    find_hold,
    loaded_until,
    say_own_zero,
    see_standing,
    standing_words,
)
from strikeproof.desk.recording.book import RunBook
from strikeproof.desk.recording.folder import open_record_folder
from strikeproof.desk.recording.next_run import describe_next, slow_rate_cautions
from strikeproof.desk.recording.plan_book import refused
from strikeproof.desk.recording.remaining import OpenRun
from strikeproof.desk.recording.rig import LiveRig, live_chart, live_score
from strikeproof.desk.recording.thread import StepThread, print_mistake
from strikeproof.desk.recording.views import (
    LineView,
    LiveChart,
    LiveScore,
    NextRun,
    Phase,
    RecordView,
    Standing,
)
from strikeproof.desk.safety.bolt_limit import find_limit
from strikeproof.desk.workspace.opening import open_campaign
from strikeproof.errors import StrikeproofError
from strikeproof.language import say

__all__ = ["Recorder", "open_recorder"]

_DISK_FAILED = "the disk failed"  # why a recording ended, as its file says it
_LOST_AFTER_S = 5.0  # beyond the window's end, with nothing from the rig


def open_recorder(
    workspace: Path,
    campaign: str | None = None,
    *,
    clock: Callable[[], float] = time.monotonic,
    now: Callable[[], datetime] = datetime.now,
) -> Recorder:
    """A recorder for a campaign of the workspace; recordings that a killed one left are stored at once.

    Raises
    ------
    StoreError, NotFound, BadInput
        If there is no such campaign, it is being recorded by another program, or its folder cannot be used.
    """
    store, key, found = open_campaign(workspace, campaign)
    folder = open_record_folder(store, key, found)
    book = RunBook(store, key, found, folder)
    book.recover()
    return Recorder(book, clock, now)


def _how_read(campaign: Campaign) -> tuple[object, ...]:
    """All of a campaign's rig that its line was opened with."""
    rig = campaign.rig
    return rig.channel, rig.unit, rig.sample_rate_hz


class Recorder:
    """The recording of one campaign, by one person at one rig."""

    def __init__(self, book: RunBook, clock: Callable[[], float], now: Callable[[], datetime]) -> None:
        self.book = book
        self.last_chart: LiveChart | None = None
        self._clock, self._now = clock, now
        self._lock = book.lock
        self._rig: LiveRig | None = None
        self._take_protocol()
        self._heard_out = False  # whether enough of the quiet is known for a zero
        self._armed: OpenRun | None = None
        self._writer: RecordingWriter | None = None
        self._first_sample = 0
        self._began_at = 0.0
        self._ended_at: float | None = None
        self._keeping = False
        self._ended: tuple[OpenRun, RecordingWriter, str] | None = None
        self._last_live: LiveScore | None = None  # of the run that is being saved
        self._asks_zero = False  # arming was refused since the bolt is under load
        self._described: dict[str, tuple[int, NextRun, float]] = {}
        self._failure = ""
        self._thread = StepThread(self.step, self.start_again)

    @property
    def campaign(self) -> Campaign:
        """The campaign as the recorder knows it; `renew` takes it as it is now."""
        return self.book.campaign

    def renew(self) -> None:
        """Take the campaign as it is now, its bolt's limit above all; a run that is armed keeps what it had.

        A rig that is described otherwise must be connected again.

        Raises
        ------
        StoreError, NotFound
            If the campaign cannot be read, or is there no more.
        """
        with self._lock:
            before = _how_read(self.campaign)
            if self._armed is not None or self._keeping:
                return
            self.book.refresh()
            if not self.book.renew():
                return
            self._take_protocol()
            self.last_chart = None
            if self._rig is not None and _how_read(self.campaign) != before:
                self.disconnect()
                self.book.tell(say("the campaign describes its rig differently now: connect the rig again"))

    def _take_protocol(self) -> None:
        """What the campaign says of every run, and a watch for it."""
        protocol = self.campaign.protocol
        self._level = level_in_readings(self.book.worth, protocol.score)
        sign = (1 if protocol.direction == "tighten" else -1) * round(self.book.worth.sign)
        self._watch = RunWatch(protocol.duration_s, self.campaign.rig.resolution, sign)
        if self._rig is not None and not self._rig.zero_is_said:
            self._rig.zero = own_zero(self.campaign, self.book.worth)

    # the line and the passing of time ------------------------------------------------------

    def connect(self, port: str, baud: int = 115_200) -> None:
        """Listen to the rig on a port; one that is not there yet is waited for.

        Raises
        ------
        PortError
            If the port is in use or may not be opened.
        """
        with self._lock:
            self.disconnect()
            self._failure = ""
            self._rig, self._heard_out = LiveRig(self.campaign, port, baud, self._clock), False
            self._rig.zero = own_zero(self.campaign, self.book.worth)
            self._watch.reset()
            self.book.changes += 1

    def disconnect(self) -> None:
        """Close the port; a run that is being recorded ends there."""
        with self._lock:
            if self._writer is not None:
                self._end("stopped by hand")
            self._armed = None
            self.book.release_plan()
            if self._rig is not None:
                self._rig.close()
            self._rig = None
            self.book.changes += 1

    def run_in_background(self) -> None:
        """Step by itself from now on."""
        self._thread.start()

    def start_again(self, bug: Exception) -> None:
        """After a mistake of the program: say so, save the run as far as it is, and open the line again."""
        with self._lock:
            run = self._armed.run if self._armed is not None else ""
            saved = say("; run {run} is saved up to here", run=run) if self._writer is not None else ""
            rig, self._rig = self._rig, None
            if self._writer is not None:
                self._end(RECORDER_FAILED)
            self._armed = None
            self.book.release_plan()
            if rig is not None:
                rig.close()
                self.connect(*rig.address)
            self._failure = say(
                "the recorder failed ({name}: {bug}) and has started again{saved}",
                name=type(bug).__name__,
                bug=bug,
                saved=saved,
            )
            self.book.tell(self._failure)
        self._keep_ended()

    def close(self) -> None:
        """Stop, keep what is being recorded, and let another recorder in."""
        self._thread.stop()
        self.disconnect()
        self._keep_ended()
        self.book.close()

    def __enter__(self) -> Recorder:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()

    def step(self) -> None:
        """Take what arrived, and go on with the run."""
        with self._lock:
            if self._rig is not None:
                self._take(self._rig)
        self._keep_ended()

    def _take(self, rig: LiveRig) -> None:
        for placed in rig.take():
            for each in placed.line_flags:
                self.book.tell(each.detail if each.count == 1 else f"{each.detail} ({each.count})")
            self._write([placed])
            self._go_on(rig)
        self._give_up_a_lost_line(rig)

    def _go_on(self, rig: LiveRig) -> None:
        seen = self._watch.look(rig.buckets, rig.now)
        self._heard_out = seen != "not enough"
        if self._writer is None:
            if self._armed is not None and seen == "hammering":
                self._begin(rig, self._armed)
            elif self._watch.began is not None:
                self._watch.reset()
            return
        if seen == "false start":
            self._drop_start(
                say("false start: the reading went back to its zero; still waiting for the first blow")
            )
        elif seen == "unloaded":
            self._drop_start(
                say(
                    "no run: the reading fell and stayed there, so the bolt was still under load at the "
                    "start; still waiting for the first blow, and what the rig shows now counts as zero"
                )
            )
        elif seen in ("done", "stopped short"):
            self._end(seen)

    def _give_up_a_lost_line(self, rig: LiveRig) -> None:
        lost = self._clock() - self._began_at > self.campaign.protocol.duration_s + _LOST_AFTER_S
        if self._writer is not None and lost and rig.silent_s > 1.0:
            self._end(LINE_LOST)

    # a run ---------------------------------------------------------------------------------

    def arm(self) -> None:
        """Record the next run as soon as hammering begins, by the campaign and its limits as they are now.

        Raises
        ------
        BadInput
            If the plan is done, the bolt was overloaded, the rig does not speak, or a run is being recorded.
        """
        with self._lock:
            self.book.hold_plan()
            try:
                self._arm()
            finally:
                if self._armed is None:
                    self.book.release_plan()

    def _arm(self) -> None:
        self.renew()
        rig, coming = self._rig, self.book.find_next()
        if self._writer is not None or self._keeping:
            raise refused(say("a run is being recorded"), say("wait for its end, or end it"))
        if rig is None or not rig.is_ready:
            trouble = rig.view().trouble if rig else say("connect a rig")
            raise refused(say("the rig is not ready"), trouble or say("wait until its signal is checked"))
        if coming is None:
            raise refused(say("every run of the plan is done"), say("add a block or a run"))
        spent = self.book.spent
        if spent is not None:
            what = say("{called} was overloaded in {run}", called=spent.called, run=spent.run)
            raise refused(
                what, say("take it out, put a new one in and give its name"), say("a new bolt, by its name")
            )
        self._watch.reset()
        if self._watch.look(rig.buckets, rig.now) == "not enough":
            raise refused(
                say("the rig's signal at rest is not known well enough"), say("wait a second and press again")
            )
        self._watch.reset()
        self._must_be_loose()
        self.book.accept()
        self._armed, self._failure = coming, ""
        cells, tool = coming.cells, self.book.tool_of(coming)
        rig.say(announce_run(coming.run, tool=tool, article=cells["article"], bolt=cells.get("bolt", "-")))
        self.book.changes += 1

    def _must_be_loose(self) -> None:
        standing = self._see_standing()
        self._asks_zero = standing is not None and standing.is_loaded
        if standing is None or not standing.was_loaded:
            return
        self.book.changes += 1
        if not standing.is_loaded:
            raise refused(
                say("the bolt was under load until a moment ago"),
                say("wait two seconds and press again"),
                say("two seconds of a loose bolt"),
            )
        raise refused(
            say(
                "the bolt is under load: the rig shows {load} before the run",
                load=standing_words(standing),
            ),
            say("loosen the bolt and press again; if it is loose, say that this is the cell's own zero"),
            say("a loose bolt"),
        )

    def take_zero(self) -> str:
        """A person says that the bolt is loose, so that what the rig shows is the cell's own zero.

        It holds while this rig is connected, and every run says so. Returns what the rig shows, in words.

        Raises
        ------
        BadInput
            If arming was not refused for a load before the run.
        """
        with self._lock:
            rig, standing = self._rig, self._see_standing()
            if rig is None or standing is None or not standing.asks:
                raise refused(
                    say("the cell's own zero is not asked for"),
                    say("press the large button first, and read what it says"),
                )
            shown = rig.buckets.since(rig.now - 0.5).mean
            rig.zero, rig.zero_is_said = rig.factor * float(np.median(shown)), True
            self._asks_zero = False
            self.book.changes += 1
            return standing_words(standing)

    def _see_standing(self) -> Standing | None:
        if self._rig is None or self._writer is not None or not self._rig.channels:
            return None
        return see_standing(self.campaign, self.book.worth, self._rig, asks=self._asks_zero)

    def disarm(self) -> None:
        """Wait no longer for the first blow."""
        with self._lock:
            if self._writer is None:
                self._armed = None
                self.book.release_plan()
                self.book.changes += 1

    def stop(self) -> None:
        """End the run that is being recorded, now."""
        with self._lock:
            if self._writer is not None:
                self._end("stopped by hand")

    def _begin(self, rig: LiveRig, armed: OpenRun) -> None:
        """Open the recording, with the quiet seconds before the first blow in front."""
        began = rig.now if self._watch.began is None else self._watch.began
        before = rig.before(began, loaded_until(self.campaign, self.book.worth, rig, began))
        started = self._now() - timedelta(seconds=rig.now - float(before[0].time[0]))
        about = {
            "campaign": self.campaign.name,
            "cells": armed.cells,
            "started": started.astimezone().isoformat(timespec="milliseconds"),
            "speaks": rig.words,
            "simulated": rig.is_simulated,
            "strikeproof": strikeproof.__version__,
        }
        self._began_at, self._first_sample = self._clock(), before[0].first
        try:
            self._writer = RecordingWriter(self.book.new_recording(armed), rig.channels, about)
        except StrikeproofError as wrong:
            self._armed = None
            self.book.release_plan()
            self.book.tell(str(wrong))
            return
        self.book.busy, self.book.recorded = True, armed.run
        said = say_own_zero(self.campaign, self.book.worth, rig, self._watch)
        self._write(
            [replace(before[0], line_flags=(*before[0].line_flags, *said)), *before[1:]], at_once=True
        )
        self.book.changes += 1

    def _write(self, parts: list[Placed], *, at_once: bool = False) -> None:
        """Into the recording; what lies before a run's first blow is on disk before anybody sees it begin."""
        writer = self._writer
        if writer is None:
            return
        try:
            for placed in parts:
                odd = [replace(each, at=max(each.at - self._first_sample, 0)) for each in placed.line_flags]
                writer.add(placed.time, placed.values, odd, self._clock())
            if at_once:
                writer.keep(self._clock())
        except StrikeproofError as wrong:
            self.book.tell(str(wrong))
            self._end(_DISK_FAILED)

    def _drop_start(self, why: str) -> None:
        """A bump, or a load taken off, is no run: its recording is moved aside, the recorder stays armed."""
        writer, self._writer = self._writer, None
        place = ""
        if writer is not None:
            writer.abandon()
            try:
                place = say(" (recorded in {place})", place=self.book.set_beside(writer.path))
            except StrikeproofError as wrong:
                self.book.tell(str(wrong))
        self.book.busy = False
        self._watch.reset()
        self.book.tell(f"{why}{place}")

    def _end(self, how: str) -> None:
        """End the recording; a run is made of it once no screen has to wait for that."""
        writer, armed, rig = self._writer, self._armed, self._rig
        self._writer, self._armed = None, None
        if writer is None or armed is None:
            return
        if rig is not None:
            self.last_chart = self._chart(rig, armed, 15.0)
            self._last_live = live_score(self.campaign, self.book.worth, self._level, armed, self._watch, rig)
        self._ended_at, self._keeping = self._clock(), True
        self._ended = (armed, writer, how)
        if not self._thread.is_stepping:
            self._keep_ended()

    def _keep_ended(self) -> None:
        """Make a run of the recording that has ended; what cannot be saved now is stored at the next
        start."""
        with self._lock:
            ended, self._ended = self._ended, None
        if ended is None:
            return
        armed, writer, how = ended
        try:
            if how == _DISK_FAILED:
                writer.abandon()
            else:
                writer.finish(how)
            self.book.keep(armed.cells, writer.path)
        except StrikeproofError as wrong:
            writer.abandon()
            self.book.tell(say("run {run} is not saved yet: {wrong}", run=armed.run, wrong=wrong))
        except Exception as bug:  # a mistake of the program; the recording is on disk
            print_mistake()
            writer.abandon()
            self.book.tell(
                say(
                    "run {run} is not saved yet: {name}: {bug}",
                    run=armed.run,
                    name=type(bug).__name__,
                    bug=bug,
                )
            )
        finally:
            with self._lock:
                self._keeping = self.book.busy = False
                self._last_live = None
                self.book.recorded = None
                self.book.release_plan()
                self._watch.reset()
                self.book.changes += 1
            self.book.save_notes()

    @property
    def listened_s(self) -> float:
        """How long the rig has been received, by its own time. [s]"""
        return self._rig.now if self._rig is not None else 0.0

    # what is seen --------------------------------------------------------------------------

    def view(self) -> RecordView:
        """Everything at this instant but the chart."""
        with self._lock:
            rig, book = self._rig, self.book
            coming = self._armed or book.find_next()
            described, standing = self._describe(coming), self._see_standing()
            return RecordView(
                campaign=self.campaign.name,
                phase=self._phase(coming),
                line=rig.view()
                if rig
                else LineView(None, False, None, None, 0.0, say("no rig is connected"), simulated=False),
                next=described,
                again=self._describe_again(),
                spent=book.spent,
                standing=standing,
                undecided=book.undecided,
                hold=find_hold(described, book.spent, standing, book.undecided),
                live=self._live(rig),
                last=book.last,
                undo=book.undoes,
                messages=book.messages,
                failure=self._failure,
                simulated=book.campaign.simulated,
                changes=book.changes,
            )

    def chart(self, seconds: float = 15.0) -> LiveChart:
        """The live trace: of the run while one is recorded, else of the last seconds."""
        with self._lock:
            run = self._armed if self._writer is not None else None
            return self._chart(self._rig, run, seconds)

    def _chart(self, rig: LiveRig | None, run: OpenRun | None, seconds: float) -> LiveChart:
        band = self.book.band(run or self._armed or self.book.find_next())
        return live_chart(self.campaign, self.book.worth, rig, self._watch, run, band, seconds)

    def _live(self, rig: LiveRig | None) -> LiveScore | None:
        if self._keeping:
            return self._last_live
        if self._writer is None or self._armed is None or rig is None:
            return None
        return live_score(self.campaign, self.book.worth, self._level, self._armed, self._watch, rig)

    def _phase(self, coming: OpenRun | None) -> Phase:
        if self._keeping:
            return "keeping"
        if self._writer is not None:
            return "recording"
        if self._armed is not None:
            return "armed"
        if self._rig is None or not self._rig.is_ready or not self._heard_out:
            return "no rig"
        return "all done" if coming is None else "idle"

    def _describe_again(self) -> NextRun | None:
        """What comes next once the last run is excluded, of a run that its verdict wants repeated."""
        last = self.book.last
        if last is None or last.good or last.row.set_aside is not None or self._armed is not None:
            return None
        return self._describe(self.book.find_again())

    def _describe(self, coming: OpenRun | None) -> NextRun | None:
        if coming is None:
            return None
        here, book = self._clock(), self.book
        if self._described.get(coming.run, (-1,))[0] != book.changes:
            since = None if self._ended_at is None else here - self._ended_at
            limit = find_limit(self.campaign, book.worth)
            kept = book.kept.values()
            fresh = describe_next(self.campaign, coming, kept, self._now(), since, limit, book.spent)
            others = {run: each for run, each in self._described.items() if each[0] == book.changes}
            self._described = {**others, coming.run: (book.changes, fresh, here)}
        _, told, at = self._described[coming.run]
        slow = slow_rate_cautions(self._rig.rate_hz if self._rig else None)
        left = max(0.0, told.cool_down_left_s - (here - at))
        expected = book.expected.get((told.row.tool, told.row.article))
        first = () if expected is None else (expected,)
        return replace(told, cool_down_left_s=left, cautions=(*first, *told.cautions, *slow))
