"""Runs of one article in one block: no independent witnesses, so their mean is what is judged.

What a block does to one article alone is shared by all its runs there. Were each run to count by itself,
three runs a block and a spread of 2 % of that kind would make false differences in a third of all campaigns.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from strikeproof.judge.records import ScoredRun
from strikeproof.quantity import FloatArray, IntArray

__all__ = ["Rows", "each_run", "means_of_blocks", "repeats_in_blocks"]


@dataclass(frozen=True, slots=True)
class Rows:
    """What a fit is made of: `runs`, one for each row (r,), and the row of every run that counts (n,)."""

    runs: Sequence[ScoredRun]
    row: IntArray

    @property
    def averaged(self) -> bool:
        """Whether any row is a mean of several runs."""
        return len(self.runs) < len(self.row)

    def mean(self, values: FloatArray) -> FloatArray:
        """Mean of the values (n,) of each row's runs; (r,)."""
        return np.asarray(np.bincount(self.row, values) / np.bincount(self.row))


def each_run(runs: Sequence[ScoredRun]) -> Rows:
    """Every run by itself."""
    return Rows(runs, np.arange(len(runs)))


def means_of_blocks(runs: Sequence[ScoredRun]) -> Rows:
    """The runs of an article in one block of one tool together."""
    found: dict[tuple[str, str, str], int] = {}
    row = [found.setdefault((each.tool, each.block, each.article), len(found)) for each in runs]
    first = dict(reversed(list(zip(row, runs, strict=True))))
    return Rows([first[i] for i in range(len(found))], np.asarray(row, dtype=np.int64))


def repeats_in_blocks(runs: Sequence[ScoredRun], reference: str) -> bool:
    """Whether a block holds an article other than the reference more than once.

    The reference is put twice to every block. It is compared with articles that have one run there, whose
    scatter holds what a block does to them: the plan's own blocks are judged run by run.
    """
    others = [(each.tool, each.block, each.article) for each in runs if each.article != reference]
    return len(set(others)) < len(others)
