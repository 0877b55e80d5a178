"""Simulated campaigns whose true explanation is known."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal, TypeAlias

import numpy as np

from strikeproof.drivetrain import (
    ArticleModel,
    BoltModel,
    Rider,
    RigModel,
    plain_article,
    with_extension,
    with_ring,
)
from strikeproof.explain.clue_model import SHAPE_SLACK, SHARED
from strikeproof.explain.engine import Job, simulate_readings
from strikeproof.explain.gains import gather_gains
from strikeproof.explain.growth import gather_clues
from strikeproof.explain.kinds import KEPT
from strikeproof.explain.parameters import list_parameters
from strikeproof.explain.records import (
    ArticleFacts,
    Evidence,
    Gain,
    Reading,
    RivalName,
    Setting,
    ToolFacts,
)
from strikeproof.explain.statistical import (
    AMPLITUDES,
    LENGTHS,
    MASS_SLOPE,
    curve_covariance,
)
from strikeproof.explain.variants import Spread, spread_article, vary_article
from strikeproof.judge.records import ScoredRun
from strikeproof.quantity import FloatArray

BOLT = BoltModel(2.5e-3, 9.19e-3, 12.5e-3)
RIG = RigModel()
SHARES = (0.15, 0.4)  # of the duration, at which growth curves are read
INERTIA = 1.0e-4  # kg·m², a 30 mm socket of the 1/2 in class


Departure: TypeAlias = Literal["none", "own scatter", "inertia off", "one misread", "hexagons differ"]
"""Each article has 5 % of its own; or inertia 15 % off its record; or a hexagon 1.6 times as stiff;
or all scores of one article were read 12 % high or low. All but the last are standard deviations."""


@dataclass(frozen=True, slots=True)
class TrueCampaign:
    """Evidence as a bench gives it, and what was put in: rival, log gains, unknowns in prior deviations."""

    evidence: Evidence
    rival: RivalName
    log_gains: FloatArray
    unknowns: FloatArray


def draw_articles(count: int, rng: np.random.Generator) -> list[ArticleFacts]:
    """A reference and `count` - 1 others: rings, walls, fits, extensions, rings on soft bonds."""
    base = plain_article("reference", INERTIA)
    kinds = ["ring", "soft ring", "extension", "ring", "wall", "soft ring", "fit", "ring", "thin"]
    chosen = [kinds[i] for i in sorted(rng.permutation(len(kinds))[: count - 1])]
    for i, kind in enumerate(("soft ring", "extension")):  # every campaign can tell, in principle
        if kind not in chosen:
            chosen[i] = kind
    models = [base] + [_build(kind, f"{kind} {i + 1}", base, rng) for i, kind in enumerate(chosen)]
    mass = [0.45 * (m.polar_inertia / INERTIA) ** 0.45 * np.exp(rng.normal(0, 0.35)) for m in models]
    return [
        ArticleFacts(model.name, model, float(each), 3.0, 8.0, 10.0)
        for model, each in zip(models, mass, strict=True)
    ]


def _build(kind: str, name: str, base: ArticleModel, rng: np.random.Generator) -> ArticleModel:
    factor = float(np.exp(rng.uniform(np.log(1.5), np.log(8.0))))
    if kind == "ring":
        made = with_ring(base, INERTIA * (factor - 1.0))
    elif kind == "soft ring":
        frequency = float(rng.uniform(600.0, 1800.0))  # Hz, of the ring on its bond
        inertia = INERTIA * factor
        stiffness = inertia * (2.0 * np.pi * frequency) ** 2
        slip = float(rng.choice([0.0, rng.uniform(40.0, 300.0)]))
        made = replace(base, riders=(Rider("ring", inertia, stiffness, 0.05, slip),))
    elif kind == "extension":
        stiffness = float(rng.choice([6.0e3, 3.6e3, 1.8e3]))
        made = with_extension(base, float(rng.uniform(0.3, 1.2)) * INERTIA, stiffness, lumps=1)
    elif kind == "wall":
        wall = float(np.exp(rng.choice([-1.0, 1.0]) * rng.uniform(0.4, 1.0)))
        made = plain_article(name, INERTIA * float(rng.uniform(0.8, 2.0)), stiffness=1.0e5 * wall)
    elif kind == "fit":
        wide = float(np.exp(rng.choice([-1.0, 1.0]) * rng.uniform(0.4, 0.9))) * base.hexagon_gap
        made = plain_article(name, INERTIA * float(rng.uniform(0.8, 2.0)), square_gap=wide, hexagon_gap=wide)
    else:
        made = plain_article(name, INERTIA * float(rng.uniform(0.55, 0.8)))
    return replace(made, name=name)


def draw_campaign(
    rival: RivalName, rng: np.random.Generator, *, growth: bool = False, depart: Departure = "none"
) -> TrueCampaign:
    """A campaign of 6 to 10 articles, 3 to 5 blocks and 1.5 to 3 % scatter in which `rival` is true.

    With growth curves, all else is the same as without; so it is where the bench departs from the family.
    """
    other, off = rng.spawn(2)
    facts = draw_articles(int(rng.integers(6, 11)), rng)
    mechanism = str(rng.choice(["air", "spring-and-cam"]))
    setting = Setting("tool")
    blank = Evidence(
        tuple(facts),
        "reference",
        (ToolFacts("tool", mechanism),),
        BOLT,
        RIG,
        tuple(Gain(each.name, setting, 0.0, 1) for each in facts[1:]),
        np.eye(len(facts) - 1),
        0.02,
    )
    unknowns, levels = _true_levels(rival, blank, rng, other, _Departing(depart, off))
    gains = levels[1:, 0] - levels[0, 0]
    seen = gains.copy()
    if depart == "one misread":
        seen[off.integers(len(seen))] += off.choice([-1.0, 1.0]) * np.log(1.12)
    blocks, scatter = int(rng.integers(3, 6)), float(rng.uniform(0.015, 0.03))
    runs = _run(facts, seen, blocks, scatter, rng)
    found = gather_gains(runs, "reference", {"tool": setting})
    order = {each.article: i for i, each in enumerate(blank.gains)}
    evidence = replace(blank, gains=found.gains, covariance=found.covariance, run_scatter=found.run_scatter)
    if growth:
        readings = read_growth(facts, levels, runs, scatter, other)
        told = gather_clues(runs, "reference", {"tool": setting}, readings)
        evidence = replace(evidence, clues=told.clues, clue_covariance=told.covariance)
    true = np.array([gains[order[each.article]] for each in found.gains])
    return TrueCampaign(evidence, rival, true, unknowns)


@dataclass(frozen=True, slots=True)
class _Departing:
    """How a true bench differs from all that an explanation can say, article by article."""

    kind: Departure
    rng: np.random.Generator

    def build(self, article: ArticleModel) -> ArticleModel:
        """The article as it really is."""
        if self.kind == "inertia off":
            return spread_article(article, Spread(inertia=float(np.exp(self.rng.normal(0.0, 0.15)))))
        if self.kind == "hexagons differ":
            return spread_article(article, Spread(hexagon=float(np.exp(self.rng.normal(0.0, 0.5)))))
        return article

    def own(self) -> float:
        """Log score that it has of its own."""
        return float(self.rng.normal(0.0, 0.05)) if self.kind == "own scatter" else 0.0


def _true_levels(
    rival: RivalName,
    blank: Evidence,
    rng: np.random.Generator,
    other: np.random.Generator,
    departing: _Departing,
) -> tuple[FloatArray, FloatArray]:
    """The unknowns (d,), and of the reference and all others the log level at the end and at `SHARES`.

    Where the engine is not the truth, it still gives the reference's curve, and a gain is there early in the
    run in part only, or more than at its end.
    """
    if rival in KEPT:
        return _engine_levels(rival, blank, rng, departing)
    gains = _plain_gains(rival, blank, rng)
    base = _engine_levels("inertia", blank, other, departing)[1][0]
    share = np.r_[1.0, other.uniform(0.5, 1.3, len(SHARES))]
    return np.zeros(0), base + np.outer(np.r_[0.0, gains], share)


def _plain_gains(rival: RivalName, blank: Evidence, rng: np.random.Generator) -> FloatArray:
    """Log gains (n,) of a rival without physics."""
    facts = [blank.article(each.article) for each in blank.gains]
    reference = blank.article("reference")
    inertia = np.log([each.model.polar_inertia / INERTIA for each in facts if each.model])
    mass = np.log([each.mass / reference.mass for each in facts if each.mass and reference.mass])
    if rival == "nothing":
        return np.zeros(len(facts))
    if rival == "mass":
        return rng.normal(0.0, MASS_SLOPE) * mass
    size, length = rng.choice(AMPLITUDES), rng.choice(LENGTHS)
    covariance = curve_covariance(inertia, float(size), float(length)) + 1e-12 * np.eye(len(facts))
    return rng.multivariate_normal(np.zeros(len(facts)), covariance)


def _engine_levels(
    rival: RivalName, blank: Evidence, rng: np.random.Generator, departing: _Departing
) -> tuple[FloatArray, FloatArray]:
    kept = KEPT[rival]
    parameters = list_parameters(blank, bonds=kept.bond)
    unknowns = rng.standard_normal((1, len(parameters)))
    base = blank.article("reference").model
    assert base is not None
    setting = blank.gains[0].setting
    levels = []
    for name in ["reference", *(each.article for each in blank.gains)]:
        facts = blank.article(name)
        assert facts.model is not None
        known = (facts.inertia_percent, facts.stiffness_percent, facts.gap_percent)
        flags = (kept.inertia, kept.stiffness, kept.gap)
        own = tuple(0.01 * each * flag for each, flag in zip(known, flags, strict=True))
        varied = departing.build(vary_article(facts.model, base, kept))
        job = Job(varied, setting, own if name != "reference" else (0, 0, 0))
        own_z = rng.standard_normal((1, 3))
        level = simulate_readings(blank, parameters, [job], unknowns, own_z, SHARES)[0, 0]
        levels.append(level + departing.own())
    return unknowns[0], np.array(levels)


def read_growth(
    facts: Sequence[ArticleFacts],
    levels: FloatArray,
    runs: Sequence[ScoredRun],
    scatter: float,
    rng: np.random.Generator,
    middle: float = 300.0,
) -> dict[Reading, dict[str, float]]:
    """Levels of every run at `SHARES`: early readings scatter with the run's end, and by themselves.

    The growth of the bench is off what the engine says by as much as an explanation allows for.

    Parameters
    ----------
    levels : (articles, 3)
        Log levels at the end and at `SHARES`, the reference's first.
    middle
        Usual score of the reference.
    """
    place = {each.name: i for i, each in enumerate(facts)}
    together, wider = rng.uniform(0.5, 0.95), rng.uniform(0.8, 1.5)
    one, two = rng.standard_normal(2)
    slack = SHAPE_SLACK * -np.log(SHARES) * np.array([one, SHARED * one + np.sqrt(1.0 - SHARED**2) * two])
    found: dict[Reading, dict[str, float]] = {share: {} for share in SHARES}
    for run in runs:
        true = levels[place[run.article]]
        off = np.log(run.score) - true[0] - np.log(middle) + levels[0, 0]  # the run's own, block and scatter
        news = rng.normal(0.0, scatter, len(SHARES))
        early = wider * (together * off + np.sqrt(1.0 - together**2) * news)
        for share, log_level in zip(SHARES, true[1:] + slack + early, strict=True):
            found[share][run.run] = float(np.exp(log_level - levels[0, 0] + np.log(middle)))
    return found


def _run(
    facts: list[ArticleFacts], gains: FloatArray, blocks: int, scatter: float, rng: np.random.Generator
) -> list[ScoredRun]:
    """Every article once a block and the reference twice, in random order."""
    runs: list[ScoredRun] = []
    log_gain = {each.name: value for each, value in zip(facts[1:], gains, strict=True)} | {"reference": 0.0}
    for block in range(blocks):
        level = np.log(300.0) + rng.normal(0.0, 0.015)
        names = ["reference", "reference", *(each.name for each in facts[1:])]
        for name in (names[i] for i in rng.permutation(len(names))):
            score = float(np.exp(level + log_gain[name] + rng.normal(0.0, scatter)))
            runs.append(ScoredRun(f"r{len(runs)}", name, "tool", str(block), len(runs), score))
    return runs
