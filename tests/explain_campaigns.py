"""Simulated campaigns whose true explanation is known."""

from __future__ import annotations

from dataclasses import dataclass, replace

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
from strikeproof.explain.engine import Job, simulate_jobs
from strikeproof.explain.gains import gather_gains
from strikeproof.explain.parameters import list_parameters
from strikeproof.explain.physical import KEPT
from strikeproof.explain.records import ArticleFacts, Evidence, Gain, RivalName, Setting, ToolFacts
from strikeproof.explain.statistical import (
    AMPLITUDES,
    LENGTHS,
    MASS_SLOPE,
    curve_covariance,
)
from strikeproof.explain.variants import vary_article
from strikeproof.judge.records import ScoredRun
from strikeproof.quantity import FloatArray

BOLT = BoltModel(2.5e-3, 9.19e-3, 12.5e-3)
RIG = RigModel()
INERTIA = 1.0e-4  # kg·m², a 30 mm socket of the 1/2 in class


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


def draw_campaign(rival: RivalName, rng: np.random.Generator) -> TrueCampaign:
    """A campaign of 6 to 10 articles, 3 to 5 blocks and 1.5 to 3 % scatter in which `rival` is true."""
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
    unknowns, gains = _true_gains(rival, blank, rng)
    blocks, scatter = int(rng.integers(3, 6)), float(rng.uniform(0.015, 0.03))
    runs = _run(facts, gains, blocks, scatter, rng)
    found = gather_gains(runs, "reference", {"tool": setting})
    order = {each.article: i for i, each in enumerate(blank.gains)}
    evidence = replace(blank, gains=found.gains, covariance=found.covariance, run_scatter=found.run_scatter)
    true = np.array([gains[order[each.article]] for each in found.gains])
    return TrueCampaign(evidence, rival, true, unknowns)


def _true_gains(rival: RivalName, blank: Evidence, rng: np.random.Generator) -> tuple[FloatArray, FloatArray]:
    """The unknowns (d,) and the log gains (n,) that the rival gives."""
    facts = [blank.article(each.article) for each in blank.gains]
    reference = blank.article("reference")
    inertia = np.log([each.model.polar_inertia / INERTIA for each in facts if each.model])
    mass = np.log([each.mass / reference.mass for each in facts if each.mass and reference.mass])
    if rival == "nothing":
        return np.zeros(0), np.zeros(len(facts))
    if rival == "mass":
        return np.zeros(0), rng.normal(0.0, MASS_SLOPE) * mass
    if rival == "curve":
        size, length = rng.choice(AMPLITUDES), rng.choice(LENGTHS)
        covariance = curve_covariance(inertia, float(size), float(length)) + 1e-12 * np.eye(len(facts))
        return np.zeros(0), rng.multivariate_normal(np.zeros(len(facts)), covariance)
    return _engine_gains(rival, blank, rng)


def _engine_gains(
    rival: RivalName, blank: Evidence, rng: np.random.Generator
) -> tuple[FloatArray, FloatArray]:
    kept = KEPT[rival]
    parameters = list_parameters(blank, bonds=kept.bond)
    unknowns = rng.standard_normal((1, len(parameters)))
    base = blank.article("reference").model
    assert base is not None
    setting = blank.gains[0].setting
    scores = []
    for name in ["reference", *(each.article for each in blank.gains)]:
        facts = blank.article(name)
        assert facts.model is not None
        known = (facts.inertia_percent, facts.stiffness_percent, facts.gap_percent)
        flags = (kept.inertia, kept.stiffness, kept.gap)
        own = tuple(0.01 * each * flag for each, flag in zip(known, flags, strict=True))
        job = Job(vary_article(facts.model, base, kept), setting, own if name != "reference" else (0, 0, 0))
        scores.append(simulate_jobs(blank, parameters, [job], unknowns, rng.standard_normal((1, 3)))[0, 0])
    return unknowns[0], np.array(scores[1:]) - scores[0]


def _run(
    facts: list[ArticleFacts], gains: FloatArray, blocks: int, scatter: float, rng: np.random.Generator
) -> list[ScoredRun]:
    """Every article once a block in random order, the reference at both ends."""
    runs: list[ScoredRun] = []
    log_gain = {each.name: value for each, value in zip(facts[1:], gains, strict=True)} | {"reference": 0.0}
    for block in range(blocks):
        level = np.log(300.0) + rng.normal(0.0, 0.015)
        names = ["reference", *(facts[1:][i].name for i in rng.permutation(len(facts) - 1)), "reference"]
        for name in names:
            score = float(np.exp(level + log_gain[name] + rng.normal(0.0, scatter)))
            runs.append(ScoredRun(f"r{len(runs)}", name, "tool", str(block), len(runs), score))
    return runs
