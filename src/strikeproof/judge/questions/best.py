"""Which article is the best with a tool, and how sure that is."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from typing import Literal, TypeAlias

import numpy as np

from strikeproof.judge.questions.effects import Effects
from strikeproof.judge.questions.joint import joint_of, root_of
from strikeproof.quantity import BoolArray, FloatArray

__all__ = ["Best", "Contender", "LeftOut", "find_best"]

LeftOut: TypeAlias = Literal["one run", "one block", "apart"]
"""Why an article is no contender: it has one run, has runs in one block only, or shares no block with the
others."""
Unknown: TypeAlias = Literal["none", "alone", "no scatter", "order"]
"""Why nothing can be said: no contender, one contender, scatter not known, every article in its own
place of the blocks."""
LEAST = 2
DRAWS = 20_000
SEED = 2_026
"""Of the draws behind the chances; fixed, so that the same runs give the same figures."""


@dataclass(frozen=True, slots=True)
class Contender:
    """One article in the contest, in percent of the best of the others; more is better.

    `behind_percent` (0 or less) and `ahead_percent` (0 or more) are the ends of the interval of its
    difference from the best of all others, all contenders together; above 0 of `ahead_percent` it may
    be the best.
    `ranks` are the places that it may have, all contenders together. `chance` is the chance that it is the
    best, from draws around what was measured, every difference being as likely as any other before. `held`
    says that only a doubtful pair would rule it out, so that it may be the best all the same.
    """

    article: str
    runs: int
    against_best_percent: float
    behind_percent: float
    ahead_percent: float
    ranks: tuple[int, int]
    chance: float
    price: float | None
    held: bool = False

    @property
    def may_be_best(self) -> bool:
        """Whether it cannot be ruled out as the best."""
        return self.held or self.ahead_percent > 0.0


@dataclass(frozen=True, slots=True)
class Best:
    """The contest with one tool, the best as seen first.

    The intervals against the best hold together with `confidence`, and so do the ranks.
    """

    tool: str
    contenders: tuple[Contender, ...]
    left_out: tuple[tuple[str, LeftOut], ...]
    unknown: Unknown | None
    confidence: float
    timed: bool

    @property
    def possible(self) -> tuple[Contender, ...]:
        """Those that cannot be ruled out as the best."""
        return tuple(each for each in self.contenders if each.may_be_best)


def find_best(
    effects: Effects,
    tool: str,
    *,
    confidence: float,
    timed: bool = False,
    prices: Mapping[str, float] | None = None,
    doubtful: Collection[frozenset[str]] = (),
) -> Best:
    """Compare every article that ran with a tool with the best of the others.

    Parameters
    ----------
    effects
        The fit.
    tool
        One that ran.
    confidence
        Of all intervals together, and of all ranks together.
    timed
        Whether scores are times, of which less is better.
    prices
        Price of each article in the campaign's currency.
    doubtful
        Pairs of which neither may rule out the other, whatever the interval of their difference.

    References
    ----------
    J. C. Hsu, Ann. Stat. 12 (1984) 1136; for unequal runs Edwards, Hsu, J. Am. Stat. Assoc. 78 (1983) 965, as
    in Hsu, *Multiple Comparisons*, 1996, section 4.2. Ranks from all pairs: Klein, Wright, Wieczorek, J. R.
    Stat. Soc. C 69 (2020) 589 (all from memory).
    """
    names, left_out = _contenders(effects, tool, effects.ranked(tool, timed=timed))
    unknown: Unknown | None = (
        "none"
        if not names
        else "alone"
        if len(names) < 2
        else "no scatter"
        if effects.fit.variance is None
        else "order"
        if effects.order_hides
        else None
    )
    if unknown is not None:
        return Best(tool, (), left_out, unknown, confidence, timed)
    contest = _Contest(effects, tool, names, confidence, doubtful, timed=timed)
    behind, ahead, held = contest.against_best()
    low, high = contest.ranks()
    chances = contest.chances()
    contenders = [
        Contender(
            article=name,
            runs=effects.count_runs(name, tool),
            against_best_percent=_percent(contest.seen(i), timed=timed),
            behind_percent=_percent(behind[i], timed=timed),
            ahead_percent=_percent(ahead[i], timed=timed),
            ranks=(int(low[i]), int(high[i])),
            chance=float(chances[i]),
            price=(prices or {}).get(name),
            held=bool(held[i]),
        )
        for i, name in enumerate(names)
    ]
    return Best(tool, tuple(contenders), left_out, None, confidence, timed)


def _contenders(
    effects: Effects, tool: str, ranked: Sequence[str]
) -> tuple[list[str], tuple[tuple[str, LeftOut], ...]]:
    """Those with runs enough in blocks that hang together, and why the others are left out."""
    few: dict[str, LeftOut] = {
        name: "one run" if effects.count_runs(name, tool) < LEAST else "one block"
        for name in ranked
        if effects.witnesses(name, tool) < LEAST
    }
    others = [name for name in ranked if name not in few]
    groups: list[list[str]] = []
    for name in others:
        for group in groups:
            pair = effects.weights({name: 1.0, group[0]: -1.0}, tool)
            if bool(effects.can_tell(pair[None])[0]):
                group.append(name)
                break
        else:
            groups.append([name])
    groups.sort(key=lambda group: -sum(effects.witnesses(name, tool) for name in group))
    inside = groups[0] if groups else []
    apart = [name for name in others if name not in inside]
    return inside, (*few.items(), *((name, "apart") for name in apart))


class _Contest:
    """Differences of all contenders: [i, j] is contender i less contender j, and more is better."""

    def __init__(
        self,
        effects: Effects,
        tool: str,
        names: Sequence[str],
        confidence: float,
        doubtful: Collection[frozenset[str]],
        *,
        timed: bool,
    ) -> None:
        count = len(names)
        sign = -1.0 if timed else 1.0
        own = sign * np.stack([effects.weights({name: 1.0}, tool) for name in names])
        self._effects, self._confidence = effects, confidence
        self._weights = own[:, None, :] - own[None, :, :]
        self._apart: BoolArray = ~np.eye(count, dtype=np.bool_)
        self._doubtful: BoolArray = np.asarray(
            [[frozenset((one, other)) in doubtful for other in names] for one in names]
        )
        measured = effects.measure(self._weights[self._apart])
        self._difference, self._error, self._freedom = (
            self._square(values) for values in (measured.value, measured.error, measured.freedom)
        )

    def _square(self, values: FloatArray) -> FloatArray:
        square = np.zeros(self._apart.shape)
        square[self._apart] = values
        return square

    def seen(self, i: int) -> float:
        """How contender i compared with the best of the others."""
        return float(self._difference[i][self._apart[i]].min())

    def against_best(self) -> tuple[FloatArray, FloatArray, BoolArray]:
        """Ends of the intervals of each contender less the best of the others, and who is held; (k,) each."""
        count = len(self._apart)
        bounds = np.zeros((count, count))
        for i in range(count):
            others = self._apart[i]
            covariance = self._effects.measure(self._weights[i][others]).covariance
            joint = joint_of(covariance, two_sided=False)
            bounds[i, others] = joint.critical_values(self._confidence, self._freedom[i, others])
        reach = np.where(self._apart, self._difference + bounds * self._error, np.inf)
        ahead = np.maximum(reach.min(axis=1), 0.0)
        held = (ahead <= 0.0) & (np.where(self._doubtful, np.inf, reach).min(axis=1) > 0.0)
        possible = np.flatnonzero((ahead > 0.0) | held)
        behind = np.zeros(count)
        for i in range(count):
            rivals = possible[possible != i]
            if len(rivals):  # the bound is that of the explanation, taken for the best
                lows = self._difference[i, rivals] - bounds[rivals, i] * self._error[i, rivals]
                behind[i] = min(float(lows.min()), 0.0)
        return behind, ahead, held

    def ranks(self) -> tuple[FloatArray, FloatArray]:
        """First and last place that each contender may have; (k,) each."""
        upper = np.triu(self._apart)
        joint = joint_of(self._effects.measure(self._weights[upper]).covariance)
        bound = np.zeros(self._apart.shape)
        bound[upper] = joint.critical_values(self._confidence, self._freedom[upper])
        surely = self._difference > np.maximum(bound, bound.T) * self._error
        surely &= self._apart & ~self._doubtful
        return 1.0 + surely.sum(axis=0), len(surely) - surely.sum(axis=1)

    def chances(self) -> FloatArray:
        """Share of draws around what was measured in which each contender is the best; (k,)."""
        fit, weights = self._effects.fit, self._weights[:, 0]
        covariance = (fit.variance or 0.0) * weights @ fit.covariance @ weights.T
        covariance += self._effects.extra_covariance(weights)
        root = root_of(covariance)
        rng = np.random.default_rng(SEED)
        scale = np.sqrt(rng.chisquare(fit.degrees_of_freedom, (DRAWS, 1)) / fit.degrees_of_freedom)
        drawn = self._difference[:, 0] + rng.standard_normal((DRAWS, root.shape[1])) @ root.T / scale
        return np.asarray(np.bincount(drawn.argmax(axis=1), minlength=len(root)) / DRAWS)


def _percent(better: float, *, timed: bool) -> float:
    """A difference of log scores in percent; of a time, the time saved."""
    change = 100.0 * float(np.expm1(min(-better if timed else better, 690.0)))
    return 0.0 - change if timed else change
