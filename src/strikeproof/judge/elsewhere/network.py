"""Ratios of several sources in one network, with what benches, calibrations and campaigns add.

A source's ratio is that of all benches there may be, plus what its bench, its calibration and the campaign
itself do to each article, plus its own error. What they do to two articles is independent, so their shares
add up along any chain of articles; the standard deviation of a ratio is the same for each two of them.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Final, Literal, TypeAlias

import numpy as np
from scipy.special import stdtrit

from strikeproof.errors import BadInput
from strikeproof.judge.elsewhere.sources import Source
from strikeproof.quantity import FloatArray

__all__ = [
    "FEWEST_BENCHES",
    "Level",
    "Measure",
    "Network",
    "Stack",
    "connected",
    "fit_network",
    "stack_sources",
]

Level: TypeAlias = Literal["bench", "calibration", "campaign"]
LEVELS: Final[tuple[Level, ...]] = ("bench", "calibration", "campaign")
FEWEST_BENCHES: Final = 3
"""Behind a ratio, below which nothing is said of the next bench."""
FEWEST_FREE: Final = 1.0
"""Degrees of freedom of an interval at least, where the spread between benches was found from any."""
TINY: Final = 1e-9
STARTS: Final = (0.02, 0.3, 1.0)
"""Shares of the largest variance worth thinking of, from which the search starts."""


@dataclass(frozen=True)
class Stack:
    """All ratios one above the other.

    Attributes
    ----------
    articles
        The first is the reference of the network.
    ratio : (n,)
    incidence : (n, articles)
        1 at the article of a ratio, -1 at what it is set against.
    source : (n,)
        Number of the source of each ratio.
    covariance : (n, n)
        Of what the runs scatter.
    """

    sources: tuple[Source, ...]
    articles: tuple[str, ...]
    ratio: FloatArray
    incidence: FloatArray
    source: FloatArray
    covariance: FloatArray

    @property
    def design(self) -> FloatArray:
        """(n, articles - 1): the ratios to the reference, from which each ratio follows."""
        return self.incidence[:, 1:]

    @cached_property
    def levels(self) -> tuple[tuple[Level, FloatArray], ...]:
        """What shares an error, and the covariance (n, n) of an error whose ratios have variance 1.

        A level is left out where it shares what a larger one shares too, or where all sources share it.
        """
        names = {
            "bench": [each.bench for each in self.sources],
            "calibration": [f"{each.bench}\n{each.calibration}" for each in self.sources],
            "campaign": [f"{i}" for i in range(len(self.sources))],
        }
        found: list[tuple[Level, FloatArray]] = []
        seen: set[tuple[int, ...]] = set()
        for level in LEVELS:
            of = names[level]
            groups = tuple(of.index(each) for each in of)
            if groups in seen or len(set(groups)) == 1:
                continue
            seen.add(groups)
            mine = np.asarray(groups)[self.source.astype(int)]
            same = mine[:, None] == mine
            found.append((level, np.where(same, 0.5 * self.incidence @ self.incidence.T, 0.0)))
        return tuple(found)


@dataclass(frozen=True, slots=True)
class Measure:
    """A ratio of the network on the log scale: its value, variance, degrees of freedom, benches behind it."""

    value: float
    variance: float
    freedom: float
    benches: int

    def half(self, confidence: float) -> float:
        """Half the interval, by Student's t."""
        return float(stdtrit(self.freedom, 0.5 + confidence / 2.0) * np.sqrt(self.variance))


@dataclass(frozen=True)
class Network:
    """A fitted network.

    Attributes
    ----------
    design : (n, p)
        Columns of what was fitted: ratios to the reference, then what was added.
    effect : (p,)
    covariance : (p, p)
    variances
        Of a ratio, by level.
    variance : (n, n)
        Of all ratios, with what the levels add.
    """

    stack: Stack
    design: FloatArray
    effect: FloatArray
    covariance: FloatArray
    variances: dict[Level, float]
    variance: FloatArray

    @property
    def between(self) -> float:
        """Variance of one ratio from bench to bench, all levels together."""
        return sum(self.variances.values())

    @property
    def heterogeneity(self) -> float:
        """Weighted squares of what the fit leaves."""
        rest = self.stack.ratio - self.design @ self.effect
        return float(rest @ np.linalg.solve(self.variance, rest))

    @property
    def freedom(self) -> int:
        """Ratios less what was fitted."""
        return len(self.stack.ratio) - int(np.linalg.matrix_rank(self.design))

    def weights(self, article: str, other: str) -> FloatArray:
        """One article over another as weights of the effects; (p,)."""
        row = np.zeros(len(self.effect) + 1)
        row[self.stack.articles.index(article)] += 1.0
        row[self.stack.articles.index(other)] -= 1.0
        return row[1:]

    def measure(self, weights: FloatArray, *, ahead: bool = False) -> Measure:
        """A combination (p,) of the effects; `ahead`, one ratio as a bench that is not in it yet would find
        it, but for its own scatter. With no freedom left it holds only if benches do not differ."""
        share = weights @ self.covariance @ self.design.T @ np.linalg.inv(self.variance)
        variance = float(weights @ self.covariance @ weights) + self.between * ahead
        freedom = self._freedom(share, variance, ahead=ahead)
        if self.freedom:
            freedom = min(freedom, float(self.freedom))
        value = float(weights @ self.effect)
        return Measure(value, variance, max(freedom, FEWEST_FREE), _benches(self.stack, share))

    def _freedom(self, share: FloatArray, variance: float, *, ahead: bool) -> float:
        """Satterthwaite's, with the levels' variances and each source's own as they are known.

        References
        ----------
        Fai, Cornelius, J. Stat. Comput. Simul. 54 (1996) 363 (from memory).
        """
        parts, known = [each for _, each in self.stack.levels], [0.0] * len(self.stack.levels)
        for number, source in enumerate(self.stack.sources):
            mine = self.stack.source == number
            parts.append(np.where(np.outer(mine, mine), self.stack.covariance, 0.0))
            known.append(min(source.freedom, 1e9) / 2.0)
        slope = np.asarray([share @ each @ share for each in parts])
        slope[: len(self.stack.levels)] += ahead
        inverse = np.linalg.inv(self.variance)
        left = inverse - inverse @ self.design @ self.covariance @ self.design.T @ inverse
        moved = [left @ each for each in parts]
        information = np.asarray([[0.5 * np.sum(a * b.T) for b in moved] for a in moved]) + np.diag(known)
        spread = float(slope @ np.linalg.pinv(information) @ slope)
        return 2.0 * variance**2 / spread if spread > 0.0 else np.inf


def _benches(stack: Stack, share: FloatArray) -> int:
    """Benches that carry more than a tenth of what the weightiest carries."""
    weight: dict[str, float] = {}
    for number, source in enumerate(stack.sources):
        size = float(np.abs(share[stack.source == number]).sum())
        weight[source.bench] = weight.get(source.bench, 0.0) + size
    most = max(weight.values())
    return sum(each > 0.1 * most for each in weight.values())


def stack_sources(sources: Sequence[Source], reference: str) -> Stack:
    """All ratios of connected sources, the reference first.

    Raises
    ------
    BadInput
        If no source has the reference, or some are not joined to it by any chain of articles.
    """
    joined = connected(sources, reference)
    if not sources or len(joined) < len(sources):
        apart = [each.name for each in sources if each not in joined]
        raise BadInput(
            f"{', '.join(apart) or 'nothing'} shares no article with the others",
            where="network",
            allowed=f"sources that a chain of articles joins to {reference}",
        )
    names = dict.fromkeys(name for each in sources for name in each.articles)
    articles = (reference, *(name for name in names if name != reference))
    sizes = [len(each.ratio) for each in sources]
    start = np.concatenate([[0], np.cumsum(sizes)]).astype(int)
    incidence = np.zeros((start[-1], len(articles)))
    covariance = np.zeros((start[-1], start[-1]))
    for number, each in enumerate(sources):
        rows = slice(start[number], start[number + 1])
        covariance[rows, rows] = each.covariance
        for row, name in enumerate(each.articles[1:], start[number]):
            incidence[row, articles.index(name)] += 1.0
            incidence[row, articles.index(each.articles[0])] -= 1.0
    source = np.repeat(np.arange(len(sources)), sizes).astype(np.float64)
    ratio = np.concatenate([each.ratio for each in sources])
    return Stack(tuple(sources), articles, ratio, incidence, source, covariance)


def connected(sources: Sequence[Source], reference: str) -> tuple[Source, ...]:
    """The sources that a chain of articles joins to the reference, in their order."""
    known, found = {reference}, {i for i, each in enumerate(sources) if reference in each.articles}
    while True:
        known |= {name for i in found for name in sources[i].articles}
        more = {i for i, each in enumerate(sources) if known & set(each.articles)}
        if more == found:
            return tuple(each for i, each in enumerate(sources) if i in found)
        found = more


def fit_network(
    stack: Stack, extra: FloatArray | None = None, variances: dict[Level, float] | None = None
) -> Network:
    """Fit all ratios, with the levels' variances by restricted maximum likelihood.

    Parameters
    ----------
    stack
        What was measured.
    extra : (n, q)
        Columns beside the ratios to the reference, such as of an inconsistency.
    variances
        Of a ratio by level, where they are known; none of them is then sought.

    References
    ----------
    Patterson, Thompson, Biometrika 58 (1971) 545; networks with a common variance: Lu, Ades, J. Am. Stat.
    Assoc. 101 (2006) 447; White, Barrett, Jackson, Higgins, Res. Synth. Methods 3 (2012) 111 (from memory).
    """
    design = stack.design if extra is None else np.hstack([stack.design, extra])
    if variances is None:
        variances = _find_variances(stack, design)
    variance = _total(stack, list(variances.values()))
    inverse = np.linalg.inv(variance)
    covariance = np.linalg.pinv(design.T @ inverse @ design)
    effect = covariance @ design.T @ inverse @ stack.ratio
    return Network(stack, design, effect, covariance, variances, variance)


def _total(stack: Stack, variances: Sequence[float]) -> FloatArray:
    total = stack.covariance.copy()
    for size, (_, each) in zip(variances, stack.levels, strict=True):
        total += size * each
    return total


def _find_variances(stack: Stack, design: FloatArray) -> dict[Level, float]:
    """Variances of a ratio by level that make what the fit leaves most likely."""
    names = [level for level, _ in stack.levels]
    basis = _left_of(design)
    if not names or not basis.shape[1]:
        return dict.fromkeys(names, 0.0)
    rest = basis.T @ stack.ratio
    own = basis.T @ stack.covariance @ basis
    shared = [basis.T @ each @ basis for _, each in stack.levels]
    scale = max(float(np.mean(rest**2)), TINY * float(np.trace(own)) / len(rest))

    def loss(sizes: FloatArray) -> tuple[float, FloatArray]:
        total = own + sum(size * scale * each for size, each in zip(sizes, shared, strict=True))
        inverse = np.linalg.inv(total)
        solved = inverse @ rest
        value = float(np.linalg.slogdet(total)[1] + rest @ solved)
        slope = [scale * float(np.sum(inverse * each) - solved @ each @ solved) for each in shared]
        return value, np.asarray(slope)

    from scipy.optimize import minimize  # a fifth of a second that no start of a program should pay

    tries = [
        minimize(
            loss,
            np.full(len(names), start),
            jac=True,
            method="L-BFGS-B",
            bounds=[(0.0, None)] * len(names),
            options={"ftol": 1e-14, "gtol": 1e-9, "maxiter": 500},
        )
        for start in STARTS
    ]
    best = min(tries, key=lambda each: float(each.fun))
    return {name: float(size) * scale for name, size in zip(names, best.x, strict=True)}


def _left_of(design: FloatArray) -> FloatArray:
    """An orthonormal basis of what the columns leave; (n, n - rank)."""
    left, sizes, _ = np.linalg.svd(design, full_matrices=True)
    rank = int(np.sum(sizes > TINY * max(float(sizes[0]), 1.0))) if sizes.size else 0
    return left[:, rank:]
