"""Recording as a page at the rig needs it: one recorder, what is pressed by name, and all to show at once.

Whoever owns a station calls it from one thread; the recorder steps in its own.
"""

from __future__ import annotations

import contextlib
import shutil
import threading
import time
from collections.abc import Callable, Collection
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from strikeproof.campaign.kept import StoredRun
from strikeproof.campaign.records import Campaign
from strikeproof.campaign.run_sheet import parse_started
from strikeproof.capture.rig_port import list_ports
from strikeproof.desk.recording.plan_book import refused
from strikeproof.desk.recording.recorder import open_recorder
from strikeproof.desk.recording.station_commands import check_command
from strikeproof.desk.recording.views import (
    MISHAPS,
    LiveChart,
    RecentRun,
    RecordView,
    RunVerdict,
    StationView,
)
from strikeproof.desk.simulating.rig_links import require_known_port
from strikeproof.desk.workspace.places import campaign_place
from strikeproof.errors import NotFound, StrikeproofError
from strikeproof.language import say

if TYPE_CHECKING:
    from strikeproof.campaign.kept import StoredRun
    from strikeproof.campaign.records import Campaign
    from strikeproof.desk.simulating.rig_process import RigProcess

__all__ = ["Station", "thin"]

_LATEST = 12
_LOOK_AROUND_S = 2.0
_USUAL_RATE_HZ = 10_000.0


class Station:
    """One campaign's recorder with its rig.

    Parameters
    ----------
    any_port
        Whether a port may be opened that the machine does not list.

    Raises
    ------
    StoreError, NotFound, BadInput
        If there is no such campaign, it is being recorded by another program, or its folder cannot be used.
    """

    def __init__(self, workspace: Path, campaign: str | None, *, any_port: bool = False) -> None:
        self.recorder = open_recorder(workspace, campaign)
        self._workspace = workspace
        self._any_port = any_port
        self._rig: RigProcess | None = None
        self._starting: threading.Thread | None = None
        self._armed_by = ""
        self._verdicts: dict[str, RunVerdict] = {}
        self._told = 0
        self._due: tuple[RunVerdict | None, str | None] | None = None
        self._phase = ""
        self._unkept = ""
        self._looked_at = -np.inf
        self._ports: tuple[tuple[str, str], ...] = ()
        self._short: tuple[int, int] | None = None
        book = self.recorder.book
        self._does: dict[str, Callable[..., Any]] = {
            "connect": self._connect,
            "simulate": self._simulate,
            "disconnect": self._disconnect,
            "mishap": self._mishap,
            "arm": self._arm,
            "disarm": self._disarm,
            "stop": self.recorder.stop,
            "repeat": book.repeat,
            "accept": book.accept,
            "take zero": self.recorder.take_zero,
            "set aside": book.set_aside,
            "put back": book.put_back,
            "note": book.note,
            "undo": book.undo,
            "bolt": book.change_bolt,
            "leave out": book.leave_out,
            "add block": self._add_block,
            "recover": self._recover,
        }
        self.recorder.run_in_background()

    @property
    def campaign(self) -> Campaign:
        """The campaign as its recorder knows it."""
        return self.recorder.campaign

    def close(self) -> None:
        """Keep what is being recorded, and close everything."""
        self.recorder.close()
        self._end_rig()

    def do(self, name: str, *given: str) -> None:
        """What was pressed.

        Raises
        ------
        StrikeproofError
            If it cannot be done now, there is no such command, or it is given too little or too much.
        """
        check_command(name, given)
        self._does[name](*given)

    # what is pressed -----------------------------------------------------------------------

    def _connect(self, port: str, baud: str = "115200") -> None:
        self._must_not_record()
        if not baud.isdecimal() or not 50 <= int(baud) <= 20_000_000:
            raise refused(
                say("{baud} is no baud rate", baud=repr(baud)),
                say("use the rate in the rig's manual, such as 115200"),
            )
        if not self._any_port:
            require_known_port(port)
        self._end_rig()
        self.recorder.connect(port, int(baud))

    def _simulate(self) -> None:
        self._must_not_record()
        self._end_rig()
        self.recorder.disconnect()
        self._starting = threading.Thread(target=self._start_simulated, daemon=True)
        self._starting.start()

    def _start_simulated(self) -> None:
        # The drivetrain is imported for a simulated rig only; a real one need not wait for it.
        from strikeproof.desk.simulating.rig import RigSettings
        from strikeproof.desk.simulating.rig_process import start_rig

        place = campaign_place(self._workspace, self.campaign.name)
        rate = self.campaign.rig.sample_rate_hz or _USUAL_RATE_HZ
        settings = RigSettings(place, rate_hz=rate, link=place / ".simulated-rig")
        try:
            self._rig = start_rig(settings, self._heed_rig)
            self.recorder.connect(self._rig.port)
        except StrikeproofError as wrong:
            self.recorder.book.tell(str(wrong))

    def _heed_rig(self, line: str) -> None:
        self.recorder.book.tell(say("the simulated rig says: {line}", line=line))

    def heed(self, message: str) -> bool:
        """Something that a person should know, once until something else is; whether it is new."""
        messages = self.recorder.book.messages
        is_new = not messages or messages[-1] != message
        if is_new:
            self.recorder.book.tell(message)
        return is_new

    def _disconnect(self) -> None:
        self._must_not_record()
        self.recorder.disconnect()
        self._end_rig()

    def _must_not_record(self) -> None:
        """The line may be closed; a run that was armed is then no longer due."""
        if self._is_starting:
            raise refused(say("a simulated rig is starting"), say("wait a moment"))
        if self.recorder.book.busy:
            raise refused(say("a run is being recorded"), say("wait for its end, or end it"))
        self._due = None

    def _mishap(self, words: str) -> None:
        if self._rig is None:
            raise refused(say("the rig is no simulated one"), say("start the simulated rig"))
        if words not in MISHAPS:
            raise NotFound("mishap", words, MISHAPS)
        self._rig.say(words)

    @property
    def _is_starting(self) -> bool:
        return self._starting is not None and self._starting.is_alive()

    def _end_rig(self) -> None:
        if self._rig is not None:
            self._rig.close()
        self._rig = None

    def _arm(self, by: str = "") -> None:
        book = self.recorder.book
        if self._short is not None:
            raise refused(say("the disk has no room for another run"), say("free some disk space"))
        newest = book.messages[-1] if book.messages else None
        before = book.last
        self.recorder.arm()
        self._due = (before, newest)
        self._armed_by, self._told = by, len(book.messages)
        self._unkept = ""

    def _disarm(self) -> None:
        self.recorder.disarm()
        if not self.recorder.book.busy:
            self._due = None

    def _recover(self) -> None:
        self._must_not_record()
        if self.recorder.book.recover():
            self._unkept = ""

    def _add_block(self) -> None:
        coming = self.recorder.view().next
        self.recorder.book.add_block(coming.row.tool if coming else self.campaign.tools[0].name)

    # what is seen --------------------------------------------------------------------------

    def look(self) -> StationView:
        """Everything at this instant but the chart."""
        view = self.recorder.view()
        self._look_around(view)
        self._phase = view.phase
        self._mind_a_loss(view)
        if view.last is not None:
            self._verdicts[view.last.run] = view.last
        coming = view.next
        left = coming.total - coming.done if coming else 0
        kept = self.recorder.book.kept
        self._recall()
        return StationView(
            record=view,
            undecided=view.undecided if view.phase in ("idle", "all done", "no rig") else None,
            armed_by=self._armed_by if view.phase in ("armed", "recording") else "",
            news=view.messages[min(self._told, len(view.messages)) :][-4:],
            ports=self._ports,
            simulated=self._rig is not None,
            left_s=_plan_left_s(self.campaign, list(kept.values()), left),
            short=self._short,
            recent=self._recent(),
            unkept=self._unkept,
            starting=self._is_starting,
        )

    def _recall(self) -> None:
        """The verdict of one more of the latest runs that were made before; between runs, one at a look."""
        if self._phase in ("armed", "recording", "keeping"):
            return
        unknown = (run for run in reversed(self._latest()) if run.row.run not in self._verdicts)
        run = next(unknown, None)
        if run is not None:
            with contextlib.suppress(
                StrikeproofError
            ):  # on a full disk, say; it is tried again at the next look
                self._verdicts[run.row.run] = self.recorder.book.verdict(run)

    def _latest(self) -> list[StoredRun]:
        kept = self.recorder.book.kept.values()
        return sorted(kept, key=lambda run: (run.row.started or "", run.ordinal))[-_LATEST:]

    def _mind_a_loss(self, view: RecordView) -> None:
        """A run that was armed and ended without a verdict was not saved; the newest message says why.

        It may have begun and failed between two looks.
        """
        if self._due is None or view.phase in ("armed", "recording", "keeping"):
            return
        if view.last is self._due[0] and len(view.messages) and view.messages[-1] is not self._due[1]:
            self._unkept = view.messages[-1]
        self._due = None

    def _recent(self) -> tuple[RecentRun, ...]:
        return tuple(
            RecentRun(run.row_now, self._verdicts.get(run.row.run)) for run in reversed(self._latest())
        )

    def _look_around(self, view: RecordView) -> None:
        """Ports and room on the disk, now and then."""
        if time.monotonic() - self._looked_at < _LOOK_AROUND_S:
            return
        self._looked_at = time.monotonic()
        self._renew()
        line = view.line
        if line.port is None:
            self._ports = list_ports()
        place = campaign_place(self._workspace, self.campaign.name)
        self._short = _disk_shortage(place, self.campaign, line.rate_hz)

    def _renew(self) -> None:
        """A limit changed in the plan is shown before it is armed; arming says what cannot be read."""
        before = self.campaign
        with contextlib.suppress(StrikeproofError):
            self.recorder.renew()
        if self.campaign is not before:
            self._verdicts.clear()

    def picture(self, most: int) -> LiveChart:
        """The live trace in at most so many points; after a run, that run until the next is armed."""
        chart = self.recorder.chart()
        shown = self.recorder.last_chart
        if chart.run is None and shown is not None and self._phase != "armed":
            chart = shown
        return thin(chart, most)


def thin(chart: LiveChart, most: int) -> LiveChart:
    """A chart of at most so many stretches of time; the extremes stay."""
    whole = -(-len(chart.time) // max(most, 1))
    if whole <= 1:
        return chart
    starts = np.arange(0, len(chart.time), whole)
    low, high = np.minimum.reduceat(chart.low, starts), np.maximum.reduceat(chart.high, starts)
    return replace(chart, time=chart.time[starts], low=low, high=high)


_HANDLING_S = 45.0  # common practice, no source: change the article, arm
_ONE_SITTING_S = 1800.0  # a longer pause is a break, not a run
_FEWEST = 3
_LATEST_END = 12
_SPARE_BYTES = 64 << 20  # for the store and everybody else
_QUIET_S = 10.0  # recorded around the timed window at most


def _plan_left_s(campaign: Campaign, kept: Collection[StoredRun], left: int) -> float:
    """Time that so many runs take, as the latest ones did, or as the protocol asks. [s]"""
    protocol = campaign.protocol
    at_least = protocol.duration_s + (protocol.cool_down_s or 0.0)
    starts = [parse_started(run.row.started or "") for run in kept]
    stamps = sorted(each.timestamp() for each in starts if each is not None)[-_LATEST_END:]
    gaps = np.diff(stamps)
    gaps = gaps[gaps < _ONE_SITTING_S]
    if gaps.size >= _FEWEST:
        return left * max(float(np.median(gaps)), at_least)
    return left * (at_least + _HANDLING_S)


def _disk_shortage(
    folder: Path, campaign: Campaign, rate_hz: float | None, channels: int = 1
) -> tuple[int, int] | None:
    """Bytes that are free and bytes that a run takes, where these do not fit; else None."""
    seconds = campaign.protocol.duration_s + _QUIET_S
    run = int(8 * (1 + channels) * (rate_hz or 0.0) * seconds)
    needed = 2 * run + _SPARE_BYTES  # a recording is stored twice: in the folder and among the originals
    free = shutil.disk_usage(folder).free
    return (free, needed) if free < needed else None
