import math
from itertools import product

import pytest
from tests.unit.explain.bench import BASE, models, soft_ring

from strikeproof.drivetrain import plain_article, with_extension
from strikeproof.explain.variants import (
    BONDED,
    CHAIN,
    INERTIA,
    STIFFNESS,
    Properties,
    Spread,
    spread_article,
    vary_article,
)


@pytest.mark.parametrize("flags", list(product((False, True), repeat=4)))
@pytest.mark.parametrize("article", models(), ids=lambda each: each.name)
def test_inertia_is_the_articles_or_the_references(article, flags):
    varied = vary_article(article, BASE, Properties(*flags))
    wanted = article.polar_inertia if flags[0] else BASE.polar_inertia
    assert varied.polar_inertia == pytest.approx(wanted)


def test_nothing_kept_is_the_reference():
    assert vary_article(models()[3], BASE, Properties(False, False, False, False)).lumps == BASE.lumps


def test_everything_kept_is_the_article_itself():
    article = soft_ring()
    varied = vary_article(article, BASE, BONDED)
    assert varied.riders == article.riders
    assert varied.lumps[0].inertia == pytest.approx(article.lumps[0].inertia)
    assert (varied.hexagon_stiffness, varied.hexagon_gap) == (article.hexagon_stiffness, article.hexagon_gap)


def test_without_its_bond_a_rider_is_welded_on():
    rigid = vary_article(soft_ring(), BASE, CHAIN)
    assert rigid.riders == ()
    assert rigid.lumps[0].inertia == pytest.approx(4.0e-4)


def test_inertia_alone_keeps_springs_and_gaps_of_the_reference():
    loose = plain_article("loose", 3.0e-4, stiffness=5.0e4, hexagon_gap=0.06)
    varied = vary_article(loose, BASE, INERTIA)
    assert varied.hexagon_gap == BASE.hexagon_gap
    assert varied.lumps[0].stiffness == BASE.lumps[0].stiffness


def test_stiffness_alone_keeps_the_lumps_of_an_extension():
    longer = with_extension(BASE, 3e-5, 3.6e3, lumps=2)
    varied = vary_article(longer, BASE, STIFFNESS)
    assert [each.stiffness for each in varied.lumps] == [each.stiffness for each in longer.lumps]
    assert sum(each.gap or 0.0 for each in varied.lumps) == pytest.approx(BASE.lumps[0].gap)


def test_factors_act_on_what_they_name():
    article = spread_article(soft_ring(), Spread(2.0, 3.0, 0.5, 1.5, 1.0, 4.0, 5.0))
    before = soft_ring()
    assert article.polar_inertia == pytest.approx(2.0 * before.polar_inertia)
    assert article.lumps[0].stiffness == pytest.approx(3.0 * before.lumps[0].stiffness)
    assert article.hexagon_stiffness == pytest.approx(4.5 * before.hexagon_stiffness)
    assert article.hexagon_gap == pytest.approx(0.5 * before.hexagon_gap)
    assert article.riders[0].stiffness == pytest.approx(4.0 * before.riders[0].stiffness)
    assert article.riders[0].slip_torque == pytest.approx(5.0 * before.riders[0].slip_torque)


def test_a_rigid_bond_stays_rigid():
    from dataclasses import replace

    rigid = replace(soft_ring().riders[0], stiffness=math.inf, slip_torque=0.0)
    article = replace(soft_ring(), riders=(rigid,))
    assert math.isinf(spread_article(article, Spread(bond_stiffness=0.5)).riders[0].stiffness)
