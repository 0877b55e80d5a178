"""A blow ends only when what still vibrates can load no joint more than the blow did."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from tests.random_chains import draw_chain

from strikeproof.drivetrain import (
    MECHANISMS,
    ArticleModel,
    BoltModel,
    Rider,
    RigModel,
    build_chain,
    complete_tool,
    plain_article,
    simulate_blow,
    simulate_run,
)

BOLT = BoltModel(2.5e-3, 9.19e-3, 13e-3)


def _ridden(rng: np.random.Generator) -> ArticleModel:
    """A socket with a ring, or a ring on a ring, on bonds from a soft fill to a stiff weld."""
    plain = plain_article("p", float(10 ** rng.uniform(-4.3, -3.6)))
    riders = [Rider("ring", float(10 ** rng.uniform(-4.0, -3.2)), float(10 ** rng.uniform(5.8, 7.0)), 0.01)]
    if rng.random() < 0.6:
        outer = Rider("outer ring", float(10 ** rng.uniform(-4.4, -3.6)), 10 ** float(rng.uniform(6.0, 7.0)))
        riders.append(replace(outer, carrier_rider=0, damping=0.01))
    return replace(plain, riders=tuple(riders))


@pytest.mark.parametrize("number", range(21))
def test_a_blow_that_settles_leaves_every_peak_as_its_whole_window_does(number: int) -> None:
    rng = np.random.default_rng([20, number])
    tool = complete_tool("t", MECHANISMS[number % len(MECHANISMS)], 0.0127).tool
    chain = build_chain(
        tool, _ridden(rng), BOLT, RigModel(clamp_stiffness=float(10 ** rng.uniform(8.3, 9.2)))
    )
    whole = replace(chain, pace=chain.pace._replace(may_settle=False))
    settled, followed = (simulate_run(each, tool, duration=0.6, method="every") for each in (chain, whole))
    assert settled.peaks == pytest.approx(followed.peaks, rel=0.005)
    assert settled.end_load == pytest.approx(followed.end_load, rel=0.005)


def test_a_head_that_is_struck_harder_backward_is_followed_to_its_forward_peak() -> None:
    chain, tool, luck = draw_chain(338, 1)  # 470 N·m backward, then 370 N·m forward after 344 N·m
    whole = replace(chain, pace=chain.pace._replace(may_settle=False))
    settled, followed = (simulate_run(each, tool, scatter=luck) for each in (chain, whole))
    assert settled.peak_torque == pytest.approx(followed.peak_torque, rel=1e-6)


def test_a_plain_chain_still_settles_early() -> None:
    tool = complete_tool("t", "air", 0.0127).tool
    chain = build_chain(tool, plain_article("p", 1e-4), BOLT, RigModel())
    blow = simulate_blow(chain, speed=tool.first_speed, load=2e4)
    assert blow.duration < 0.5 * chain.pace.window
