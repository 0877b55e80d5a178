"""What a network of benches gets right and wrong: its intervals, the next bench, and who disagrees."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

import numpy as np
from joblib import Parallel, delayed
from tests.validity.rates import Row, observed, rate

from strikeproof.judge.elsewhere.consistency import find_loops, judge_designs
from strikeproof.judge.elsewhere.network import FEWEST_BENCHES, fit_network, stack_sources
from strikeproof.judge.elsewhere.sources import Source

__all__ = ["ELSEWHERE", "ELSEWHERE_LIMITS", "Benches", "elsewhere_scene"]

ARTICLES: Final = ("plain", "a", "b", "c")
GAINS: Final = np.array([0.0, 0.0, 0.05, -0.03])


@dataclass(frozen=True, slots=True)
class Benches:
    """A world of benches.

    Attributes
    ----------
    campaigns
        Of each bench.
    bench_percent, calibration_percent, campaign_percent
        Spread of a ratio from bench to bench, from calibration to calibration and from campaign to campaign.
    scatter_percent, runs
        Of a run, and runs of each article in a campaign; what it says of its scatter is drawn too.
    designs
        Articles of each campaign by their numbers, in turn.
    wrong_percent
        What the first bench adds to every ratio of article b.
    tails
        Degrees of freedom of what benches add; 0 for the bell curve.
    """

    campaigns: tuple[int, ...] = (1, 1, 1, 1, 1)
    bench_percent: float = 3.0
    calibration_percent: float = 0.0
    campaign_percent: float = 0.0
    scatter_percent: float = 2.5
    runs: int = 6
    designs: tuple[tuple[int, ...], ...] = ((0, 1, 2, 3),)
    wrong_percent: float = 0.0
    tails: int = 0

    def draw(self, rng: np.random.Generator) -> tuple[list[Source], np.ndarray]:
        """Sources, and the ratios on one bench more."""
        sources: list[Source] = []
        for bench, many in enumerate(self.campaigns):
            own = self._own(rng)
            for _ in range(many):
                wrong = self.wrong_percent / 100.0 * (bench == 0)
                shift = (
                    GAINS + own + self._spread(self.calibration_percent, rng) + wrong * (np.arange(4) == 2)
                )
                shift = shift + self._spread(self.campaign_percent, rng)
                sources.append(self._source(len(sources), bench, shift, rng))
        return sources, GAINS + self._own(rng) + self._spread(
            float(np.hypot(self.calibration_percent, self.campaign_percent)), rng
        )

    def _own(self, rng: np.random.Generator) -> np.ndarray:
        if not self.tails:
            return self._spread(self.bench_percent, rng)
        return self.bench_percent / 141.42 * rng.standard_t(self.tails, 4) * np.sqrt(1.0 - 2.0 / self.tails)

    @staticmethod
    def _spread(percent: float, rng: np.random.Generator) -> np.ndarray:
        return np.asarray(percent / 141.42 * rng.standard_normal(4))

    def _source(self, number: int, bench: int, shift: np.ndarray, rng: np.random.Generator) -> Source:
        design = list(self.designs[number % len(self.designs)])
        free = (self.runs - 1) * (len(design) - 1)
        error = self.scatter_percent / 100.0 / np.sqrt(self.runs)
        seen = shift[design] + error * rng.standard_normal(len(design))
        said = error**2 * rng.chisquare(free) / free
        covariance = said * (1.0 + np.eye(len(design) - 1))
        names = tuple(ARTICLES[i] for i in design)
        return Source(
            f"{number}", f"{bench}", f"{number}", names, seen[1:] - seen[0], covariance, float(free)
        )


def elsewhere_scene(benches: Benches, seed: np.random.SeedSequence, campaigns: int) -> list[Row]:
    """Coverage, false differences and false alarms of one world."""
    jobs = (delayed(_ask)(benches, each) for each in seed.spawn(campaigns))
    found = np.asarray(Parallel(n_jobs=2, batch_size=10)(jobs), dtype=np.float64).T
    covered, wrong, ahead, loops, designs = found
    rows = [
        rate("the intervals of all ratios cover together", covered, (94.0, 100.0)),
        rate("an equal article is called different", wrong, (0.0, 5.0)),
        rate("the interval for the next bench covers", ahead, (93.0, 100.0)),
    ]
    if len(benches.designs) > 1 and not benches.wrong_percent:
        rows.append(rate("any loop is called inconsistent and is not", loops, (0.0, 5.0)))
        rows.append(rate("the designs are called inconsistent and are not", designs, (0.0, 5.0)))
    elif len(benches.designs) > 1:
        rows.append(observed("some loop is called inconsistent", loops))
        rows.append(observed("the designs are called inconsistent", designs))
    return rows


def _ask(benches: Benches, seed: np.random.SeedSequence) -> tuple[float, ...]:
    rng = np.random.default_rng(seed)
    sources, following = benches.draw(rng)
    stack = stack_sources(sources, "plain")
    fit = fit_network(stack)
    level = 1.0 - 0.05 / (len(stack.articles) - 1)
    inside, ahead, wrong = [], [], False
    for name in stack.articles[1:]:
        weights, true = fit.weights(name, "plain"), GAINS[ARTICLES.index(name)]
        measure = fit.measure(weights)
        inside.append(abs(measure.value - true) <= measure.half(level))
        wrong |= bool(true == 0.0 and abs(measure.value) > measure.half(level))
        if measure.benches >= FEWEST_BENCHES:
            next_one = following[ARTICLES.index(name)] - following[0]
            half = fit.measure(weights, ahead=True).half(0.95)
            ahead.append(abs(measure.value - next_one) <= half)
    several = len(benches.designs) > 1
    loops = find_loops(stack) if several else ()
    designs = judge_designs(stack) if several else None
    return (
        all(inside),
        wrong,
        float(np.mean(ahead)) if ahead else 1.0,
        any(each.p_all < 0.05 for each in loops),
        designs is not None and designs.p < 0.05,
    )


THREE: Final = ((1, 2, 3), (0, 1, 2), (0, 1, 2, 3), (0, 2, 3), (0, 1))
ELSEWHERE: Final[Mapping[str, Benches]] = {
    "elsewhere: five benches, a campaign each, 3 % from bench to bench": Benches(),
    "elsewhere: three benches": Benches(campaigns=(1, 1, 1)),
    "elsewhere: benches agree": Benches(bench_percent=0.0),
    "elsewhere: four benches of two campaigns, 2 % from calibration to calibration too": Benches(
        campaigns=(2, 2, 2, 2), calibration_percent=2.0
    ),
    "elsewhere: ten benches, not all with all articles": Benches(campaigns=(1,) * 10, designs=THREE),
    "elsewhere: five benches, not all with all articles": Benches(designs=THREE),
    "elsewhere: three benches, two articles on one bench each": Benches(
        campaigns=(2, 1, 1), designs=((0, 1), (0, 1, 3), (0, 1, 2), (0, 1))
    ),
    "elsewhere: six benches, heavy tails, t with 3 degrees of freedom": Benches(campaigns=(1,) * 6, tails=3),
}
ELSEWHERE_LIMITS: Final[Mapping[str, Benches]] = {
    "elsewhere: ten benches, the first 15 % off with article b": Benches(
        campaigns=(1,) * 10, designs=THREE, wrong_percent=15.0
    ),
    "elsewhere: two benches of three campaigns": Benches(campaigns=(3, 3), calibration_percent=1.0),
}
