"""Commands as a person gives them: in a process of their own, or in this one, which need not start first."""

from __future__ import annotations

import signal
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager, redirect_stderr, redirect_stdout
from io import StringIO
from pathlib import Path
from typing import Any

from strikeproof.cli import main

__all__ = ["Said", "in_own_process", "strikeproof"]

Said = tuple[str, str]
"""What stands on standard output and on standard error."""


def strikeproof(*words: str | Path, code: int = 0) -> Said:
    """Run a command here, which must end with that exit code."""
    out, err = StringIO(), StringIO()
    with redirect_stdout(out), redirect_stderr(err), _called_with(*map(str, words)):
        try:
            main()
            ended: Any = 0
        except SystemExit as end:
            ended = end.code or 0
    return _judged(ended, code, out.getvalue(), err.getvalue())


def in_own_process(*words: str | Path, code: int = 0, **options: Any) -> Said:
    """Run a command in an interpreter of its own, which must end with that exit code."""
    command = [sys.executable, "-m", "strikeproof", *map(str, words)]
    done = subprocess.run(command, capture_output=True, text=True, check=False, **options)
    return _judged(done.returncode, code, done.stdout, done.stderr)


def _judged(ended: Any, code: int, out: str, err: str) -> Said:
    assert ended == code, err
    assert "Traceback" not in err
    return out, err


@contextmanager
def _called_with(*words: str) -> Iterator[None]:
    before, handler = sys.argv, signal.getsignal(signal.SIGINT)
    sys.argv = ["strikeproof", *words]
    try:
        yield
    finally:
        sys.argv = before
        signal.signal(signal.SIGINT, handler)
