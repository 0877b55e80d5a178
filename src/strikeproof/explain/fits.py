"""All explanations fitted to one campaign."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from strikeproof.explain.crew import ALONE, Crew
from strikeproof.explain.kinds import EXPLANATIONS, KEPT, RIVALS
from strikeproof.explain.particles import Particles
from strikeproof.explain.physical import Budget, Physical, fit_physical
from strikeproof.explain.records import Evidence, RivalName, Setting, ToolFacts
from strikeproof.explain.sampling import Effort
from strikeproof.explain.statistical import Table
from strikeproof.explain.variants import Properties
from strikeproof.quantity import FloatArray

__all__ = ["FULL", "QUICK", "Fits", "fit_rivals", "make_table", "usable"]

FULL = Budget(first=128, second=96, effort=Effort(64, 200, 600, 800), rounds=50, workers=2)
QUICK = Budget(
    first=64,
    second=32,
    effort=Effort(40, 100, 250, 300, target=1.1, rounds=1),
    rounds=25,
    workers=2,
    quick=True,
    splits=1,
    tests=12,
    check=4,
)


@dataclass(frozen=True, slots=True)
class Fits:
    """What every later question starts from: evidence that could be used, its table, the fitted
    explanations."""

    evidence: Evidence
    table: Table
    physical: tuple[Physical, ...]
    rivals: tuple[Particles, ...]

    @property
    def gains(self) -> FloatArray:
        """Measured log gains, (n,)."""
        return np.array([each.log_gain for each in self.evidence.gains])

    def chain(self, name: RivalName) -> Physical:
        """The fit of a physical explanation."""
        return {each.name: each for each in self.physical}[name]


def usable(evidence: Evidence) -> tuple[Evidence, tuple[str, ...]]:
    """The evidence without articles whose inertia is not known, and the names of these."""
    known = {each.name for each in evidence.articles if each.model is not None}
    kept = [i for i, gain in enumerate(evidence.gains) if gain.article in known]
    left = tuple(dict.fromkeys(gain.article for gain in evidence.gains if gain.article not in known))
    settings = {evidence.gains[i].setting for i in kept}
    gained = {(evidence.gains[i].article, evidence.gains[i].setting) for i in kept}
    gained |= {(evidence.reference, setting) for setting in settings}
    told = [i for i, each in enumerate(evidence.clues) if (each.article, each.setting) in gained]
    reduced = replace(
        evidence,
        gains=tuple(evidence.gains[i] for i in kept),
        covariance=evidence.covariance[np.ix_(kept, kept)],
        levels=tuple(each for each in evidence.levels if each.setting in settings),
        tools=tuple(_with_rate(evidence, tool) for tool in evidence.tools),
    )
    return reduced.with_clues(told), left


def _with_rate(evidence: Evidence, facts: ToolFacts) -> ToolFacts:
    rates = [
        rate for setting, rate in evidence.blow_rates if setting.tool == facts.name and setting.supply == 1.0
    ]
    if not rates or "blow_rate" in facts.known:
        return facts
    return replace(facts, known={**facts.known, "blow_rate": float(np.median(rates))})


def make_table(evidence: Evidence, more: tuple[tuple[Setting, float, float | None, int], ...] = ()) -> Table:
    """Log ratios to the reference of all gains, and of `more` (setting, inertia, mass, number).

    A setting that was not run goes with one of the same tool where there is one: what has no physics does
    not know what a duration does.

    Parameters
    ----------
    evidence
        Its gains come first.
    more
        Setting, polar inertia [kg·m²], mass [kg] or None, and `UNSEEN` or `KIN`, of what was not run.
    """
    reference = evidence.article(evidence.reference)
    assert reference.model is not None
    rows = [(g.setting, evidence.article(g.article)) for g in evidence.gains]
    known = [(at, each.model.polar_inertia, each.mass) for at, each in rows if each.model is not None]
    known += [(at, inertia, mass) for at, inertia, mass, _number in more]
    numbers: dict[Setting, int] = {}
    for at, *_rest in known:
        same_tool = [number for other, number in numbers.items() if other.tool == at.tool]
        if at not in numbers and same_tool and at not in evidence.settings:
            numbers[at] = same_tool[0]
        numbers.setdefault(at, len(set(numbers.values())))
    names = {each.article: i for i, each in enumerate(reversed(evidence.gains))}
    own = [names[each.article] for each in evidence.gains] + [number for *_rest, number in more]
    inertia = np.log([value / reference.model.polar_inertia for _at, value, _mass in known])
    mass = [np.log(each / reference.mass) if each and reference.mass else 0.0 for _at, _j, each in known]
    setting = np.array([float(numbers[at]) for at, *_rest in known])
    return Table(setting, inertia, np.asarray(mass), np.array(own, dtype=np.int64))


def fit_rivals(
    evidence: Evidence,
    budget: Budget,
    rng: np.random.Generator,
    progress: Callable[[int, int, str], None] | None = None,
    crew: Crew = ALONE,
) -> Fits:
    """Fit all explanations that the evidence can separate in principle.

    Parameters
    ----------
    evidence
        Every article's inertia is known, as `usable` leaves it.
    budget
        How many runs and draws.
    rng
        The only source of chance.
    progress
        Called with (done, total, what is being done).
    crew
        Threads, and what keeps finished pieces.

    References
    ----------
    docs/explain.md.
    """
    table = make_table(evidence)
    kinds = [each for each in EXPLANATIONS.values() if each.differs(evidence, table)]
    rivals: dict[RivalName, Particles] = {
        each.code: each.believes(table) for each in kinds if not isinstance(each.believes, Properties)
    }
    names = [each.code for each in kinds if each.code in KEPT]
    physical = []
    for i, (name, chance) in enumerate(zip(names, rng.spawn(len(names)), strict=True)):
        if progress is not None:
            progress(i, len(names), f"fitting {name}")
        physical.append(fit_physical(evidence, table, name, budget, chance, crew.at(name)))
        rivals[name] = physical[-1].particles
    return Fits(evidence, table, tuple(physical), tuple(rivals[name] for name in RIVALS if name in rivals))
