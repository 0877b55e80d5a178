import numpy as np
import pytest
from tests.unit.explain.bench import BASE, named

from strikeproof.drivetrain import with_ring
from strikeproof.errors import NotFound
from strikeproof.explain import ArticleFacts, Setting, split_gain, split_gain_of


def test_an_article_that_was_run_is_split_as_before(explanation):
    facts = explanation.fits.evidence.article("soft ring")
    known = split_gain(explanation, "soft ring", rng=np.random.default_rng(3))
    assert split_gain_of(explanation, facts, rng=np.random.default_rng(3)) == known


def test_a_ring_that_was_never_run_gains_by_its_inertia(explanation):
    unseen = ArticleFacts("ring 4", named(with_ring(BASE, 3e-4), "ring 4"), 0.8)
    split = split_gain_of(explanation, unseen, rng=np.random.default_rng(3))
    assert abs(split.inertia) > 3.0 * (abs(split.stiffness) + abs(split.gap) + abs(split.bond))
    assert split.total == pytest.approx(split.inertia, rel=0.5)


def test_without_inertia_or_tool_there_is_no_split(explanation):
    rng = np.random.default_rng(3)
    assert split_gain_of(explanation, ArticleFacts("x", None), rng=rng) is None
    with pytest.raises(NotFound):
        split_gain_of(explanation, ArticleFacts("y", BASE), rng=rng, setting=Setting("hammer of nobody"))
