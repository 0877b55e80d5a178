"""One steady time for the samples of a rig, from its own clock where it has one, else from their arrival."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from strikeproof.capture.received import Dialect, LineFlag, Received, join_received, merge_line_flags
from strikeproof.language import say, write_figures
from strikeproof.quantity import FloatArray

__all__ = ["Placed", "RigClock"]

_SETTLE_S = 1.0
_FEWEST_TO_SETTLE = 5
_LONGEST_GAP_S = 1.0  # a longer one must show in the arrival too, else the rig's clock has jumped
_SILENCE_S = 0.5
_STEPS_S = (1e-7, 100.0)  # of any clock that goes with samples
_MOST_TICKS = 1e12  # between two samples, of any clock
_STILL_S = 5.0  # stamps that do not move for so long are none
_TICKS = {1.0: "seconds", 1e-3: "milliseconds", 1e-6: "microseconds"}


@dataclass(frozen=True, slots=True, eq=False)
class Placed:
    """Samples with their time (n,) [s], values (n, channels), and what was odd, by number in the stream."""

    first: int
    time: FloatArray
    values: FloatArray
    line_flags: tuple[LineFlag, ...] = ()

    def pieces(self, seconds: float) -> Iterator[Placed]:
        """The same in pieces no longer than that, so that a backlog is seen as if it came in time. [s]"""
        if not len(self.time):
            return
        last = len(self.time)
        cuts = np.flatnonzero(np.diff(np.floor(self.time / seconds))) + 1
        for begin, end in zip([0, *cuts.tolist()], [*cuts.tolist(), last], strict=True):
            first = self.first + begin
            odd = tuple(
                each
                for each in self.line_flags
                if (each.at < self.first + end or end == last) and (each.at >= first or begin == 0)
            )
            yield Placed(first, self.time[begin:end], self.values[begin:end], odd)


class RigClock:
    """Places samples in time, from `base` on; samples are held back until a step of the clock is known.

    Parameters
    ----------
    rate_hz
        Of a rig without a clock, where it is known; else it is counted on arrival. [Hz]
    base
        Time of the first sample. [s]
    """

    def __init__(self, rate_hz: float | None = None, base: float = 0.0) -> None:
        self.given_rate_hz = rate_hz
        self.last = base
        self._held: list[tuple[Received, float]] = []
        self._step_s: float | None = None
        self._tick_s: float | None = None
        self._step: float | None = None
        self._longest_s = float("inf")
        self._tick: float | None = None
        self._has_ticks = True
        self._arrival: float | None = None
        self._counted = (0, 0.0)

    @property
    def rate_hz(self) -> float | None:
        """Samples a second, once known. [Hz]"""
        return None if self._step_s is None else 1.0 / self._step_s

    def place(self, received: Received, dialect: Dialect, arrival: float) -> Placed:
        """Samples that arrived at an instant, with those held back before them."""
        if not self._has_ticks:
            received = replace(received, ticks=None)
        if self._step_s is None:
            self._held.append((received, arrival))
            assumed = self._settle(dialect)
            if self._step_s is None:
                return replace(_nothing(received), line_flags=tuple(assumed))
            received = join_received([each for each, _ in self._held])
            received = replace(received, line_flags=(*assumed, *received.line_flags))
            self._held = []
        if not len(received.values):
            return Placed(received.first, np.empty(0), received.values, received.line_flags)
        placed = (
            self._by_ticks(received, arrival)
            if received.ticks is not None
            else self._by_count(received, arrival)
        )
        self.last, self._arrival = float(placed.time[-1]), arrival
        return placed

    def _settle(self, dialect: Dialect) -> list[LineFlag]:
        """Find the step of the clock, and what had to be assumed for it."""
        if dialect.tick_s is not None and dialect.rate_hz is not None:
            self._tick_s, self._step, self._step_s = dialect.tick_s, 1.0, dialect.tick_s
            self._longest_s = 1.5 * dialect.tick_s
            return []
        filled = [(received, at) for received, at in self._held if len(received.values)]
        count = sum(len(received.values) for received, _ in filled)
        waited = filled[-1][1] - filled[0][1] if filled else 0.0
        if dialect.has_ticks and self._has_ticks:
            return self._settle_ticks(
                dialect, join_received([each for each, _ in filled]) if filled else None, waited
            )
        if self.given_rate_hz is not None:
            self._step_s = 1.0 / self.given_rate_hz
            return []
        if waited < _SETTLE_S or count < _FEWEST_TO_SETTLE:
            return []
        later = count - len(filled[0][0].values)
        self._step_s = waited / max(later, 1)
        self._counted = (later, waited)
        detail = say(
            "the rig sends no time: {rate} samples a second were counted on arrival",
            rate=write_figures(f"{1 / self._step_s:.4g}"),
        )
        return [LineFlag("assumed", filled[0][0].first, 1, detail)]

    def _settle_ticks(self, dialect: Dialect, received: Received | None, waited: float) -> list[LineFlag]:
        if received is None or received.ticks is None or len(received.ticks) < _FEWEST_TO_SETTLE:
            return []
        with np.errstate(over="ignore"):
            steps = np.diff(received.ticks)
        forward = steps[(steps > 0) & (steps < _MOST_TICKS)]
        if not forward.size:
            is_none = waited > _STILL_S or bool((steps > 0).any())
            return self._go_without(received.first) if is_none else []
        if dialect.tick_s is None and waited < _SETTLE_S:
            return []
        told = dialect.tick_s
        span = float(forward[forward <= 10 * np.median(forward)].sum())
        factor = told or min(_TICKS, key=lambda each: abs(np.log(each * span / waited)))
        self._tick_s = factor
        self._step = max(float(np.median(forward)) * forward.size / steps.size, 1e-12)
        step_s = self._step * factor
        if not _STEPS_S[0] <= step_s <= _STEPS_S[1]:
            return self._go_without(received.first)
        self._step_s = step_s
        self._longest_s = 2.5 * float(np.median(forward)) * factor
        if told:
            return []
        detail = say(
            "the rig's time stamps have no unit and are read as {unit}, by their arrival",
            unit=_TICKS[factor],
        )
        return [LineFlag("assumed", received.first, 1, detail)]

    def _go_without(self, first: int) -> list[LineFlag]:
        """Stamps that no clock makes are left alone; from now on samples are counted on arrival."""
        self._has_ticks = False
        self._held = [(replace(each, ticks=None), at) for each, at in self._held]
        return [LineFlag("assumed", first, 1, say("the rig's time stamps make no sense and are not used"))]

    def _by_count(self, received: Received, arrival: float) -> Placed:
        step = self._step_s or 1.0
        line_flags = received.line_flags
        begin = self.last
        if self._arrival is not None:
            waited, count = arrival - self._arrival, len(received.values)
            silent = waited - count * step
            if silent > max(_SILENCE_S, 5 * step):
                detail = say("nothing came for {silent} s", silent=write_figures(f"{silent:.2f}"))
                line_flags = (
                    *line_flags,
                    LineFlag("gap", received.first, max(int(silent / step), 1), detail),
                )
                begin += silent
            elif self.given_rate_hz is None:
                self._counted = (self._counted[0] + count, self._counted[1] + waited)
                step = self._step_s = self._counted[1] / max(self._counted[0], 1)
        offset = 1 if self._arrival is not None else 0
        time = begin + step * (np.arange(len(received.values)) + offset)
        return Placed(received.first, np.asarray(time, dtype=np.float64), received.values, line_flags)

    def _by_ticks(self, received: Received, arrival: float) -> Placed:
        ticks = received.ticks if received.ticks is not None else np.empty(0)
        tick_s, step = self._tick_s or 1.0, self._step or 1.0
        before = ticks[0] - step if self._tick is None else self._tick
        start = self.last - self._step_s if self._tick is None and self._step_s else self.last
        with np.errstate(over="ignore", invalid="ignore"):
            moves = np.diff(ticks, prepend=before) * tick_s
        waited = 0.0 if self._arrival is None else arrival - self._arrival
        line_flags = list(received.line_flags)
        late = np.flatnonzero(~((moves >= 0) & (moves <= self._longest_s)))
        for place in late:
            number, move = received.first + int(place), float(moves[place])
            if not move >= 0 or (move > _LONGEST_GAP_S and waited < 0.5 * move):
                detail = say(
                    "the rig's clock jumped by {move} s; its times go on without the jump",
                    move=write_figures(f"{move:+.6g}"),
                )
                line_flags.append(LineFlag("clock-jump", number, 1, detail))
                moves[place] = waited if waited > _SILENCE_S else step * tick_s
            elif number not in received.breaks:
                lost = max(round(move / (step * tick_s)) - 1, 1)
                line_flags.append(
                    LineFlag(
                        "gap",
                        number,
                        lost,
                        say("samples are missing for {move} s", move=write_figures(f"{move:.4g}")),
                    )
                )
        self._tick = float(ticks[-1])
        time: FloatArray = start + np.cumsum(moves)
        return Placed(received.first, time, received.values, merge_line_flags(line_flags))


def _nothing(received: Received) -> Placed:
    return Placed(received.first, np.empty(0), np.empty((0, received.values.shape[1])))
