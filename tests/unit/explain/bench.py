"""A small campaign for the tests of this room: five articles, one tool, gains made by the engine."""

from dataclasses import replace

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
from strikeproof.explain import ArticleFacts, Evidence, Gain, Setting, ToolFacts
from strikeproof.explain.engine import Job, simulate_jobs
from strikeproof.explain.fits import QUICK
from strikeproof.explain.parameters import list_parameters
from strikeproof.explain.sampling import Effort

BRISK = replace(
    QUICK, first=32, second=0, rounds=10, effort=Effort(40, 80, 150, 60, rounds=0), tests=4, check=2
)
"""As little work as converges, for tests of what is around an explanation and not of its figures."""
AIR = Setting("air-a")
BASE = plain_article("plain", 1.0e-4)
RING = Rider("ring", 3.0e-4, 3.0e-4 * (2.0 * np.pi * 900.0) ** 2, 0.05, 120.0)


def soft_ring() -> ArticleModel:
    return ArticleModel("soft ring", BASE.lumps, BASE.hexagon_stiffness, riders=(RING,))


def named(article: ArticleModel, name: str) -> ArticleModel:
    return ArticleModel(name, article.lumps, article.hexagon_stiffness, article.hexagon_gap)


def models() -> list[ArticleModel]:
    return [
        BASE,
        named(with_ring(BASE, 1.5e-4), "ring 2.5"),
        named(with_ring(BASE, 5.0e-4), "ring 6"),
        named(with_extension(BASE, 3.0e-5, 3.6e3, lumps=1), "extension"),
        soft_ring(),
    ]


def blank(tools: tuple[ToolFacts, ...] = (ToolFacts("air-a", "air"),)) -> Evidence:
    """Evidence with gains of zero."""
    articles = models()
    gains = tuple(Gain(each.name, Setting(tool.name), 0.0, 4) for tool in tools for each in articles[1:])
    n = len(gains)
    return Evidence(
        articles=tuple(
            ArticleFacts(each.name, each, 0.4 * (each.polar_inertia / 1e-4) ** 0.5) for each in articles
        ),
        reference="plain",
        tools=tools,
        bolt=BoltModel(2.5e-3, 9.19e-3, 12.5e-3),
        rig=RigModel(),
        gains=gains,
        covariance=1e-4 * (np.eye(n) + 0.5),
        run_scatter=0.02,
    )


def measured(seed: int = 3) -> Evidence:
    """Gains of the rigid chain at some values of the unknowns, with scatter."""
    evidence, rng = blank(), np.random.default_rng(seed)
    parameters = list_parameters(evidence, bonds=True)
    jobs = [Job(each, AIR) for each in models()]
    at = 0.7 * rng.standard_normal((1, len(parameters)))
    scores = simulate_jobs(evidence, parameters, jobs, at, np.zeros((1, 3)))[0]
    noise = rng.multivariate_normal(np.zeros(len(jobs) - 1), evidence.covariance)
    values = scores[1:] - scores[0] + noise
    gains = tuple(
        replace(gain, log_gain=float(value)) for gain, value in zip(evidence.gains, values, strict=True)
    )
    return replace(evidence, gains=gains)
