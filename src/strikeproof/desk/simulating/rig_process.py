"""Start a simulated rig in a process of its own, talk to it, and end it."""

from __future__ import annotations

import contextlib
import subprocess
import sys
import threading
from collections.abc import Callable
from types import TracebackType

from strikeproof.desk.simulating.rig import RigSettings
from strikeproof.errors import StrikeproofError
from strikeproof.plain_text import clean_text, show_codes

__all__ = ["RigProcess", "start_rig"]


class RigProcess:
    """A running simulated rig; `port` is what a recorder opens."""

    def __init__(self, process: subprocess.Popen[str], port: str) -> None:
        self._process = process
        self.port = port

    @property
    def pid(self) -> int:
        """Of its process."""
        return self._process.pid

    def say(self, words: str) -> None:
        """One word by hand, such as "spoil clipped" or "unplug 2"."""
        if self._process.stdin is not None:
            self._process.stdin.write(words + "\n")
            self._process.stdin.flush()

    def close(self) -> None:
        """End it."""
        with contextlib.suppress(OSError, ValueError):
            if self._process.stdin is not None:
                self._process.stdin.close()
        try:
            self._process.wait(2.0)
        except subprocess.TimeoutExpired:
            self._process.kill()
            self._process.wait()
        if self._process.stdout is not None:
            self._process.stdout.close()

    def __enter__(self) -> RigProcess:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()


def start_rig(settings: RigSettings, heed: Callable[[str], object] | None = None) -> RigProcess:
    """A simulated rig that speaks; it ends with this process.

    Parameters
    ----------
    heed
        Is given each line of what the rig cannot do, in a thread of its own; else standard error is.

    Raises
    ------
    StrikeproofError
        If it cannot start, with what it said.
    """
    words = [
        "simulated-rig",
        str(settings.campaign),
        "--speech",
        settings.speech,
        "--payload",
        settings.payload,
    ]
    words += ["--rate", repr(settings.rate_hz), "--pace", repr(settings.pace), "--seed", str(settings.seed)]
    words += ["--every", repr(settings.every_s), "--wait", repr(settings.wait_s)]
    words += ["--link", str(settings.link)] if settings.link else []
    process = subprocess.Popen(
        [sys.executable, "-m", "strikeproof", *words],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=None if heed is None else subprocess.PIPE,
        text=True,
        start_new_session=True,  # Ctrl-C at the recorder is not meant for the rig
    )
    assert process.stdout is not None
    if heed is not None:
        threading.Thread(target=_pass_on, args=(process, heed), daemon=True).start()
    first = process.stdout.readline().split(maxsplit=1)
    if len(first) != 2 or first[0] != "port":
        process.wait()
        raise StrikeproofError("the simulated rig did not start", "see what it said above")
    return RigProcess(process, first[1].strip())


def _pass_on(process: subprocess.Popen[str], heed: Callable[[str], object]) -> None:
    """Until the rig ends."""
    if process.stderr is not None:
        with process.stderr:
            for line in process.stderr:
                print(show_codes(line), end="", file=sys.stderr, flush=True)
                heed(clean_text(line))
