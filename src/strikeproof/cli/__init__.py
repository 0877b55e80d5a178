"""Front 1: the command line. It asks the desk and shows the answer."""

from __future__ import annotations

import os
import signal
import sys

from strikeproof.cli import (
    asking,
    backing_up,
    bench,
    campaigns,
    cutting,
    demonstrating,
    designing,
    filming,
    publishing,
    recording,
    serving,
)
from strikeproof.cli.application import app
from strikeproof.cli.course import begin_command
from strikeproof.cli.speaking import say
from strikeproof.errors import BadFile, StrikeproofError

__all__ = [
    "app",
    "asking",
    "backing_up",
    "bench",
    "campaigns",
    "cutting",
    "demonstrating",
    "designing",
    "filming",
    "main",
    "publishing",
    "recording",
    "serving",
]  # these modules add their commands when imported


class _Stopped(Exception):
    """The person pressed Ctrl-C; the parser would swallow a KeyboardInterrupt without a word."""


def _stop(_signal: int, _frame: object) -> None:
    raise _Stopped


def main() -> None:
    """Run one command; an error a person can fix becomes one clear line and exit code 2."""
    signal.signal(signal.SIGINT, _stop)
    begin_command()
    try:
        app()
    except BadFile as error:
        for problem in error.problems:
            say(f"strikeproof: {problem}")
        raise SystemExit(2) from None
    except StrikeproofError as error:
        say(f"strikeproof: {error}")
        raise SystemExit(2) from None
    except _Stopped:
        say("strikeproof: stopped; everything saved so far stays, run it again to go on")
        raise SystemExit(130) from None
    except BrokenPipeError:
        # The reader of a pipe has left, as `head` does; nobody is left to read it.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        raise SystemExit(141) from None
