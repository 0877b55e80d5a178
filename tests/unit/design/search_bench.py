"""A bench by priors, a brief with a pocket, and a search small enough for a test."""

from __future__ import annotations

from typing import Any

import numpy as np

from strikeproof.design.records import Base, Brief, Envelope, Offer, Step, Worlds
from strikeproof.design.search import Effort
from strikeproof.design.worlds import worlds_from_priors
from strikeproof.drivetrain import BoltModel, RigModel
from strikeproof.explain import Setting, ToolFacts
from strikeproof.explain.article_model import article_model
from strikeproof.parts import EXAMPLE_PRICES, read_article, work_out

PLAIN: dict[str, Any] = {
    "name": "plain",
    "part": [
        {
            "name": "socket",
            "shape": "bar",
            "outer_diameter_mm": 38,
            "length_mm": 50,
            "material": "4140 at 45 HRC",
            "cut": [
                {"kind": "square drive", "size_mm": 12.5, "depth_mm": 18},
                {"kind": "hexagon", "size_mm": 27, "depth_mm": 25},
                {"kind": "bore", "size_mm": 11},
            ],
        }
    ],
}
BRIEF = Brief(
    "test",
    hexagon=0.027,
    drive=0.0125,
    envelope=Envelope((Step(0.02, 0.062),), free_length=0.09, wall=0.045),
    offers=(Offer("bar 50 mm", "42CrMo4 +QT"), Offer("bar 80 mm", None, 0.5), Offer("washer M36")),
    bases=(Base("plain", PLAIN, 16.0),),
    prices=EXAMPLE_PRICES,
    largest_mass=1.1,
    budget=45.0,
    least_static=1.2,
    proposals=4,
)
TOOLS = (ToolFacts("air", "air"), ToolFacts("cordless", "spring-and-cam"))
BOLT, RIG = BoltModel(2e-3, 11.35e-3, 15.5e-3, 0.14, 0.14), RigModel(8e8)
TINY = Effort(
    scan=160, recipes=2, population=6, generations=2, probes=2, sweeps=2, panel=3, again=16, finest=1, front=3
)
REFERENCE = article_model(work_out(read_article(PLAIN)))


def make_worlds(size: int = 8, tools: int = 1, seconds: float = 2.0, seed: int = 0) -> Worlds:
    settings = [Setting(each.name, seconds) for each in TOOLS[:tools]]
    return worlds_from_priors(
        TOOLS[:tools], REFERENCE, BOLT, RIG, settings, size, np.random.default_rng(seed)
    )
