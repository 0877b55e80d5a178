"""The error for a log that holds several runs one after another, with the lines at which each begins."""

from __future__ import annotations

import shlex
from collections.abc import Sequence
from pathlib import Path

from strikeproof.errors import BadFile, Problem

__all__ = ["ManyRuns"]

_SHOWN = 6


class ManyRuns(BadFile):
    """A log of several runs: `lines` are where each begins, so that it can be cut there."""

    def __init__(self, path: Path, lines: Sequence[int]) -> None:
        self.lines = tuple(lines)
        named = ", ".join(str(line) for line in lines[:_SHOWN]) + (
            " and so on" if len(lines) > _SHOWN else ""
        )
        what = f"holds {len(lines)} runs one after another, which begin at lines {named}"
        fix = f"cut it: strikeproof cut {shlex.quote(str(path))}"
        super().__init__([Problem(str(path), lines[1], what, fix)])
