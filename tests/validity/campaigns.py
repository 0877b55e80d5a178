"""Simulated campaigns whose truth is known."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np

from strikeproof.judge.records import ScoredRun

__all__ = ["Truth", "simulate_campaign"]


@dataclass(frozen=True, slots=True)
class Truth:
    """What a simulated campaign is drawn from; gains in percent, one for each article.

    Attributes
    ----------
    order
        "dealt": each article once and the reference twice, all in random places of a block, as the plan deals
        them; "ends": the reference at both ends of every block, as plans before did; "alternate": a block
        is the reference and then each article in the same order, which nobody dealt.
    each
        Runs of every article in a block, twice as many of the reference.
    warm_up_percent, warm_up_runs
        The first run of a block reads so much lower (or higher), the next ones less, by this time constant.
    article_by_block_percent
        Spread of what a block does to one article alone.
    specimen_percent
        Spread of what each article has of its own beyond its gain, as specimens of a product have.
    tool_order
        Whether the tools have the same order in every round, or chance deals it as the plan does.
    tool_percent, tool_gains
        What the second tool gives more than the first, and what it adds to the gain of each article.
    tails
        Degrees of freedom of the t distribution that the scatter is drawn from, its variance kept at 3 or
        more; 0 for the bell curve.
    following
        Correlation of a run's scatter with that of the run before.
    bolt_step_percent
        Spread of the level from bolt to bolt, of 20 runs each.
    read_in_percent
        Steps in which scores are read.
    added
        Scatter that is added to the score itself, as a share of the reference's.
    absent
        How many of the articles were never run with the second tool.
    drift_percent
        What every run changes by, beside a drift that is drawn.
    halves, halfway_percent
        Whether the first article is changed into the second halfway: no block holds both; what all scores
        change by there.
    """

    gains: tuple[float, ...] = (0.0,) * 7
    tools: tuple[str, ...] = ("air",)
    blocks: tuple[int, int] = (4, 7)
    scatter_percent: float = 2.5
    largest_drift_percent: float = 0.15
    block_percent: float = 1.5
    outliers: float = 0.0
    missing: float = 0.15
    bolt_wear_percent: float = 0.0
    unsteady: float = 1.0
    order: Literal["dealt", "ends", "alternate"] = "dealt"
    each: int = 1
    warm_up_percent: float = 0.0
    warm_up_runs: float = 1.5
    article_by_block_percent: float = 0.0
    specimen_percent: float = 0.0
    tool_order: Literal["same", "dealt"] = "same"
    tool_percent: float = 0.0
    tool_gains: tuple[float, ...] = ()
    tails: int = 0
    following: float = 0.0
    bolt_step_percent: float = 0.0
    read_in_percent: float = 0.0
    added: float = 0.0
    absent: int = 0
    drift_percent: float = 0.0
    halves: bool = False
    halfway_percent: float = 0.0

    def scatter(self, before: float, rng: np.random.Generator) -> float:
        """Of one run in standard deviations, after that of the run before."""
        if not self.tails:
            new = rng.standard_normal()
        else:
            new = rng.standard_t(self.tails) * np.sqrt((self.tails - 2.0) / self.tails)
        return float(self.following * before + np.sqrt(1.0 - self.following**2) * new)

    def read(self, log_score: float, rng: np.random.Generator) -> float:
        """The score as it is read."""
        score = float(np.exp(log_score))
        if self.added:
            score += 250.0 * self.added * rng.standard_normal()
        step = 2.5 * self.read_in_percent
        return max(step, round(score / step) * step) if step else max(score, 1.0)

    def block(self, rng: np.random.Generator) -> list[int]:
        """Numbers of the articles of a block in their order, -1 for the reference."""
        others = np.repeat(np.arange(len(self.gains)), self.each)
        if self.order == "alternate":
            return [-1, *others.tolist()]
        if self.order == "ends":
            return [-1, *rng.permutation(others).tolist(), -1]
        return rng.permutation([-1] * 2 * self.each + others.tolist()).tolist()


def simulate_campaign(truth: Truth, rng: np.random.Generator) -> list[ScoredRun]:
    """Draw one campaign: blocks in random order, drift, block levels, odd runs.

    Some runs of articles are missing at random, so blocks are unequal. An odd run has five times the scatter.
    The first article's scatter is `unsteady` times that of the others. A bolt lasts 20 runs and wears in.
    """
    drift = rng.uniform(-truth.largest_drift_percent, truth.largest_drift_percent) / 100.0
    drift += np.log1p(truth.drift_percent / 100.0)
    gains = np.append(np.log1p(np.asarray(truth.gains) / 100.0), 0.0)
    if truth.specimen_percent:
        gains[:-1] += truth.specimen_percent / 100.0 * rng.standard_normal(len(gains) - 1)
    runs: list[ScoredRun] = []
    order, off, bolt = 0, 0.0, 0.0
    many = int(rng.integers(truth.blocks[0], truth.blocks[1] + 1))
    for block in range(many):
        later = 2 * block >= many
        turns = truth.tools if truth.tool_order == "same" else rng.permutation(truth.tools).tolist()
        for tool in turns:
            level = np.log(250.0) + truth.block_percent / 100.0 * rng.standard_normal()
            other = float(tool != truth.tools[0])
            level += other * np.log1p(truth.tool_percent / 100.0)
            level += later * np.log1p(truth.halfway_percent / 100.0)
            of_block = truth.article_by_block_percent / 100.0 * rng.standard_normal(len(gains))
            for place, article in enumerate(truth.block(rng)):
                order += 1
                if truth.bolt_step_percent and order % 20 == 1:
                    bolt = truth.bolt_step_percent / 100.0 * rng.standard_normal()
                if (other and 0 <= article < truth.absent) or (truth.halves and article == 1 - later):
                    continue
                if article >= 0 and rng.random() < truth.missing:
                    continue
                wide = (5.0 if rng.random() < truth.outliers else 1.0) * (
                    truth.unsteady if article == 0 else 1.0
                )
                use = order % 20
                log_score = level + drift * order + truth.bolt_wear_percent / 100.0 * use
                log_score += gains[article] + of_block[article]
                if truth.tool_gains and article >= 0:
                    log_score += other * np.log1p(truth.tool_gains[article] / 100.0)
                log_score -= truth.warm_up_percent / 100.0 * np.exp(-place / truth.warm_up_runs)
                off = truth.scatter(off, rng)
                log_score += bolt + wide * truth.scatter_percent / 100.0 * off
                name = "plain" if article < 0 else f"article-{article}"
                runs.append(
                    ScoredRun(
                        f"r{order}",
                        name,
                        tool,
                        str(block),
                        order,
                        truth.read(log_score, rng),
                        bolt_use=float(use) if truth.bolt_wear_percent else None,
                    )
                )
    return runs
