from __future__ import annotations

import numpy as np
import pytest
from tests.unit.design.search_bench import BOLT, REFERENCE, RIG, TOOLS, make_worlds

from strikeproof.design.worlds import _draw_own, worlds_from_explanation, worlds_from_priors
from strikeproof.drivetrain import complete_tool
from strikeproof.errors import BadInput, TooFewRuns
from strikeproof.explain import ArticleFacts, Evidence, Setting, explain_campaign


def test_the_middle_of_the_priors_is_the_class() -> None:
    worlds = make_worlds(4, tools=2)
    for tool, facts in zip(worlds.middle.tools, TOOLS, strict=True):
        known = complete_tool(facts.name, facts.mechanism, facts.drive).tool
        assert tool.hammer_inertia == pytest.approx(known.hammer_inertia)
        assert tool.first_speed == pytest.approx(known.first_speed, rel=1e-6)
    assert worlds.middle.misfit == 0.0
    assert worlds.middle.whole(REFERENCE) == worlds.middle.reference


def test_draws_spread_as_the_priors_say() -> None:
    draws = make_worlds(400).draws
    inertia = np.log([each.tools[0].hammer_inertia for each in draws])
    assert inertia.std() == pytest.approx(0.32, rel=0.15)
    assert np.mean(inertia) == pytest.approx(
        np.log(complete_tool("a", "air", 0.0127).tool.hammer_inertia), abs=0.06
    )
    own = np.log([each.change(REFERENCE).polar_inertia / REFERENCE.polar_inertia for each in draws])
    assert own.std() == pytest.approx(0.03, rel=0.15)  # of an article known by its dimensions
    assert all(each.reference.polar_inertia == REFERENCE.polar_inertia for each in draws)


def test_the_same_state_draws_the_same_worlds() -> None:
    one, other = (make_worlds(3, seed=5).draws for _ in range(2))
    assert [each.tools for each in one] == [each.tools for each in other]


def test_no_tool_is_refused() -> None:
    with pytest.raises(BadInput, match="no tool"):
        worlds_from_priors(TOOLS, REFERENCE, BOLT, RIG, [], 2, np.random.default_rng(0))


def test_supply_and_duration_belong_to_the_setting() -> None:
    settings = [Setting("air", 5.0, 1.0), Setting("air", 5.0, 0.7)]
    worlds = worlds_from_priors(TOOLS[:1], REFERENCE, BOLT, RIG, settings, 1, np.random.default_rng(0))
    full, low = worlds.middle.tools
    assert low.first_speed < full.first_speed


def test_a_campaign_that_says_too_little_has_no_worlds() -> None:
    known = ArticleFacts("plain", REFERENCE)
    evidence = Evidence((known,), "plain", TOOLS, BOLT, RIG, (), np.eye(0), 0.02)
    nothing = explain_campaign(evidence, rng=np.random.default_rng(0), quick=True)
    with pytest.raises(TooFewRuns, match="known inertia: 1 article, 3 needed"):
        worlds_from_explanation(nothing, [Setting("air")], 2, np.random.default_rng(0))


def test_a_new_article_has_a_part_of_its_own_in_every_draw() -> None:
    """Size 3 %, the reference 1 % up with one tool and 2 % with another, their mean with a tool not run."""
    run, asked = [Setting("air"), Setting("cell")], [Setting("cell"), Setting("air", 5.0), Setting("new")]
    parts = np.tile([0.03, 0.01, 0.02], (64, 1))
    own = _draw_own(run, parts, asked, np.random.default_rng(1))
    assert np.median(own, axis=0) == pytest.approx([-0.02, -0.01, -0.015], abs=1e-9)
    assert own.std(axis=0) == pytest.approx(0.03, rel=0.03)
