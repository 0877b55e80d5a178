"""The recorder's thread: it steps, and no mistake of the program ends it in silence."""

from __future__ import annotations

import contextlib
import threading
import traceback
from collections.abc import Callable

__all__ = ["StepThread", "print_mistake"]

_STEP_S = 0.02
_AFTER_FAILING_S = 0.5  # one that fails again and again must not fill the disk with words


def print_mistake() -> None:
    """Put the mistake that is being handled on standard error; a full disk there must not be a second one."""
    with contextlib.suppress(OSError, ValueError):
        traceback.print_exc()


class StepThread:
    """Calls `step` some fifty times a second until stopped.

    Parameters
    ----------
    step
        What is done.
    failed
        Is given what a step raised, after it is on standard error; then stepping goes on.
    """

    def __init__(self, step: Callable[[], None], failed: Callable[[Exception], None]) -> None:
        self._step, self._failed = step, failed
        self._stop = threading.Event()
        self._thread: threading.Thread | None = None

    def start(self) -> None:
        """Step by itself from now on."""
        self._thread = threading.Thread(target=self._run, name="recorder", daemon=True)
        self._thread.start()

    @property
    def is_stepping(self) -> bool:
        """Whether another step will come."""
        return self._thread is not None and self._thread.is_alive() and not self._stop.is_set()

    def stop(self) -> None:
        """Step no more; waits for the step under way."""
        self._stop.set()
        if self._thread is not None:
            self._thread.join()

    def _run(self) -> None:
        wait = _STEP_S
        while not self._stop.wait(wait):
            wait = _STEP_S if self._succeeds(self._step) else _AFTER_FAILING_S

    def _succeeds(self, step: Callable[[], None]) -> bool:
        try:
            step()
        except Exception as bug:
            print_mistake()
            try:
                self._failed(bug)
            except Exception:  # what is done about a mistake may be mistaken as well
                print_mistake()
            return False
        return True
