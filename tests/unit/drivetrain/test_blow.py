"""One blow: what is conserved, what converges, what is kept."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from strikeproof.drivetrain import (
    MECHANISMS,
    BoltModel,
    Joint,
    Rider,
    RigModel,
    account_blow,
    build_chain,
    complete_tool,
    plain_article,
    simulate_blow,
    step_blow,
    with_extension,
)
from strikeproof.drivetrain.chain import Body, Chain, find_pace, link_chain
from strikeproof.drivetrain.records import ArticleModel, Lump
from strikeproof.drivetrain.stepper import hunt_crossley
from strikeproof.errors import BadInput

BOLT = BoltModel(2.5e-3, 9.19e-3, 13e-3, shank_stiffness=1.2e4)
RIG = RigModel()
TOOL = complete_tool("a", "air", 0.0127).tool


def free_chain(inertias: list[float], stiffness: list[float], gaps: list[float]) -> Chain:
    bodies = [Body(f"b{i}", value) for i, value in enumerate(inertias)]
    joints = [
        Joint(i, i + 1, "jaw" if i == 0 else "fit", k, 0.0, gap=0.0 if i == 0 else gap)
        for i, (k, gap) in enumerate(zip(stiffness, gaps, strict=True))
    ]
    system = link_chain(bodies, joints)
    names = tuple(b.name for b in bodies)
    pace = find_pace(system, 4e-3, fineness=2.0, may_settle=False)
    return Chain(system, names, names[:-1], 2 * len(bodies) + 2, pace, 0.0, 0.0, math.inf, 0.0)


inertia = st.floats(1e-5, 1e-3)
spring = st.floats(3e3, 1e5)


@settings(max_examples=80, deadline=None)
@given(
    inertias=st.tuples(inertia, inertia, inertia, inertia),
    springs=st.tuples(spring, spring, spring),
    gaps=st.tuples(st.just(0.0), st.floats(0.0, 0.1), st.floats(0.0, 0.1)),
    openness=st.floats(0.0, 1.0),
    speed=st.floats(50.0, 600.0),
)
def test_momentum_and_energy_stay_when_nothing_damps(inertias, springs, gaps, openness, speed) -> None:
    chain = free_chain(list(inertias), list(springs), list(gaps))
    blow = simulate_blow(chain, speed=speed, load=0.0, openness=openness, keep_motion=True)
    end = blow.motion.speeds[-1]
    J = np.array(inertias)
    assert J @ end == pytest.approx(J[0] * speed, rel=1e-9)
    energy = 0.5 * J @ end**2 + blow.stored_after.sum()
    assert energy == pytest.approx(0.5 * J[0] * speed**2, rel=2e-4)


@settings(max_examples=40, deadline=None)
@given(
    mechanism=st.sampled_from(MECHANISMS),
    inertia=st.floats(1e-5, 3e-3),
    load=st.floats(0.0, 3e5),
    openness=st.floats(0.0, 1.0),
    shank=st.sampled_from([math.inf, 1.2e4]),
)
def test_ledger_of_any_blow_closes_within_a_thousandth(mechanism, inertia, load, openness, shank) -> None:
    tool = complete_tool("t", mechanism, 0.0127).tool
    bolt = BoltModel(2.5e-3, 9.19e-3, 13e-3, shank_stiffness=shank)
    chain = build_chain(tool, plain_article("p", inertia), bolt, RIG)
    blow = simulate_blow(chain, speed=tool.first_speed, load=load, openness=openness, fineness=2)
    ledger = account_blow(chain, blow)
    assert abs(ledger.unaccounted) < 1e-3 * ledger.hammer_in
    assert ledger.head_friction >= 0.0 and ledger.thread_friction >= 0.0
    assert all(lost > -1e-3 * ledger.hammer_in for _name, lost in ledger.joints)
    assert np.isfinite(blow.load_after)
    # a heavy article that comes back may turn the bolt back a little
    assert blow.load_after >= 0.95 * load


def test_rider_that_slips_loses_energy_in_its_bond() -> None:
    # common practice, no source: a soft fill that slips in its shell eats a part of the blow
    plain = plain_article("p", 6e-5)
    lost = {}
    for slip in (0.0, 100.0):
        filled = ArticleModel(
            "f", plain.lumps, plain.hexagon_stiffness, riders=(Rider("fill", 3e-4, 2e5, 0.02, slip),)
        )
        chain = build_chain(TOOL, filled, BOLT, RIG)
        blow = simulate_blow(chain, speed=420.0, load=1.5e5, fineness=4)
        ledger = account_blow(chain, blow)
        assert abs(ledger.unaccounted) < 1e-3 * ledger.hammer_in
        lost[slip] = dict(ledger.joints)["article to fill"]
    assert lost[100.0] > 2.0 * lost[0.0] > 0.0


def test_rigid_rider_is_the_same_as_its_inertia_in_the_lump() -> None:
    plain = plain_article("p", 6e-5)
    ringed = ArticleModel("r", plain.lumps, plain.hexagon_stiffness, riders=(Rider("ring", 2e-4),))
    whole = plain_article("w", 2.6e-4)
    ends = [
        simulate_blow(build_chain(TOOL, a, BOLT, RIG), speed=400.0, load=1e5).load_after
        for a in (ringed, whole)
    ]
    assert ends[0] == pytest.approx(ends[1], rel=1e-12)


def test_stiff_rider_approaches_the_rigid_one() -> None:
    plain = plain_article("p", 6e-5)
    ends = []
    for stiffness in (1e5, 1e6, 1e7, math.inf):
        article = ArticleModel(
            "r", plain.lumps, plain.hexagon_stiffness, riders=(Rider("ring", 2e-4, stiffness),)
        )
        ends.append(simulate_blow(build_chain(TOOL, article, BOLT, RIG), speed=400.0, load=1e5).load_after)
    misses = [abs(end / ends[-1] - 1.0) for end in ends[:-1]]
    assert misses[2] < 2e-3 and misses[2] < misses[0]


def test_rider_on_a_rider_and_a_loose_one_go_through() -> None:
    plain = plain_article("p", 6e-5)
    riders = (
        Rider("sleeve", 1e-4, 2e5),
        Rider("fill", 5e-5, 1e5, carrier_rider=0),
        Rider("nut", 2e-5, 5e4, gap=0.02),
    )
    chain = build_chain(
        TOOL, ArticleModel("r", plain.lumps, plain.hexagon_stiffness, riders=riders), BOLT, RIG
    )
    assert chain.joints[-2:] == ("sleeve to fill", "article to nut")
    blow = simulate_blow(chain, speed=400.0, load=1e5, fineness=2)
    ledger = account_blow(chain, blow)
    assert abs(ledger.unaccounted) < 1e-3 * ledger.hammer_in


def test_halving_the_march_step_changes_what_is_counted_with_its_fourth_power() -> None:
    chain = build_chain(TOOL, plain_article("p", 6e-5), BOLT, RIG)
    closed = [
        abs(account_blow(chain, simulate_blow(chain, speed=400.0, load=1.5e5, fineness=f)).unaccounted)
        for f in (1, 2, 4)
    ]
    order = math.log2(closed[0] / closed[2]) / 2.0
    assert order > 2.5


def test_stepper_converges_to_the_engine_with_first_order() -> None:
    chain = build_chain(TOOL, plain_article("p", 6e-5), BOLT, RIG)
    blow = simulate_blow(chain, speed=400.0, load=1.5e5, fineness=4)
    errors = [
        abs(
            step_blow(chain, speed=400.0, load=1.5e5, step=step, duration=blow.duration).clamp_load
            / blow.load_after
            - 1.0
        )
        for step in (4e-7, 1e-7, 2.5e-8)
    ]
    assert errors[2] < 2e-5
    assert 0.6 < math.log(errors[0] / errors[2]) / math.log(16.0) < 1.6


def test_slow_impact_of_hunt_and_crossley_returns_what_they_say() -> None:
    # e = 1 − α v for slow impacts (Hunt & Crossley 1975, from memory); loosely, as its derivation is
    alpha, stiffness, mass = 0.02, 1e8, 1.0
    for speed in (0.5, 2.0):
        x, v, step = 0.0, speed, 2e-7
        while x > 0.0 or v > 0.0:
            v -= step * hunt_crossley(x, v, stiffness, alpha, 1.5) / mass
            x += step * v
        assert -v / speed == pytest.approx(1.0 - alpha * speed, abs=0.01 * alpha * 100 * speed)


def test_hunt_crossley_contacts_hammer_a_chain() -> None:
    chain = build_chain(TOOL, plain_article("p", 6e-5), BoltModel(2.5e-3, 9.19e-3, 13e-3), RIG)
    system = chain.system
    springs = system.springs.copy()
    springs[:, 0] *= 10.0  # K δ^1.5 is as stiff as k δ at δ = 0.01 rad
    springs[:, 1] = 1e-4
    hertz = Chain(
        system._replace(springs=springs),
        chain.bodies,
        chain.joints,
        chain.size,
        chain.pace,
        chain.torque_per_load,
        chain.snug_load,
        chain.proof_load,
        chain.head_share,
    )
    end = step_blow(hertz, speed=400.0, load=5e4, step=2e-8, duration=2e-3, law="hunt-crossley")
    kelvin = simulate_blow(chain, speed=400.0, load=5e4)
    assert end.clamp_load == pytest.approx(kelvin.load_after, rel=0.25)
    assert end.clamp_load > 5e4


def test_motion_starts_at_contact_and_ends_where_the_blow_does() -> None:
    chain = build_chain(TOOL, plain_article("p", 6e-5), BOLT, RIG)
    blow = simulate_blow(chain, speed=400.0, load=1e5, openness=0.5, keep_motion=True)
    motion = blow.motion
    assert motion.time[0] == 0.0 and motion.time[-1] == pytest.approx(blow.duration)
    assert np.all(np.diff(motion.time) > 0.0)
    assert motion.speeds[0] == pytest.approx([400.0, 0, 0, 0, 0])
    assert motion.clamp_load[-1] == blow.load_after
    assert motion.torques.max(axis=0) == pytest.approx(blow.peaks, rel=0.02)
    turned = (motion.clamp_load - 1e5) / chain.system.clamp[0]
    assert motion.angles[:, -1] == pytest.approx(turned, abs=1e-9)


def test_extension_lowers_the_blow() -> None:
    # common practice, no source
    plain = plain_article("p", 6e-5)
    ends = [
        simulate_blow(build_chain(TOOL, a, BOLT, RIG), speed=420.0, load=1.5e5).peaks.max()
        for a in (plain, with_extension(plain, 2e-5, 3.6e3), with_extension(plain, 4e-5, 1.8e3, lumps=3))
    ]
    assert ends[0] > ends[1] > ends[2]


def test_loosening_lowers_the_clamp_load_and_ends_at_nothing() -> None:
    chain = build_chain(TOOL, plain_article("p", 6e-5), BOLT, RIG, direction="loosen", start_load=2e4)
    blow = simulate_blow(chain, speed=420.0, load=2e4)
    assert blow.ran_free and blow.load_after == 0.0


@pytest.mark.parametrize(
    ("change", "named"),
    [
        ({"speed": 0.0}, "tool.speed"),
        ({"speed": math.nan}, "tool.speed"),
        ({"load": -1.0}, "clamp load"),
        ({"openness": 2.0}, "gap openness"),
    ],
)
def test_impossible_blow_is_refused_in_one_line(change: dict[str, float], named: str) -> None:
    chain = build_chain(TOOL, plain_article("p", 6e-5), BOLT, RIG)
    with pytest.raises(BadInput) as caught:
        simulate_blow(chain, **{"speed": 400.0, "load": 1e5, **change})
    assert named in str(caught.value) and "allowed" in str(caught.value) and "\n" not in str(caught.value)


@pytest.mark.parametrize(
    "article", [{"inertia": 0.0}, {"stiffness": 0.0}, {"inertia": math.nan}, {"gap": -1.0}]
)
def test_impossible_lump_is_refused(article: dict[str, float]) -> None:
    with pytest.raises(BadInput, match="allowed"):
        Lump("s", **{"inertia": 1e-4, "stiffness": 1e4, "gap": 0.0, **article})


def test_stiffness_ratio_that_cannot_be_resolved_is_refused() -> None:
    article = ArticleModel("a", (Lump("s", 1e-8, 1e8, 0.0),), 1e8)
    with pytest.raises(BadInput, match="cannot be resolved"):
        build_chain(TOOL, article, BOLT, RIG)
