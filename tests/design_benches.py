"""Simulated benches of known truth, each with its campaign and a brief for the next prototype."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from tests.explain_campaigns import SHARES, read_growth

from strikeproof.design.bodies import in_mm
from strikeproof.design.records import Base, Brief, Envelope, Offer, Step, World
from strikeproof.design.worlds import Believed
from strikeproof.desk.explaining.belief import REACH
from strikeproof.drivetrain import ArticleModel, BoltModel, Rider, RigModel, with_extension, with_ring
from strikeproof.explain.article_model import article_model
from strikeproof.explain.engine import Job, simulate_jobs, simulate_readings
from strikeproof.explain.gains import gather_gains
from strikeproof.explain.growth import gather_clues
from strikeproof.explain.parameters import (
    build_bench,
    build_tool,
    list_parameters,
    read_spread,
    read_values,
)
from strikeproof.explain.records import ArticleFacts, Evidence, Gain, Level, Setting, ToolFacts
from strikeproof.judge.records import ScoredRun
from strikeproof.parts import EXAMPLE_PRICES, read_article, work_out
from strikeproof.quantity import FloatArray

SETTING = Setting("tool")
OWN = (0.03, 0.10, 0.15)  # of inertia, stiffness and gap of an article known by its dimensions
# across flats [mm], and its bolt: pitch, half the pitch diameter, mean radius under the head [m]
HEADS = {
    21: BoltModel(2.0e-3, 6.35e-3, 9.0e-3),
    24: BoltModel(2.0e-3, 7.35e-3, 10.3e-3),
    27: BoltModel(2.5e-3, 8.19e-3, 11.6e-3),
}


@dataclass(frozen=True, slots=True)
class TrueBench:
    """What the search may know, evidence and brief; and what it may not, the world and its unknowns."""

    evidence: Evidence
    brief: Brief
    truth: World
    unknowns: FloatArray


def socket_table(hexagon: int, outer: float, length: float) -> dict[str, Any]:
    """A plain hard socket. [mm]"""
    cuts = [
        {"kind": "square drive", "size_mm": 12.5, "depth_mm": 17.5},
        {"kind": "hexagon", "size_mm": hexagon, "depth_mm": in_mm(0.65e-3 * hexagon)},
        {"kind": "bore", "size_mm": 10.5},
    ]
    part = {
        "name": "socket",
        "shape": "bar",
        "outer_diameter_mm": outer,
        "length_mm": length,
        "material": "4140 at 45 HRC",
        "cut": cuts,
    }
    return {"name": "plain", "part": [part]}


def draw_bench(number: int, seed: int, attempt: int = 0) -> TrueBench:
    """A bench with its campaign, and its brief of that number."""
    rng = np.random.default_rng([seed, number])
    hexagon = int(rng.choice(list(HEADS)))
    outer = float(np.ceil(2.0 * (1.155 * hexagon + rng.uniform(5.0, 9.0))) / 2.0)
    base = socket_table(hexagon, outer, float(rng.choice([40.0, 45.0, 50.0])))
    reference = article_model(work_out(read_article(base)))
    tool = ToolFacts("tool", str(rng.choice(["air", "spring-and-cam"])))
    blank = _blank_evidence(_draw_articles(replace(reference, name="plain"), rng), tool, HEADS[hexagon])
    parameters = list_parameters(blank, bonds=True)
    unknowns = np.clip(rng.standard_normal(len(parameters)), -2.5, 2.5)
    evidence = _run_campaign(blank, unknowns, rng)
    return TrueBench(
        evidence,
        replace(
            _draw_brief(hexagon, outer, base, np.random.default_rng([seed, number, 2, attempt])),
            largest_inertia=REACH * max(each.model.polar_inertia for each in evidence.articles if each.model),
        ),
        true_world(blank, unknowns, np.zeros(3)),
        unknowns,
    )


def true_world(evidence: Evidence, unknowns: FloatArray, own: FloatArray) -> World:
    """The bench as it is, for an article that deviates from its record by `own` log factors (3,)."""
    parameters = list_parameters(evidence, bonds=True)
    values = read_values(parameters, unknowns)
    bolt, rig = build_bench(evidence, values)
    base = evidence.article(evidence.reference).model
    assert base is not None
    at_record = Believed(None, base, read_spread(evidence, values, np.zeros(3)))
    built = Believed(None, base, read_spread(evidence, values, own))
    tool = build_tool(evidence.tools[0], SETTING, values)
    return World((tool,), (SETTING,), bolt, rig, at_record(base), built, built)


def _blank_evidence(articles: list[ArticleFacts], tool: ToolFacts, bolt: BoltModel) -> Evidence:
    gains = tuple(Gain(each.name, SETTING, 0.0, 1) for each in articles[1:])
    return Evidence(tuple(articles), "plain", (tool,), bolt, RigModel(), gains, np.eye(len(gains)), 0.02)


def _draw_articles(base: ArticleModel, rng: np.random.Generator) -> list[ArticleFacts]:
    """The reference, rings from light to heavy, one on a soft bond, an extension, a thicker wall."""
    inertia = base.polar_inertia
    factors = np.exp(rng.uniform(np.log([1.4, 2.2, 3.5, 5.5]), np.log([2.2, 3.5, 5.5, 9.0])))
    made = [with_ring(base, inertia * (factor - 1.0)) for factor in factors]
    ring = inertia * float(rng.uniform(1.0, 4.0))
    stiffness = ring * (2.0 * np.pi * float(rng.uniform(700.0, 1800.0))) ** 2
    made.append(replace(base, riders=(Rider("ring", ring, stiffness, 0.05),)))
    made.append(with_extension(base, 2.5e-5, 3.6e3, lumps=1))
    wall = float(rng.uniform(1.4, 2.5))
    lumps = tuple(replace(each, stiffness=each.stiffness * wall) for each in base.lumps)
    made.append(with_ring(replace(base, lumps=lumps), 0.6 * inertia))
    named = [base, *(replace(each, name=f"article {i}") for i, each in enumerate(made, start=1))]
    return [ArticleFacts(each.name, each) for each in named]


def _run_campaign(blank: Evidence, unknowns: FloatArray, rng: np.random.Generator) -> Evidence:
    """Blocks with every article once and the reference twice in random order, scored as a bench scores."""
    (other,) = rng.spawn(1)
    parameters = list_parameters(blank, bonds=True)
    levels = []
    for facts in blank.articles:
        assert facts.model is not None
        own = OWN if facts.name != blank.reference else (0.0, 0.0, 0.0)
        job, apart = Job(facts.model, SETTING, own), rng.standard_normal((1, 3))
        levels.append(simulate_readings(blank, parameters, [job], unknowns[None], apart, SHARES)[0, 0])
    logs = {each.name: level[0] for each, level in zip(blank.articles, levels, strict=True)}
    blocks, scatter = int(rng.integers(5, 8)), float(rng.uniform(0.015, 0.03))
    runs: list[ScoredRun] = []
    others = [each.name for each in blank.articles[1:]]
    for block in range(blocks):
        level = rng.normal(0.0, 0.015)
        names = ["plain", "plain", *others]
        for name in (names[i] for i in rng.permutation(len(names))):
            score = float(np.exp(level + logs[name] + rng.normal(0.0, scatter)))
            runs.append(ScoredRun(f"r{len(runs)}", name, "tool", str(block), len(runs), score))
    found = gather_gains(runs, "plain", {"tool": SETTING})
    readings = read_growth(blank.articles, np.array(levels), runs, scatter, other, np.exp(logs["plain"]))
    told = gather_clues(runs, "plain", {"tool": SETTING}, readings)
    return replace(
        blank,
        clues=told.clues,
        clue_covariance=told.covariance,
        gains=found.gains,
        covariance=found.covariance,
        run_scatter=found.run_scatter,
        levels=(_measure_level(blank, unknowns, rng),),
    )


def _measure_level(blank: Evidence, unknowns: FloatArray, rng: np.random.Generator) -> Level:
    """What the calibrated rig says the reference reaches, within 5 %."""
    parameters = list_parameters(blank, bonds=True)
    base = blank.article(blank.reference).model
    assert base is not None
    log = simulate_jobs(blank, parameters, [Job(base, SETTING)], unknowns[None], np.zeros((1, 3)))[0, 0]
    return Level(SETTING, float(np.exp(log + rng.normal(0.0, 0.05))), 5.0)


def _draw_brief(hexagon: int, outer: float, base: dict[str, Any], rng: np.random.Generator) -> Brief:
    """Some bar and pipe, a pocket or a wall, a mass and a budget that some article keeps."""
    bars = rng.permutation(["bar 50 mm", "bar 60 mm", "bar 70 mm", "bar 80 mm", "bar 90 mm"])[:2]
    others = rng.permutation(["pipe NPS 2 sch 160", "nut M36", "washer M36", "tube DN 50 heavy"])[:1]
    pocket = (Step(float(rng.uniform(0.008, 0.03)), 1e-3 * (outer + float(rng.uniform(4.0, 16.0)))),)
    envelope = Envelope(
        pocket if rng.random() < 0.6 else (),
        float(rng.uniform(0.06, 0.11)),
        float(rng.uniform(0.035, 0.06)),
    )
    return Brief(
        "bench",
        hexagon * 1e-3,
        0.0125,
        envelope,
        tuple(Offer(str(each), "42CrMo4 +QT" if i == 0 else None) for i, each in enumerate((*bars, *others))),
        (Base("plain", base, 16.0),),
        EXAMPLE_PRICES,
        processes=frozenset({"turning", "welding"} | ({"press fit"} if rng.random() < 0.3 else set())),
        largest_mass=float(rng.uniform(0.5, 1.4)),
        budget=float(rng.uniform(28.0, 60.0)),
        least_static=1.2,
        proposals=5,
    )
