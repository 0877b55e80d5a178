"""The server's end of the recorder: one process, any number of screens, and what each is shown.

Screens press by meaning ("arm", never "the button"), so that two that press at once do no harm. A screen on
a slow line gets fewer pictures; it never holds up another, and never the recording.
"""

from __future__ import annotations

import asyncio
import contextlib
import multiprocessing as mp
import threading
from collections.abc import Callable, Coroutine, Mapping
from dataclasses import dataclass, field
from multiprocessing.connection import Connection
from pathlib import Path
from typing import Any, Literal

from strikeproof.desk.recording.views import StationView
from strikeproof.errors import StrikeproofError
from strikeproof.web.recorder_process import CLOSE, Frame, run_recorder

__all__ = ["RecorderHub", "Screen", "State"]

State = Literal["off", "starting", "on", "failed", "gone"]
"""off: none was started; failed: it could not open the campaign; gone: its process ended by itself."""

_SPAWN = mp.get_context("spawn")
_MOST_SCREENS = 32
_PATIENCE_S = 8.0
_IDLE_S = 30.0  # with no page open and no rig connected, the campaign is closed
_IDLE_WITH_RIG_S = 600.0  # a tablet may sleep through a cool-down
_HUNG_S = 30.0  # it speaks four times a second; saving and judging a long run takes seconds
_BUSY = ("armed", "recording", "keeping")


@dataclass(eq=False, slots=True)
class Screen:
    """One open page; `wake` is set when there is something new to show it."""

    name: str
    campaign: str
    looks_only: bool = False
    wake: asyncio.Event = field(default_factory=asyncio.Event)
    refusals: list[StrikeproofError] = field(default_factory=list)
    frame: Frame | None = None
    state_is_new: bool = True


Predict = Callable[[str], Coroutine[Any, Any, Mapping[tuple[str, str], str]]]
"""Gives the overloads of a campaign's bolt that are predicted, by tool and article, from another process."""


class RecorderHub:
    """The one recorder of a server; everything here is called on the server's loop."""

    def __init__(self, workspace: Path, *, any_port: bool = False, predict: Predict | None = None) -> None:
        self.expected: Mapping[tuple[str, str], str] = {}
        self._predict_with = predict
        self._predicting: asyncio.Task[None] | None = None  # referred to, so that it is not collected
        self.workspace = workspace
        self.any_port = any_port
        self.state: State = "off"
        self.campaign: str | None = None
        self.view: StationView | None = None
        self.error: StrikeproofError | None = None
        self.screens: dict[str, Screen] = {}
        self._pipe: Connection | None = None
        self._process: Any = None
        self._loop: asyncio.AbstractEventLoop | None = None
        self._tickets: dict[int, Callable[[StrikeproofError | None], None]] = {}
        self._count = 0
        self._started = 0
        self._idle: asyncio.TimerHandle | None = None
        self._ending: asyncio.Future[None] | None = None  # referred to, so that it is not collected

    # screens -------------------------------------------------------------------------------

    def join(self, screen: Screen) -> None:
        """A page opened; the first one starts the recorder of its campaign."""
        while len(self.screens) >= _MOST_SCREENS:
            self.screens.pop(next(iter(self.screens)))
        self.screens[screen.name] = screen
        self._mind_idleness()
        if self.state in ("off", "failed") and not screen.looks_only:
            self.start(screen.campaign)
        self._tell()

    def leave(self, screen: Screen) -> None:
        """A page closed; the recording goes on, and a recorder that nobody needs ends after a while."""
        self.screens.pop(screen.name, None)
        self._mind_idleness()
        self._tell()

    def _mind_idleness(self) -> None:
        if self._idle is not None:
            self._idle.cancel()
            self._idle = None
        if not self.screens and self.state in ("starting", "on"):
            has_rig = self.view is not None and self.view.record.line.port is not None
            wait = _IDLE_WITH_RIG_S if has_rig else _IDLE_S
            self._idle = asyncio.get_running_loop().call_later(wait, self._let_go)

    def _let_go(self) -> None:
        if self.is_busy or self.state == "starting":
            self._mind_idleness()
        else:
            self._ending = asyncio.ensure_future(self.close())

    @property
    def is_busy(self) -> bool:
        """Whether a run is armed, recorded or being saved."""
        return self.view is not None and self.view.record.phase in _BUSY

    def _tell(self) -> None:
        for screen in self.screens.values():
            screen.state_is_new = True
            screen.wake.set()

    # the process ---------------------------------------------------------------------------

    def start(self, campaign: str) -> None:
        """Start the recorder of a campaign, in place of one that has failed or gone."""
        if self.state in ("starting", "on"):
            return
        self.state, self.campaign, self.view, self.error = "starting", campaign, None, None
        self._loop = asyncio.get_running_loop()
        self._started += 1
        if self._predict_with is not None:
            self._predicting = asyncio.ensure_future(self._predict(self._predict_with, campaign))
        given = (campaign, self._started)
        threading.Thread(target=self._run, args=given, name="recorder pipe", daemon=True).start()
        self._tell()

    async def _predict(self, predict: Predict, campaign: str) -> None:
        """Know which runs are expected to overload their bolt; the limit watches without that too."""
        self.expected = {}
        with contextlib.suppress(StrikeproofError):
            found = await predict(campaign)
            if campaign == self.campaign:
                self.expected = found
                self._tell()

    def _run(self, campaign: str, number: int) -> None:
        """In a thread of its own: start the process and read from it until it ends."""
        near, far = _SPAWN.Pipe()
        process = _SPAWN.Process(
            target=run_recorder,
            args=(far, self.workspace, campaign, self.any_port),
            name="strikeproof-recorder",
        )
        process.start()
        far.close()
        self._pipe, self._process = near, process
        self._hear_out(near, process, number)
        near.close()
        process.join(_PATIENCE_S)
        self._post(self._ended, number)

    def _hear_out(self, near: Connection, process: Any, number: int) -> None:
        """All that the process says, until it ends; one that has spoken and then hangs is ended."""
        patience: float | None = None  # it may take its time to start
        with contextlib.suppress(EOFError, OSError):
            while near.poll(patience):
                patience = _HUNG_S
                kind, value = near.recv()
                self._post(self._hear, number, kind, value)
            process.kill()

    def _post(self, call: Callable[..., None], *given: Any) -> None:
        if self._loop is not None:
            with contextlib.suppress(RuntimeError):  # the loop has ended
                self._loop.call_soon_threadsafe(call, *given)

    def _hear(self, number: int, kind: str, value: Any) -> None:
        if number != self._started:
            return  # of one that was ended before
        if kind == "view" and self.state == "off":
            return  # said before it knew that it is to end
        if kind == "frame":
            for screen in self.screens.values():
                screen.frame = value
                screen.wake.set()
        elif kind == "view":
            self.state, self.view = "on", value
            self._tell()
        elif kind == "failed":
            self.state, self.error = "failed", value
            self._tell()
        else:
            ticket, error = value
            done = self._tickets.pop(ticket, None)
            if done is not None:
                done(error)

    def _ended(self, number: int) -> None:
        """The process is no more: asked to, failed, or by itself."""
        if number != self._started:
            return
        self._pipe = self._process = None
        if self.state != "failed":
            self.state = "off" if self.state == "off" else "gone"
        self.view = None
        self._tickets.clear()
        self._tell()

    # what is pressed -----------------------------------------------------------------------

    def press(self, screen: Screen, name: str, given: list[Any]) -> None:
        """Pass on what a screen pressed; what cannot be done is reported to that screen."""
        if name == "arm":
            given = [screen.name]

        def done(error: StrikeproofError | None) -> None:
            if error is not None:
                screen.refusals.append(error)
            screen.wake.set()

        if self._pipe is None or self.state != "on":
            return done(StrikeproofError("the recorder does not run", "start it again"))
        self._count += 1
        self._tickets[self._count] = done
        try:
            self._pipe.send((self._count, name, tuple(given)))
        except OSError:
            done(StrikeproofError("the recorder has ended", "start it again"))
        return None

    async def switch(self, screen: Screen) -> None:
        """Close the other campaign and record the screen's own; refused in mid-run."""
        if not self._refuse_in_mid_run(screen):
            await self.close()
            self.start(screen.campaign)

    async def end(self, screen: Screen) -> None:
        """End the recording: rig, sheet and folder are free for others; refused in mid-run."""
        if not self._refuse_in_mid_run(screen):
            await self.close()
            self._tell()

    def _refuse_in_mid_run(self, screen: Screen) -> bool:
        if self.is_busy:
            fix = "call off the run, or wait until it has ended"
            screen.refusals.append(StrikeproofError(f"{self.campaign} is being recorded", fix))
            screen.wake.set()
        return self.is_busy

    async def close(self) -> None:
        """End the recorder; a run that is being recorded ends there and is stored."""
        process, pipe = self._process, self._pipe
        self.state = "off"
        if process is None or pipe is None:
            return
        with contextlib.suppress(OSError):
            pipe.send(CLOSE)
        await asyncio.to_thread(process.join, _PATIENCE_S)
        if process.is_alive():
            process.kill()
            await asyncio.to_thread(process.join)
