"""The live rig as the recorder needs it: the judged channel, its last seconds raw, the run so far."""

from __future__ import annotations

import math
from collections import deque
from collections.abc import Callable, Iterator

import numpy as np

from strikeproof.campaign.records import Campaign
from strikeproof.capture import pick_name
from strikeproof.capture.buckets import Buckets, Envelope
from strikeproof.capture.held_start import EARLIEST_S
from strikeproof.capture.log import BETWEEN
from strikeproof.capture.rig_clock import Placed
from strikeproof.capture.rig_feed import RigFeed
from strikeproof.capture.rig_port import Arrived, RigPort
from strikeproof.capture.watch import BLOCK_S, RunWatch
from strikeproof.desk.calibrating.worth import Worth
from strikeproof.desk.recording.remaining import OpenRun
from strikeproof.desk.recording.thread import print_mistake
from strikeproof.desk.recording.views import Band, LineView, LiveChart, LiveScore
from strikeproof.desk.safety.bolt_limit import SETTLED, BoltLimit, find_limit, highest_level
from strikeproof.desk.safety.own_zero import LOADED_SHARE, level_at
from strikeproof.errors import BadFile, BadInput
from strikeproof.language import say, write_figures
from strikeproof.quantity import FloatArray, unit_ratio

__all__ = ["LiveRig", "live_chart", "live_score"]

_BEFORE_S = 2.1  # saved raw for the zero of a run; what shows the start, and no older load on the bolt
_SLOW_S = 6.0  # at most, until a slow start is seen
_HELD_S = EARLIEST_S + 1.0  # the same on a line so slow that it is seen once the load is held
_SLOW_LINE_HZ = 200.0


class LiveRig:
    """One rig on a port, from plugging in to the end; it survives unplugging.

    Raises
    ------
    PortError
        If the port cannot be opened.
    """

    def __init__(self, campaign: Campaign, port: str, baud: int, clock: Callable[[], float]) -> None:
        self._campaign = campaign
        self._clock = clock
        self.address = (port, baud)
        self._port = RigPort(port, baud, clock)
        self._feed = RigFeed(campaign.rig.sample_rate_hz)
        self.buckets = Buckets()
        self._before: deque[Placed] = deque()
        self.now = 0.0
        self.heard_at = clock()
        self.channel = 0
        self.channels: tuple[tuple[str, str | None], ...] = ()
        self.factor = 1.0
        self.zero = 0.0  # the cell's own, in the campaign's unit
        self.zero_is_said = False  # by a person, at this rig since it was connected
        self.trouble = ""

    def take(self) -> Iterator[Placed]:
        """What arrived since the last call, in short pieces, each in the buckets when it is given."""
        for arrived in self._port.take():
            placed = self._hear(arrived)
            if self._feed.dialect is not None and not self.channels:
                self._meet()
            for piece in placed.pieces(BLOCK_S):
                self.heard_at = arrived.at
                self.now = float(piece.time[-1])
                self.buckets.add(piece.time, piece.values[:, self.channel])
                self._remember(piece)
                yield piece

    def _hear(self, arrived: Arrived) -> Placed:
        """A mistake of the reader costs what it could not read, not the run."""
        try:
            return self._feed.hear(arrived)
        except Exception as bug:
            print_mistake()
            why = f"{type(bug).__name__}: {bug}"
            return self._feed.start_again(
                arrived.at, say("what came could not be read ({why}); reading goes on", why=why)
            )

    def _meet(self) -> None:
        """Which of the rig's channels is judged, and what its unit is worth in the campaign's."""
        dialect, wanted = self._feed.dialect, self._campaign.rig.channel
        if dialect is None:
            return
        names = list(dialect.names)
        if len(names) == 1 and wanted is not None:
            names = [wanted.split(BETWEEN)[0].strip()]
        self.channels = tuple(zip(names, dialect.units, strict=True))
        try:
            self.channel = names.index(pick_name(names, wanted, self._port.name))
            self.factor = _factor(dialect.units[self.channel], self._campaign.rig.unit)
        except (BadFile, BadInput) as wrong:
            self.trouble = str(wrong)

    def _remember(self, placed: Placed) -> None:
        self._before.append(placed)
        rate = self._feed.rate_hz
        back = _HELD_S if rate is not None and rate < _SLOW_LINE_HZ else _SLOW_S
        while len(self._before) > 1 and self._before[1].time[0] < self.now - _BEFORE_S - back:
            self._before.popleft()

    def before(self, began: float, loaded_until: float) -> list[Placed]:
        """The raw readings since two seconds before a run that began then, and of no older load. [s]"""
        since = max(min(self.now, began + 0.2) - _BEFORE_S, loaded_until + BLOCK_S)
        kept = list(self._before)
        while len(kept) > 1 and kept[1].time[0] < since:
            del kept[0]
        return kept

    @property
    def is_ready(self) -> bool:
        """Whether the rig is understood and speaks now."""
        return bool(self.channels) and not self.trouble and self._port.is_plugged and self.silent_s < 2.0

    @property
    def silent_s(self) -> float:
        """How long nothing came. [s]"""
        return max(0.0, self._clock() - self.heard_at)

    def say(self, text: str) -> None:
        """A line to the rig, which it may ignore."""
        self._port.say(text)

    def view(self) -> LineView:
        """The line's state, with what is wrong in words."""
        dialect, port = self._feed.dialect, self._port
        trouble = self.trouble
        if not port.is_plugged:
            trouble = say("{name} is not there: plug the rig in", name=port.name)
        elif self._feed.is_lost:
            trouble = say(
                "what comes from the rig is neither lines of numbers nor frames: check the baud rate"
            )
        elif not trouble and self.silent_s >= 2.0:
            trouble = say(
                "nothing has come from the rig for {silent_s} s",
                silent_s=write_figures(f"{self.silent_s:.0f}"),
            )
        rate = self._feed.rate_hz
        return LineView(
            port.name,
            port.is_plugged,
            dialect.words if dialect else None,
            None if rate is None or not math.isfinite(rate) else rate,
            self.silent_s,
            trouble,
            self.is_simulated,
        )

    @property
    def is_simulated(self) -> bool:
        """Whether the rig has said that its readings are simulated."""
        return self._feed.is_simulated

    @property
    def rate_hz(self) -> float | None:
        """Readings a second, None until that is known."""
        return self._feed.rate_hz

    @property
    def words(self) -> str:
        """How the rig speaks."""
        return self._feed.dialect.words if self._feed.dialect else ""

    def close(self) -> None:
        """Close the port."""
        self._port.close()


def _factor(written: str | None, unit: str) -> float:
    """What to multiply the rig's numbers by to have them in the campaign's unit; 1 where it names none."""
    try:
        return unit_ratio(written, unit) if written else 1.0
    except BadInput as wrong:
        raise BadInput(
            say("the rig speaks in {written}, the campaign's unit is {unit}", written=written, unit=unit),
            where="rig.unit",
            allowed=wrong.allowed,
            fix=say("correct rig.unit in campaign.toml"),
        ) from wrong


def _net(campaign: Campaign, worth: Worth, rig: LiveRig, zero: float, reading: FloatArray) -> FloatArray:
    """Readings net of zero, positive in the campaign's direction, in the rig's unit."""
    sign = 1.0 if campaign.protocol.direction == "tighten" else -1.0
    return np.asarray(sign * rig.factor * worth.nets(reading, zero))


def live_score(
    campaign: Campaign,
    worth: Worth,
    level_reading: float | None,
    run: OpenRun,
    watch: RunWatch,
    rig: LiveRig,
) -> LiveScore:
    """Level and score so far; the final score is found in the whole trace."""
    began, zero = watch.began or 0.0, watch.calm.zero if watch.calm else 0.0
    shown = rig.buckets.since(began)
    net = _net(campaign, worth, rig, zero, shown.mean)
    since, levels = shown.time - began, worth.levels(net)
    score, unit = _score(campaign, worth, level_reading, since, net)
    limit = find_limit(campaign, worth)
    carried = worth.levels(worth.nets(rig.factor * shown.mean, rig.zero))
    if limit.loosens:
        before = float(worth.nets(rig.factor * zero, rig.zero))
        highest = _risen(limit, worth, carried, before)
    else:
        highest = highest_level(np.maximum(levels, carried))
    return LiveScore(
        run=run.run,
        elapsed_s=max(rig.now - began, 0.0),
        duration_s=campaign.protocol.duration_s,
        level=float(np.median(levels[-SETTLED:])) if levels.size else None,
        level_unit=worth.unit,
        score=score,
        score_unit=unit,
        highest=highest,
        allowed=limit.level,
    )


def _risen(limit: BoltLimit, worth: Worth, carried: FloatArray, before: float) -> float | None:
    """The highest load on a bolt that is loosened, where it rose; what was there before ends by going on."""
    highest = highest_level(carried)
    if (
        highest is None
        or limit.level is None
        or highest < level_at(worth, before) + LOADED_SHARE * limit.level
    ):
        return None
    return highest


def _score(
    campaign: Campaign, worth: Worth, level_reading: float | None, since: FloatArray, net: FloatArray
) -> tuple[float | None, str]:
    rule = campaign.protocol.score
    if rule.kind == "time to":
        reached = np.flatnonzero(net >= level_reading) if level_reading is not None else np.empty(0, int)
        return (float(since[reached[0]]) if reached.size else None), "s"
    until = rule.at_s if rule.kind == "at" and rule.at_s is not None else campaign.protocol.duration_s
    inside = net[since <= until]
    if not inside.size or (rule.kind == "at" and since[-1] < until):
        return None, worth.unit
    value = float(inside.max()) if rule.kind == "peak" else float(np.median(inside[-SETTLED:]))
    return float(worth.levels(np.array([value]))[0]), worth.unit


def live_chart(
    campaign: Campaign,
    worth: Worth,
    rig: LiveRig | None,
    watch: RunWatch | None,
    run: OpenRun | None,
    band: Band | None,
    seconds: float,
) -> LiveChart:
    """The run that is recorded, from a second before its first blow, or the last `seconds`."""
    limit = find_limit(campaign, worth)
    allowed = None if limit.loosens else limit.level
    if rig is None or watch is None:
        shown, origin, zero = Envelope.empty(), 0.0, 0.0
    else:
        began = watch.began if run is not None else None
        origin = rig.now if began is None else began
        shown = rig.buckets.since(origin - (seconds if began is None else 1.0))
        zero = watch.calm.zero if watch.calm else float(np.median(shown.mean)) if shown.mean.size else 0.0
        own = rig.zero / rig.factor
        if allowed is not None and began is None:
            zero = own
        elif allowed is not None:
            carried = float(worth.levels(_net(campaign, worth, rig, own, np.array([zero])))[0])
            allowed -= max(carried, 0.0)
    low, high = shown.low, shown.high
    if rig is not None:
        low, high = (worth.levels(_net(campaign, worth, rig, zero, each)) for each in (low, high))
        low, high = np.minimum(low, high), np.maximum(low, high)
    return LiveChart(
        time=shown.time - origin,
        low=low,
        high=high,
        unit=worth.unit,
        run=None if run is None else run.run,
        duration_s=campaign.protocol.duration_s,
        band=band,
        allowed=allowed,
    )
