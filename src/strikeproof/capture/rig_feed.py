"""From what arrives on a port to samples on one time line, over unplugging and plugging in again."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from strikeproof.capture.heard import Dialect, Heard, Oddity
from strikeproof.capture.rig_clock import Placed, RigClock
from strikeproof.capture.rig_parser import RigParser
from strikeproof.capture.rig_port import Arrived

__all__ = ["RigFeed"]


class RigFeed:
    """Samples numbered and timed from the first one on; what arrives is told to it, it asks no clock.

    A line that was unplugged begins anew: its protocol is told again, and its time goes on by the wait. One
    that comes back with other channels keeps those it had; what is missing has no value.

    Attributes
    ----------
    is_simulated
        Whether the rig has said that its readings are simulated.
    """

    def __init__(self, rate_hz: float | None = None) -> None:
        self._rate_hz = rate_hz
        self._parser = RigParser()
        self._clock = RigClock(rate_hz)
        self._dialect: Dialect | None = None
        self._count = 0
        self._skew = 0
        self._last_at: float | None = None
        self._pending: list[Oddity] = []
        self.is_simulated = False

    @property
    def dialect(self) -> Dialect | None:
        """How the rig spoke first, None until that is known; the channels stay those."""
        return self._dialect

    @property
    def rate_hz(self) -> float | None:
        """Samples a second, once known. [Hz]"""
        return self._clock.rate_hz

    @property
    def is_lost(self) -> bool:
        """Whether much has come and no protocol was told."""
        return self._parser.unknown_bytes > 8192

    def hear(self, arrived: Arrived) -> Placed:
        """The samples that this adds."""
        if arrived.news:
            self._take_news(arrived)
            return self._empty()
        heard = self._parser.feed(arrived.data)
        self.is_simulated |= self._parser.is_simulated
        spoken = self._parser.dialect
        if spoken is None:
            self._pending += [replace(each, at=self._count) for each in heard.oddities]
            return self._empty()
        if self._dialect is None:
            self._dialect = spoken
        return self._number(self._clock.place(self._fit(heard), spoken, arrived.at), arrived.at)

    def _number(self, placed: Placed, at: float) -> Placed:
        """With the numbers of the whole time line in place of those since the line was plugged in."""
        moved = tuple(replace(each, at=each.at + self._skew) for each in placed.oddities)
        first = self._count
        if len(placed.time):
            moved, self._pending = (*self._pending, *moved), []
            self._count += len(placed.time)
            self._last_at = at
        elif moved:
            self._pending += moved
            moved = ()
        return Placed(first, placed.time, placed.values, moved)

    def _fit(self, heard: Heard) -> Heard:
        width = len(self._dialect.names) if self._dialect else heard.values.shape[1]
        lacking = width - heard.values.shape[1]
        if not lacking:
            return heard
        values = np.pad(heard.values, ((0, 0), (0, max(lacking, 0))), constant_values=np.nan)[:, :width]
        return replace(heard, values=values)

    def _take_news(self, arrived: Arrived) -> None:
        if arrived.news == "unplugged":
            self._pending.append(Oddity("unplugged", self._count, 1, "the rig's line was unplugged"))
        elif arrived.news == "overrun":
            self._pending.append(Oddity("gap", self._count, 1, arrived.detail))
        if arrived.news in ("unplugged", "overrun") or self._last_at is None:
            return
        self._begin_anew(arrived.at)

    def start_again(self, at: float, detail: str) -> Placed:
        """Read on as after unplugging, for what came could not be read; `detail` says why."""
        self._pending.append(Oddity("garbage", self._count, 1, detail))
        self._begin_anew(at)
        return self._empty()

    def _begin_anew(self, at: float) -> None:
        waited = 0.0 if self._last_at is None else at - self._last_at
        self._parser = RigParser()
        self._clock = RigClock(self._rate_hz, self._clock.last + waited)
        self._skew = self._count

    def _empty(self) -> Placed:
        width = len(self._dialect.names) if self._dialect else 1
        return Placed(self._count, np.empty(0), np.empty((0, width)))
