"""Who does the long work of an explanation, and where finished pieces are stored."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import TypeAlias

from strikeproof.quantity import FloatArray
from strikeproof.team import ALONE as ONE_THREAD
from strikeproof.team import Team

__all__ = ["ALONE", "Arrays", "Crew", "Keep"]

Arrays: TypeAlias = tuple[FloatArray, ...]
Work: TypeAlias = Callable[[], Arrays]
Keep: TypeAlias = Callable[[str, Work], Arrays]
"""Given a piece's name and the work that makes it: the piece as it was stored, else the work's result,
stored.

A name means the same piece for the same evidence, seed and amount of work. It must give back the very same
numbers, and may be called from several threads at once."""


def _only_do(_name: str, work: Work) -> Arrays:
    return work()


@dataclass(frozen=True, slots=True)
class Crew:
    """Who runs the engine, what keeps finished pieces, and the task that the pieces belong to."""

    team: Team = ONE_THREAD
    keep: Keep = _only_do
    task: str = ""

    def at(self, task: str) -> Crew:
        """The same crew at a part of its task."""
        return replace(self, task=f"{self.task}/{task}" if self.task else task)

    def finish(self, piece: str, work: Work) -> Arrays:
        """The piece, from what is stored or worked out now."""
        return self.keep(self.at(piece).task, work)


ALONE = Crew()
"""One thread, nothing stored."""
