"""A process that works for another ends with it, however that came: nobody is left to take what it finds."""

from __future__ import annotations

import os
import threading
import time
from functools import cache
from multiprocessing import parent_process

__all__ = ["end_with_parent"]

_LOOK_S = 0.5


@cache
def end_with_parent() -> None:
    """From now on end this process, in the middle of whatever it does, once the one that started it is gone.

    Where a process keeps the number of a parent that is gone (Windows), it goes on to its end.
    """
    threading.Thread(target=_watch, args=(os.getppid(),), name="parent watch", daemon=True).start()


def _watch(parent: int) -> None:
    asker = parent_process()  # of one that multiprocessing started, which may be another's child by now
    if asker is not None:
        asker.join()
    else:
        while os.getppid() == parent:
            time.sleep(_LOOK_S)
    os._exit(1)
