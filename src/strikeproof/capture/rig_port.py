"""The serial port of a rig: read in a thread of its own, and opened again when it comes back."""

from __future__ import annotations

import contextlib
import threading
import time
from collections import deque
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from strikeproof.errors import StrikeproofError
from strikeproof.language import say

__all__ = ["Arrived", "PortError", "RigPort", "list_ports"]

_WAIT_S = 0.05
_RETRY_S = 0.25
_MOST_WAITING = 64 << 20  # bytes; 100 s of the fastest rig that is supported


class PortError(StrikeproofError):
    """A serial port that cannot be used."""


@dataclass(frozen=True, slots=True)
class Arrived:
    """Bytes at an instant [s], or news of the port: "plugged", "unplugged", "overrun"."""

    at: float
    data: bytes
    news: str = ""
    detail: str = ""


def list_ports() -> tuple[tuple[str, str], ...]:
    """The serial ports of this machine: name and what the system says of it."""
    from serial.tools.list_ports import comports

    return tuple((port.device, port.description) for port in sorted(comports()))


class RigPort:
    """A serial line that survives being pulled out.

    Parameters
    ----------
    name
        Such as /dev/ttyACM0; it may come and go.
    baud
        Of a true serial line; a USB or pseudo port does not care.
    clock
        Gives the instant of arrival. [s]

    Raises
    ------
    PortError
        If the port is in use by another program or may not be opened. One that is not there is waited for.
    """

    def __init__(self, name: str, baud: int = 115_200, clock: Callable[[], float] = time.monotonic) -> None:
        self.name = name
        self.baud = baud
        self._clock = clock
        self._queue: deque[Arrived] = deque()
        self._waiting = 0
        self._lock = threading.Lock()
        self._open: Any = None
        self._stop = threading.Event()
        self.trouble = ""
        self._open = self._try_open(strict=True)
        self._thread = threading.Thread(target=self._run, name=f"rig on {name}", daemon=True)
        self._thread.start()

    @property
    def is_plugged(self) -> bool:
        """Whether the port is open now."""
        return self._open is not None

    def take(self) -> list[Arrived]:
        """All that arrived since the last call, in order."""
        with self._lock:
            taken = list(self._queue)
            self._queue.clear()
            self._waiting = 0
        return taken

    def say(self, text: str) -> bool:
        """A line to the rig, which it may ignore; whether it went out."""
        port = self._open
        if port is None:
            return False
        try:
            port.write(text.encode() + b"\n")
        except OSError:  # pyserial's own errors are among these; the reader meets the same and reports it
            return False
        return True

    def close(self) -> None:
        """Close the port."""
        self._stop.set()
        self._thread.join(2.0)
        self._shut()

    def _try_open(self, *, strict: bool) -> Any:
        import serial

        try:
            port = serial.Serial(self.name, self.baud, timeout=_WAIT_S, write_timeout=0.2, exclusive=True)
        except (OSError, ValueError) as cause:
            self.trouble = str(getattr(cause, "strerror", None) or cause)
            is_missing = getattr(cause, "errno", None) in (2, 5, 6, 19)
            if strict and not is_missing:
                fix = say("close the program that holds it, or give yourself the right to open it")
                raise PortError(
                    say("{name}: cannot be opened: {why}", name=self.name, why=self.trouble), fix
                ) from cause
            return None
        self.trouble = ""
        self._put(Arrived(self._clock(), b"", "plugged", self.name))
        return port

    def _run(self) -> None:
        while not self._stop.is_set():
            try:
                self._attend()
            except (
                Exception
            ) as cause:  # a port's driver raises what it likes; a reader that ended would be silent
                self._lose(str(cause))

    def _attend(self) -> None:
        """Read what is there, or try to open the port again."""
        if self._open is None:
            self._stop.wait(_RETRY_S)
            self._open = None if self._stop.is_set() else self._try_open(strict=False)
            return
        data = self._open.read(max(1, self._open.in_waiting))
        if data:
            self._put(Arrived(self._clock(), data))

    def _lose(self, why: str) -> None:
        was_open, self.trouble = self._open is not None, why
        self._shut()
        if was_open:
            self._put(Arrived(self._clock(), b"", "unplugged", why))

    def _shut(self) -> None:
        port, self._open = self._open, None
        if port is not None:
            with contextlib.suppress(OSError):
                port.close()

    def _put(self, arrived: Arrived) -> None:
        with self._lock:
            self._waiting += len(arrived.data)
            while self._waiting > _MOST_WAITING and self._queue:
                old = self._queue.popleft()
                self._waiting -= len(old.data)
                if not self._queue or self._queue[0].news != "overrun":
                    detail = say("the recorder did not keep up and lost what had arrived")
                    self._queue.appendleft(Arrived(old.at, b"", "overrun", detail))
            self._queue.append(arrived)
