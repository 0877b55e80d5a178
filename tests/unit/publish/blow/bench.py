"""Blows to draw: a ring socket on an air wrench, a loosening blow, an extension with loose riders."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import cache

from strikeproof.desk.simulating.bench import read_setup
from strikeproof.drivetrain import (
    ArticleModel,
    Blow,
    Chain,
    Ledger,
    Rider,
    Run,
    account_blow,
    blow_of_run,
    build_chain,
    simulate_run,
    with_extension,
)
from strikeproof.publish.blow import Story, tell_blow

TABLES = {
    "tool": {"name": "air wrench", "mechanism": "air"},
    "article": {"name": "ring socket", "polar_inertia": 3e-4},
    "bolt": {"thread": "M20x2.5", "class": "10.9"},
    "protocol": {"duration": 2.0},
}


@dataclass(frozen=True)
class Case:
    chain: Chain
    run: Run
    blow: Blow
    ledger: Ledger
    story: Story


def _extended(article: ArticleModel) -> ArticleModel:
    longer = with_extension(article, 1e-4, 1.8e3, lumps=3)
    riders = (
        Rider("ring", 3e-4, 2e4, 0.05, 60.0, carrier=3),
        Rider("fill", 1e-4, 1e4, 0.1, 0.0, carrier=3, gap=0.02),
    )
    return replace(longer, riders=riders)


@cache
def case(name: str = "plain", number: int = 8) -> Case:
    loosens = {"direction": "loosen", "start_load": 100e3} if name == "loosen" else {}
    mechanism = "spring-and-cam" if name == "cam" else "air"
    tables = {
        **TABLES,
        "protocol": {**TABLES["protocol"], **loosens},
        "tool": {"name": name, "mechanism": mechanism},
    }
    setup = read_setup(tables)
    article, bolt = setup.article, setup.bolt
    if name == "extension":
        article, bolt = _extended(article), replace(bolt, shank_stiffness=3e4, static_ratio=1.15)
    if name == "rigid":
        bolt = replace(bolt, shank_stiffness=math.inf)
    chain = build_chain(
        setup.tool, article, bolt, setup.rig, direction=setup.direction, start_load=setup.start_load
    )
    run = simulate_run(chain, setup.tool, duration=setup.duration)
    blow = blow_of_run(chain, setup.tool, run, min(number, run.time.size), keep_motion=True)
    return Case(chain, run, blow, account_blow(chain, blow), tell_blow(chain, blow))


CASES = ("plain", "cam", "loosen", "extension")
