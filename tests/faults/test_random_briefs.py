"""Whatever the brief, no proposal breaks it; and what cannot be kept is said so."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from tests.unit.design.search_bench import BRIEF, TINY, make_worlds
from tests.unit.design.test_search import check_keeps

from strikeproof.design.records import OBJECTIVES, PROCESSES, Brief, Envelope, Offer, Step
from strikeproof.design.search import search_designs
from strikeproof.errors import BadInput

WORLDS = make_worlds(5, tools=2, seconds=1.0)
STOCK = (
    Offer("bar 45 mm", "42CrMo4 +QT"),
    Offer("bar 70 mm", None, 0.06),
    Offer("bar 110 mm", "4140 annealed", 0.3),
    Offer("pipe NPS 2 sch 160"),
    Offer("tube DN 40 heavy", None, 0.02),
    Offer("nut M36"),
    Offer("long nut M30"),
    Offer("washer M36"),
    Offer("drive square 12.5"),
)


def lengths(low: float, high: float) -> st.SearchStrategy[float]:
    return st.floats(low, high).map(lambda value: round(value, 4))


@st.composite
def briefs(draw: st.DrawFn) -> Brief:
    steps, depth = [], 0.0
    for _ in range(draw(st.integers(0, 2))):
        depth += draw(lengths(0.005, 0.03))
        steps.append(Step(depth, draw(lengths(0.03, 0.12))))
    maybe = draw(st.lists(st.booleans(), min_size=6, max_size=6))
    envelope = Envelope(
        tuple(steps),
        draw(lengths(0.03, 0.15)) if maybe[0] else None,
        draw(lengths(0.015, 0.08)) if maybe[1] else None,
        draw(lengths(0.0, 0.004)),
    )
    return replace(
        BRIEF,
        hexagon=draw(st.sampled_from([0.021, 0.024, 0.027, 0.030])),
        envelope=envelope,
        offers=tuple(draw(st.lists(st.sampled_from(STOCK), max_size=4, unique=True))),
        bases=BRIEF.bases if draw(st.booleans()) else (),
        processes=frozenset(draw(st.sets(st.sampled_from(PROCESSES)))),
        largest_mass=draw(st.floats(0.1, 3.0)) if maybe[2] else None,
        largest_inertia=draw(st.floats(2e-5, 2e-3)) if maybe[5] else None,
        budget=draw(st.floats(1.0, 80.0)) if maybe[3] else None,
        least_static=draw(st.floats(0.0, 3.0)),
        least_fatigue=draw(st.floats(0.2, 1.5)) if maybe[4] else None,
        objective=draw(st.sampled_from(OBJECTIVES)),
        least_gain=draw(st.floats(0.0, 0.3)),
        proposals=draw(st.integers(1, 5)),
        head_height=draw(st.one_of(st.none(), lengths(0.01, 0.03))),
    )


@settings(max_examples=25, deadline=None, derandomize=True, suppress_health_check=[HealthCheck.too_slow])
@given(briefs(), st.integers(0, 2**32 - 1))
def test_no_proposal_ever_breaks_its_brief(brief: Brief, seed: int) -> None:
    try:
        found = search_designs(brief, WORLDS, rng=np.random.default_rng(seed), effort=TINY)
    except BadInput as told:
        assert told.what and told.allowed and told.fix  # noqa: PT017 - a refusal is as good as proposals
        return
    assert 1 <= len(found.proposals) <= brief.proposals
    for each in (*found.proposals, *found.pareto):
        check_keeps(brief, each, WORLDS)
        if brief.objective == "lightest":
            middle = np.median(each.gains, axis=0)
            assert middle.max() >= np.log1p(brief.least_gain) - 1e-12
