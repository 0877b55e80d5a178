"""An invented explanation with two tools; its numbers mean nothing, its two blows come from the engine."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import numpy as np
from tests.unit.publish.blow.bench import case

from strikeproof.drivetrain import BoltModel, RigModel, plain_article
from strikeproof.explain import (
    RIVALS,
    ArticleFacts,
    ArticleRow,
    Convergence,
    Diagnostics,
    Evidence,
    Explanation,
    Gain,
    NextTest,
    ParameterRow,
    RivalRow,
    Setting,
    Split,
    ToolFacts,
)
from strikeproof.publish.explain import BlowView, InertiaCurve, Why

TOOLS = ("air-a", "oil_b")
GAINS = {  # inertia [kg·m²] and gain in percent
    "deep-24": (1.1e-4, 9.0),
    "heavy-24": (1.9e-4, 14.0),
    "slim-24": (0.7e-4, -7.0),
    "long-24 with adapter": (1.2e-4, -14.0),
    "ring-24": (4.0e-4, 16.5),
    "worn-24": (1.0e-4, -2.0),
}
REFERENCE = "plain-24"


def _evidence() -> Evidence:
    plain = ArticleFacts(REFERENCE, plain_article(REFERENCE, 1.0e-4), 0.4)
    others = [ArticleFacts(name, plain_article(name, inertia), 0.5) for name, (inertia, _) in GAINS.items()]
    gains = tuple(
        Gain(name, Setting(tool), float(np.log1p(0.01 * gain)), 4)
        for tool in TOOLS
        for name, (_, gain) in GAINS.items()
    )
    return Evidence(
        (plain, *others),
        REFERENCE,
        tuple(ToolFacts(tool, "air") for tool in TOOLS),
        BoltModel(2.5e-3, 9.19e-3, 12.5e-3),
        RigModel(),
        gains,
        4e-4 * np.eye(len(gains)),
        0.02,
    )


def _articles() -> tuple[ArticleRow, ...]:
    rows = []
    for tool in TOOLS:
        for place, (name, (_, gain)) in enumerate(GAINS.items()):
            off = 30.0 if place == 0 else 0.0  # one that nobody foresaw
            split = Split(0.7 * gain, 0.5 * gain, -0.1 * gain, -0.1 * gain)
            middle = gain + 1.5 + off
            rows.append(
                ArticleRow(name, tool, Setting(tool), gain, middle, middle - 6.0, middle + 6.0, True, split)
            )
    return tuple(rows)


def _rivals() -> tuple[RivalRow, ...]:
    weights = (0.0, 0.05, 0.0, 0.05, 0.8, 0.1, 0.0)
    return tuple(
        RivalRow(name, weight, -20.0 + 10.0 * weight, 1.0, 12.0 - 10.0 * weight, weight, f"claims {name}")
        for name, weight in zip(RIVALS, weights, strict=True)
    )


def _parameters() -> tuple[ParameterRow, ...]:
    return (
        ParameterRow("hammer_inertia of oil_b", "kg·m²", 4e-4, 3e-4, 5e-4, 2e-4, 6e-4, 0.45),
        ParameterRow("clamp_stiffness", "N/m", 4e8, 3e8, 5e8, 3e8, 5e8, 0.02),
    )


def _tests() -> tuple[NextTest, ...]:
    words = "plain-24 on a 125 mm extension, 20 mm steel bar with 12.7 mm squares (3.6 kN·m/rad), with oil_b"
    return (NextTest(words, 1.94, 0.31, 1.63), NextTest("heavy-24 for 2.5 s instead of 10 s", 0.5, 0.1, 0.4))


@cache
def sample_explanation() -> Explanation:
    """All that an explanation can say."""
    diagnostics = Diagnostics(
        (Convergence("chain", 1.01, 900.0, 700.0, 0.6, 300.0),),
        0.5,
        0.4,
        (),
        (),
        ("the bolt's friction is not given: 0.12 is taken", "odd-24 is left out: its inertia is not known"),
        ("odd-24",),
        ("clamp_stiffness",),
        4000,
        True,
    )
    because = (
        "Inertia, stiffness and gaps together explain it: left-out articles are foretold within 4.0 %.",
        "These runs show nothing about hammer_inertia of oil_b.",
    )
    return Explanation(
        _rivals(),
        "chain",
        because,
        _parameters(),
        _articles(),
        _tests(),
        diagnostics,
        _evidence(),
        None,
    )


def _curve(tool: str) -> InertiaCurve:
    inertia = np.geomspace(0.6e-4, 4.5e-4, 15)
    middle = 14.0 * np.log(inertia / 1e-4)
    return InertiaCurve(tool, "chain", inertia, middle, middle - 3.0, middle + 3.0)


@cache
def sample_why() -> Why:
    """With curves and two blows."""
    views = tuple(
        BlowView(article, made.story, made.ledger, made.blow.rebound < 0.0)
        for article, made in ((REFERENCE, case("plain")), ("ring-24", case("extension")))
    )
    return Why(sample_explanation(), tuple(_curve(tool) for tool in TOOLS), views, TOOLS[0])


def bare_why(*because: str) -> Why:
    """What a campaign gets that says too little: sentences and nothing to draw."""
    explanation = sample_explanation()
    nothing = replace(
        explanation,
        rivals=(),
        verdict="cannot tell",
        because=because,
        parameters=(),
        articles=(),
        next=(),
        diagnostics=Diagnostics((), None, None, (), (), (), (), (), 0, False),
    )
    return Why(nothing)
