"""The process behind the gate: reads one file after another, and ends with the process that asked it to."""

from __future__ import annotations

import os
import select
import signal
import sys
import threading
import warnings
from collections.abc import Callable
from multiprocessing.connection import Connection
from typing import Any

from strikeproof.campaign import gate
from strikeproof.campaign.bounds import Bounds, bounded, data_bytes
from strikeproof.errors import StrikeproofError

__all__ = ["serve"]

_IDLE_S = 60.0
_LEFT_BYTES = 256_000_000  # what readers may leave behind before a fresh process is better


def serve(handle: int) -> None:
    """Do what comes through the socket `handle`, until that is closed or nothing has come for a while."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # Ctrl-C is for the process that asked
    warnings.simplefilter("ignore")  # what a foreign reader warns of would be read by nobody
    gate.enter()
    pipe = Connection(handle)
    threading.Thread(target=_end_with_asker, args=(handle,), daemon=True).start()
    at_start = data_bytes()
    while pipe.poll(_IDLE_S):
        function, given, bounds = pipe.recv()
        pipe.send((gate.BEGUN, None))
        reply = _call(function, given, bounds)
        fresh = reply[0] in (gate.RESULT, gate.PROBLEM) and data_bytes() - at_start < _LEFT_BYTES
        pipe.send((*reply, fresh))


def _call(function: Callable[..., Any], given: tuple[Any, ...], bounds: Bounds) -> tuple[str, Any]:
    try:
        with bounded(bounds):
            return gate.RESULT, function(*given)
    except StrikeproofError as wrong:
        return gate.PROBLEM, wrong
    except MemoryError:
        return gate.MEMORY, None
    except BaseException as wrong:  # some libraries' failures arrive outside Exception
        return gate.BROKEN, gate.describe(wrong)


def _end_with_asker(handle: int) -> None:
    """Wait for the far end to close, however that came; then there is nobody left to read for."""
    poller = select.poll()
    poller.register(handle, 0)  # a hang-up is reported unasked
    poller.poll()
    os._exit(1)


if __name__ == "__main__":
    serve(int(sys.argv[1]))
