"""Work that says it has begun and then takes long, for a work process, which must find it by its name."""

from __future__ import annotations

import time
from collections.abc import Callable


def take_long(progress: Callable[[int, int, str], None]) -> None:
    """One step of two, and then a minute in which nothing comes of it."""
    progress(1, 2, "waiting")
    time.sleep(60)
