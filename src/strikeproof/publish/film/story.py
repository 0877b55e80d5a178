"""What a film shows of its runs, moment by moment: picture, captions and description all come from here."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal

import numpy as np

from strikeproof.language import write_figures
from strikeproof.quantity import FloatArray

__all__ = ["LINGER_S", "FilmRun", "FilmStory", "FilmVerdict"]

VERDICT_AFTER_S: Final = 0.6
"""From the end of the last run to its result. [s]"""
LINGER_S: Final = 5.0
"""How long a film goes on after the last run, so that the result can be read. [s]"""


@dataclass(frozen=True, slots=True, eq=False)
class FilmRun:
    """One run of a film, on a clock that is 0 at its first blow.

    Parameters
    ----------
    run, article, tool
        Names as the workspace has them.
    unit
        Of levels, as it is printed.
    decimals
        Of a level on the screen.
    score
        The run's score as the workspace has it, with uncertainty and unit; empty where there is none.
    growth_time, growth_level : (k,)
        Growth curve. [s], `unit`
    trace_time, trace_level : (j,)
        The trace itself, thinned to its extremes; empty where it cannot be shown in `unit`. [s], `unit`
    blows : (m,)
        When each blow struck; empty where blows cannot be separated. [s]
    end_s
        When the run is over.
    excluded
        Whether it does not count in the result.
    """

    run: str
    article: str
    tool: str
    unit: str
    decimals: int
    score: str
    growth_time: FloatArray
    growth_level: FloatArray
    trace_time: FloatArray
    trace_level: FloatArray
    blows: FloatArray
    end_s: float
    excluded: bool = False

    def level_at(self, time: float) -> float:
        """The level that the last blow before `time` left. [s], `unit`"""
        place = int(np.searchsorted(self.growth_time, time, "right")) - 1
        return float(self.growth_level[place]) if place >= 0 else 0.0

    def number_at(self, time: float) -> str:
        """The number on the screen at `time` [s]: the level so far, after the end the run's score."""
        if time >= self.end_s and self.score:
            return self.score
        level = self.level_at(time) + 0.0
        written = f"{level:.{self.decimals}f}"
        written = written.lstrip("-") if float(written) == 0 else written.replace("-", "−")
        return f"{write_figures(written)} {self.unit}"

    def label_at(self, time: float) -> str:
        """What that number is."""
        if time < 0.0:
            return "before the first blow"
        if time < self.end_s:
            return "score so far"
        return "score" if self.score else "end, no score"

    def blows_until(self, time: float) -> int:
        """How many blows have struck by `time`. [s]"""
        return int(np.searchsorted(self.blows, time, "right"))


@dataclass(frozen=True, slots=True)
class FilmVerdict:
    """What a comparison says of one article: its words, and how they look without colour.

    `short` is verdict and gain with interval; `path` and `hollow` are the shape of `publish.verdicts.SIGNS`.
    """

    article: str
    tool: str
    words: str
    short: str
    role: Literal["higher", "lower", "same", "unknown"]
    path: str
    hollow: bool


@dataclass(frozen=True, slots=True, eq=False)
class FilmStory:
    """The runs of a film from their first blows on, and what is said at its end.

    `winner` is an article only where the comparison found it higher than every other that is shown;
    `caveats` are said with the verdicts.
    """

    title: str
    quantity: str
    runs: tuple[FilmRun, ...]
    verdicts: tuple[FilmVerdict, ...]
    caveats: tuple[str, ...]
    winner: str | None
    simulated: bool

    @property
    def has_result(self) -> bool:
        """Whether anything is said at the end: also that there is no result yet is."""
        return bool(self.verdicts or self.caveats)

    @property
    def end_s(self) -> float:
        """When the last run is over, from the first blow. [s]"""
        return max(run.end_s for run in self.runs)

    @property
    def verdict_s(self) -> float:
        """When the result appears, from the first blow. [s]"""
        return self.end_s + VERDICT_AFTER_S

    @property
    def highest(self) -> float:
        """Highest level of all runs."""
        tops = [run.growth_level.max(initial=0.0) for run in self.runs]
        return float(max(tops)) or 1.0
