"""The line between a recording page and the server: a WebSocket with words as JSON and pictures as bytes.

Words go out when they change, and only those that did. A picture goes out once the one before has arrived:
on a slow line pictures are dropped, words are not.
"""

from __future__ import annotations

import asyncio
import json
import secrets
from typing import Any

from starlette.websockets import WebSocket, WebSocketDisconnect

from strikeproof.desk.recording.station_commands import COMMANDS
from strikeproof.desk.recording.views import Band, StationView
from strikeproof.errors import StrikeproofError
from strikeproof.language import retold_all, speaking
from strikeproof.web.language import language_of
from strikeproof.web.looking import looks_only
from strikeproof.web.record_words import error_words, screen_words
from strikeproof.web.recorder import RecorderHub, Screen
from strikeproof.web.recorder_process import Frame
from strikeproof.web.units import Units, units_of

__all__ = ["attend_screen"]

_IN_FLIGHT = 2
_LONGEST_MESSAGE = 40_000  # of a note at its greatest length, however its characters are spelt in JSON
_ARRIVED = "a"


async def attend_screen(wire: WebSocket, hub: RecorderHub, campaign: str, served: str | None = None) -> None:
    """Serve one page until it closes, in its language, or in the one that the server was started with."""
    await wire.accept()
    screen = Screen(secrets.token_hex(8), campaign, looks_only(wire.scope))
    hub.join(screen)
    spoken = language_of(wire.cookies, wire.headers, served)
    line = _Line(wire, hub, screen, units_of(wire.cookies), spoken)
    telling = asyncio.create_task(line.tell())
    try:
        while True:
            await line.hear(await wire.receive_text())
    except (WebSocketDisconnect, RuntimeError, KeyError):  # the last two: closed while it was read
        pass
    finally:
        telling.cancel()
        hub.leave(screen)


class _Line:
    """What one page was sent last, and what is still on its way."""

    def __init__(
        self, wire: WebSocket, hub: RecorderHub, screen: Screen, units: Units, language: str
    ) -> None:
        self._wire, self._hub, self._screen, self._units = wire, hub, screen, units
        self._language = language
        self._told: dict[str, Any] = {}
        self._axes: tuple[Any, ...] = ()
        self._band: Band | None = None
        self._flying = 0

    async def hear(self, text: str) -> None:
        """An arrived picture, or something that was pressed; anything else is not ours and is left alone."""
        if text == _ARRIVED:
            self._flying = max(self._flying - 1, 0)
            self._screen.wake.set()
            return
        if len(text) > _LONGEST_MESSAGE:
            if not self._screen.refusals:  # one answer is enough for however many
                self._screen.refusals.append(StrikeproofError("what was sent is too long", "shorten it"))
            self._screen.wake.set()
            return
        name, given = _pressed(text)
        if name == "start":
            self._hub.start(self._screen.campaign)
        elif name == "switch":
            await self._hub.switch(self._screen)
        elif name == "end":
            await self._hub.end(self._screen)
        elif name in COMMANDS:
            self._hub.press(self._screen, name, given)

    async def tell(self) -> None:
        """Send what is new whenever there is something, until cancelled or closed."""
        screen = self._screen
        try:
            while True:
                await screen.wake.wait()
                screen.wake.clear()
                while screen.refusals:
                    with speaking(self._language):
                        refused = retold_all(error_words(screen.refusals.pop(0)))
                    await self._wire.send_text(json.dumps({"refused": refused}))
                if screen.state_is_new:
                    screen.state_is_new = False
                    await self._send_words()
                if screen.frame is not None and self._flying < _IN_FLIGHT:
                    frame, screen.frame = screen.frame, None
                    await self._send_picture(frame)
        except (WebSocketDisconnect, RuntimeError):
            return

    async def _send_words(self) -> None:
        with speaking(self._language):
            words = retold_all(self._words())
        changed = {key: value for key, value in words.items() if self._told.get(key, ...) != value}
        self._told = words
        if changed:
            await self._wire.send_text(json.dumps(changed))

    def _words(self) -> dict[str, Any]:
        hub = self._hub
        words: dict[str, Any] = {
            "state": hub.state,
            "other": hub.campaign if hub.campaign != self._screen.campaign else "",
            "screens": len(hub.screens),
            "failure": error_words(hub.error) if hub.error is not None else None,
        }
        view: StationView | None = hub.view
        if view is not None and not words["other"]:
            words |= screen_words(view, self._units, self._screen.name, hub.expected)
        return words

    async def _send_picture(self, frame: Frame) -> None:
        if self._words_other():
            return
        factor, label = self._units.scale(frame.unit)
        axes = (frame.run, label, frame.duration_s, factor)
        if axes != self._axes or not _same_band(frame.band, self._band):
            self._axes, self._band = axes, frame.band
            await self._wire.send_text(json.dumps({"axes": _axes_words(frame, label, factor)}))
        self._flying += 1
        await self._wire.send_bytes(frame.data)

    def _words_other(self) -> bool:
        return self._hub.campaign != self._screen.campaign


def _pressed(text: str) -> tuple[str, list[Any]]:
    """What was pressed, with its words; nothing where the message is none of the page's own."""
    try:
        message = json.loads(text)
        name, given = message["do"], message.get("with", [])
    except (ValueError, TypeError, KeyError, AttributeError):
        return "", []
    if not isinstance(name, str) or not isinstance(given, list):
        return "", []
    return name, given


def _same_band(one: Band | None, other: Band | None) -> bool:
    if one is None or other is None:
        return one is other
    return bool(
        (one.low.shape == other.low.shape) and (one.low == other.low).all() and one.runs == other.runs
    )


def _axes_words(frame: Frame, label: str, factor: float) -> dict[str, Any]:
    band = frame.band
    return {
        "run": frame.run or "",
        "unit": label,
        "factor": factor,
        "duration": frame.duration_s,
        "allowed": None if frame.allowed is None else frame.allowed * factor,
        "band": None
        if band is None
        else {
            "x": band.time.round(4).tolist(),
            "low": (band.low * factor).round(6).tolist(),
            "high": (band.high * factor).round(6).tolist(),
            "middle": (band.middle * factor).round(6).tolist(),
            "runs": band.runs,
        },
    }
