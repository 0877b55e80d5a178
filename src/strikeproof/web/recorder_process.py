"""The recorder's own process: it owns the port and the disk, and talks to the server by one pipe.

Nothing that the server or a browser does can hold it up. When the server is gone it ends at once, as if the
power had failed: what was recorded is on disk, and the next recorder finds it. There is no second way.
"""

from __future__ import annotations

import os
import signal
import time
from collections.abc import Callable
from dataclasses import dataclass
from multiprocessing.connection import Connection
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

from strikeproof.desk.recording.thread import print_mistake
from strikeproof.desk.recording.views import Band, LiveChart
from strikeproof.errors import InUse, StrikeproofError
from strikeproof.web.trace_chart import pack

if TYPE_CHECKING:
    from strikeproof.desk.recording.station import Station

__all__ = ["CLOSE", "Frame", "run_recorder"]

CLOSE = "close"

_TICK_S = 0.01
_CHART_S = 0.05  # twenty frames a second while a run is recorded
_CALM_CHART_S = 0.2
_LOOK_S = 0.1
_CALM_LOOK_S = 0.25
_POINTS = 600
Seen = TypeVar("Seen")
_TRIES = 12  # a recorder whose server was killed closes within milliseconds
_BETWEEN_TRIES_S = 0.25


@dataclass(frozen=True, slots=True)
class Frame:
    """One picture of the live trace, packed for the browser, and what its axes need."""

    data: bytes
    run: str | None
    unit: str
    duration_s: float
    band: Band | None
    allowed: float | None


def run_recorder(pipe: Connection, workspace: Path, campaign: str | None, any_port: bool = False) -> None:
    """Record until asked to close, or until the server is gone; see `Station` for what is given."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # Ctrl-C is the server's to answer
    signal.signal(signal.SIGTERM, signal.SIG_IGN)
    try:
        station = _open(workspace, campaign, any_port)
    except StrikeproofError as error:
        pipe.send(("failed", error))
        return
    try:
        _attend(pipe, station)
    except (EOFError, OSError):
        os._exit(1)
    station.close()


def _open(workspace: Path, campaign: str | None, any_port: bool = False) -> Station:
    from strikeproof.desk.recording.station import Station  # the server's own process does without it

    for _ in range(_TRIES):
        try:
            return Station(workspace, campaign, any_port=any_port)
        except InUse:
            time.sleep(_BETWEEN_TRIES_S)
    return Station(workspace, campaign, any_port=any_port)


def _attend(pipe: Connection, station: Station) -> None:
    """Do what is asked and report what is seen, in turn, until asked to close."""
    look_at = draw_at = 0.0
    calm = True
    while True:
        pressed = False
        while pipe.poll(0.0 if pressed else _TICK_S):
            message = pipe.recv()
            if message == CLOSE:
                return
            _do(pipe, station, *message)
            pressed = True
        now = time.monotonic()
        if pressed or now >= look_at:
            look_at = now + (_CALM_LOOK_S if calm else _LOOK_S)
            view = _see(station, station.look)
            if view is not None:
                calm = view.record.phase != "recording"
                pipe.send(("view", view))
        if now >= draw_at:
            draw_at = max(draw_at + (_CALM_CHART_S if calm else _CHART_S), now)
            frame = _see(station, lambda: _frame(station.picture(_POINTS)))
            if frame is not None:
                pipe.send(("frame", frame))


def _see(station: Station, look: Callable[[], Seen]) -> Seen | None:
    """What is seen, None where that fails: a full disk or a mistake of ours must not end the recording.

    A screen that is shown nothing any more says so by itself.
    """
    try:
        return look()
    except Exception as error:
        message = f"the screens cannot be updated: {type(error).__name__}: {error}"
        if station.heed(message):
            print_mistake()
        return None


def _do(pipe: Connection, station: Station, ticket: int, name: str, given: tuple[Any, ...]) -> None:
    """Do one thing. A mistake of ours is shown for what it is, and does not end what is being recorded."""
    told: StrikeproofError | None = None
    try:
        station.do(name, *given)
    except StrikeproofError as error:
        told = error
    except Exception as error:
        print_mistake()
        told = StrikeproofError(
            f"the program has a mistake: {name} failed with {type(error).__name__}: {error}",
            "report it with what the server's window says",
        )
    pipe.send(("done", (ticket, told)))


def _frame(chart: LiveChart) -> Frame:
    data = pack(chart.time, chart.low, chart.high)
    return Frame(data, chart.run, chart.unit, chart.duration_s, chart.band, chart.allowed)
