"""Random chains of every mechanism: soft, slipping and loose riders, shanks, loosening, seizure, stalls."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from strikeproof.drivetrain import (
    MECHANISMS,
    ArticleModel,
    BoltModel,
    Lump,
    Rider,
    RigModel,
    Scatter,
    build_chain,
    complete_tool,
)
from strikeproof.drivetrain.chain import Chain
from strikeproof.drivetrain.records import ToolModel

__all__ = ["draw_chain", "log_uniform"]


def log_uniform(rng: np.random.Generator, low: float, high: float) -> float:
    return float(np.exp(rng.uniform(math.log(low), math.log(high))))


def _draw_riders(rng: np.random.Generator) -> tuple[Rider, ...]:
    riders: list[Rider] = []
    for number in range(int(rng.choice([0, 0, 1, 1, 2, 3]))):
        inertia, stiffness = log_uniform(rng, 2e-5, 5e-4), log_uniform(rng, 5e3, 1e6)
        rider = Rider(f"r{number}", inertia, stiffness, rng.uniform(0.005, 0.1))
        way = rng.integers(4)
        if way == 1:
            rider = replace(rider, slip_torque=log_uniform(rng, 10.0, 300.0))
        elif way == 2:
            rider = replace(rider, gap=rng.uniform(0.005, 0.05))
        elif way == 3 and number:
            rider = replace(rider, carrier_rider=int(rng.integers(number)))
        riders.append(rider)
    return tuple(riders)


def _draw_article(rng: np.random.Generator) -> ArticleModel:
    lumps = tuple(
        Lump(
            f"l{i}",
            log_uniform(rng, 2e-5, 2e-3 if i == 0 else 5e-4),
            log_uniform(rng, 5e3, 1e5),
            None if i and rng.random() < 0.5 else rng.uniform(0.0, 0.07),
            rng.uniform(0.02, 0.12),
        )
        for i in range(int(rng.integers(1, 4)))
    )
    fit = rng.uniform(0.02, 0.12)
    return ArticleModel(
        "a", lumps, log_uniform(rng, 1.5e4, 1e5), rng.uniform(0.0, 0.07), fit, _draw_riders(rng)
    )


def draw_chain(seed: int, blows: int = 30) -> tuple[Chain, ToolModel, Scatter]:
    """A chain, its tool, and the luck of so many blows. A third of them each mechanism, a quarter loosen."""
    rng = np.random.default_rng([14, seed])
    known = {"rebound_share": float(np.random.default_rng([15, seed]).uniform(0.0, 1.0))}
    drive = float(rng.choice([0.0095, 0.0127, 0.019]))
    tool = complete_tool("t", MECHANISMS[seed % 3], drive, known).tool
    tool = replace(tool, gap_openness=tuple(rng.uniform(0.0, 1.0, int(rng.integers(1, 4)))))
    loosens = rng.random() < 0.25
    bolt = BoltModel(
        2.5e-3,
        9.19e-3,
        13e-3,
        rng.uniform(0.08, 0.2),
        rng.uniform(0.08, 0.2),
        shank_stiffness=math.inf if rng.random() < 0.4 else log_uniform(rng, 8e3, 5e4),
        static_ratio=float(rng.choice([1.0, rng.uniform(1.0, 1.3)])),
        prevailing_torque=float(rng.choice([0.0, 0.0, 15.0])),
        breakaway_torque=float(rng.choice([0.0, 0.0, 100.0])) if loosens else 0.0,
    )
    start = log_uniform(rng, 2e4, 2e5) if loosens else log_uniform(rng, 1e3, 2e5)
    chain = build_chain(
        tool,
        _draw_article(rng),
        bolt,
        RigModel(log_uniform(rng, 2e8, 1e9)),
        direction="loosen" if loosens else "tighten",
        start_load=start,
    )
    factors = np.ones(blows)
    if rng.random() < 0.3:
        factors += 0.04 * np.clip(rng.standard_normal(blows), -3.0, 3.0)
    openings = rng.integers(len(tool.gap_openness), size=blows).astype(np.int64)
    if rng.random() < 0.5:
        openings[:] = 0
    return chain, tool, Scatter(factors, openings)
