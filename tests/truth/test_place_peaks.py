"""No place's margin is above its strength over the largest torque that its own joint sees: random articles.

The torques are read off the motion of every blow simulated in full, not off what the engine records.
"""

from __future__ import annotations

import numpy as np
import pytest
from tests.unit.design.search_bench import make_worlds
from tests.unit.parts.examples import ring, socket

from strikeproof.design.judging import Strain, run_worlds
from strikeproof.drivetrain import (
    MECHANISMS,
    ArticleModel,
    BoltModel,
    Chain,
    RigModel,
    Run,
    ToolModel,
    blow_of_run,
    build_chain,
    complete_tool,
    draw_scatter,
    place_peaks,
    simulate_run,
)
from strikeproof.explain.article_model import article_model
from strikeproof.parts import ArticleProperties, margins_at, read_article, work_out

_DURATION = 0.8
WORLDS = make_worlds(3)


def random_article(rng: np.random.Generator) -> ArticleProperties:
    """A socket of one to three lumps with a welded or pressed ring."""
    bond = (
        {"kind": "weld", "throat_mm": rng.uniform(2, 5), "runs": int(rng.integers(1, 3))}
        if rng.random() < 0.6
        else {"kind": "press fit", "interference_mm": rng.uniform(0.005, 0.03)}
    )
    parts = [
        socket(length_mm=rng.uniform(75, 230), outer_diameter_mm=rng.uniform(33, 38)),
        ring(outer_diameter_mm=rng.uniform(50, 140), length_mm=rng.uniform(8, 25), bond=bond),
    ]
    return work_out(read_article({"name": "drawn", "part": parts}))


def seen(chain: Chain, tool: ToolModel, run: Run) -> dict[str, float]:
    """Largest torque either way at each joint by its name, from the motion of every blow."""
    highest = np.zeros(len(chain.joints))
    for number in range(1, run.time.size + 1):
        motion = blow_of_run(chain, tool, run, number, keep_motion=True).motion
        highest = np.maximum(highest, np.abs(motion.torques).max(axis=0))
    return dict(zip(chain.joints, highest.tolist(), strict=True))


def own_joint(model: ArticleModel, joints: tuple[int, ...] | str, torques: dict[str, float]) -> float:
    """By the names of the bodies that a joint joins, not by its number."""
    if isinstance(joints, str):
        return next(torque for name, torque in torques.items() if name.endswith(f" to {joints}"))
    names = list(torques)
    path = [name for name in names[1:] if not name.endswith(" to ring")]
    return max(torques[path[joint]] for joint in joints)


@pytest.mark.parametrize("seed", range(6))
def test_no_margin_is_above_strength_over_the_simulated_peak(seed: int) -> None:
    rng = np.random.default_rng([7, seed])
    properties = random_article(rng)
    model = article_model(properties)
    tool = complete_tool("t", MECHANISMS[seed % 3], 0.0127).tool
    chain = build_chain(tool, model, BoltModel(1.75e-3, 5.4e-3, 8e-3), RigModel(rng.uniform(1e8, 4e8)))
    scatter = draw_scatter(tool, _DURATION, rng)
    run = simulate_run(chain, tool, duration=_DURATION, scatter=scatter)
    torques = seen(chain, tool, run)
    margins = margins_at(properties, place_peaks(model, model, run.own).tolist())
    assert {"weld", "press fit"} & {each.mode for each in margins}
    for margin in margins:
        most = min(
            check.holds_to / own_joint(model, check.joints, torques)
            for check in properties.checks
            if (check.part, check.mode) == (margin.part, margin.mode)
        )
        assert margin.static <= most * (1 + 1e-9)
        assert margin.static == pytest.approx(most, rel=0.05)  # its rows miss the crest and the slip


def test_a_bond_that_slipped_is_beyond_its_limit_in_every_draw() -> None:
    """Where a draw makes a bond slip at less, the margin is still below 1: it did give way."""
    drawn = work_out(
        read_article(
            {
                "name": "pressed",
                "part": [
                    socket(),
                    ring(outer_diameter_mm=130, bond={"kind": "press fit", "interference_mm": 0.004}),
                ],
            }
        )
    )
    model = article_model(drawn)
    results = run_worlds([model], WORLDS.draws[:3], Strain())
    fit = next(i for i, each in enumerate(drawn.checks) if each.mode == "press fit")
    assert (results.places[0][..., fit] > drawn.checks[fit].holds_to).all()


def test_a_search_judges_each_place_by_its_own_joint() -> None:
    """In one draw without scatter the batch sees what a run of its own sees, riders in one piece or not."""
    drawn = work_out(read_article({"name": "ringed", "part": [socket(), ring(outer_diameter_mm=130)]}))
    model, world = article_model(drawn), WORLDS.draws[0]
    (exact,) = run_worlds([model], [world], Strain()).places
    tool, setting = world.tools[0], world.settings[0]
    believed = world.whole(model)
    chain = build_chain(tool, believed, world.bolt, world.rig)
    scatter = draw_scatter(tool, setting.duration, np.random.default_rng([0, 0]))
    run = simulate_run(chain, tool, duration=setting.duration, scatter=scatter)
    assert exact[0, 0] == pytest.approx(place_peaks(model, believed, run.own))
    (rough,) = run_worlds([model], [world], Strain(rough=True, scatter=False)).places
    assert rough[0, 0] == pytest.approx(exact[0, 0], rel=0.6)
