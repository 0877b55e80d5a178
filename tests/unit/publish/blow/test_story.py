from __future__ import annotations

import itertools

import numpy as np
import pytest
from tests.unit.publish.blow.bench import CASES, case

from strikeproof.drivetrain.blow import relax
from strikeproof.errors import BadInput
from strikeproof.publish.blow.story import BACKWARD, DRIVING, OPEN, SLIPPING, tell_blow


@pytest.mark.parametrize("name", CASES)
def test_stretches_cover_the_blow_without_holes(name):
    story = case(name).story
    for rows in [story.turns(), *(story.stretches(place) for place in range(len(story.contacts)))]:
        assert rows[0][0] == 0.0 and rows[-1][1] == story.end
        assert all(one[1] == two[0] and one[2] != two[2] for one, two in itertools.pairwise(rows))


@pytest.mark.parametrize("name", CASES)
def test_a_contact_is_open_only_while_its_twist_is_within_the_gap(name):
    """The engine's law: forward at δ ≥ 0, backward at δ ≤ −gap, nothing between."""
    story = case(name).story
    slack = 1e-6  # degrees of the event's bisection
    for place, contact in enumerate(story.contacts):
        if not contact.opens or contact.one_sided:
            continue
        twist = story.angles[:, contact.first] - story.angles[:, contact.second]
        state = story.states[:, place]
        assert np.all(twist[state == BACKWARD] <= -contact.gap + 1.0)
        closed_before = np.diff(state, prepend=state[0]) != 0
        free = (state == OPEN) & ~closed_before
        opened_by_damping = np.abs(twist) < 0.5
        assert np.all((twist[free] <= slack) | opened_by_damping[free])


def test_events_of_a_plain_blow_come_in_the_order_of_the_chain():
    words = [event.words for event in case().story.events]
    order = ["jaw closes", "square drive closes", "hexagon closes", "thread starts to turn", "thread stops"]
    assert [word for word in words if word in order] == order
    times = [event.time for event in case().story.events]
    assert times == sorted(times)


def test_the_named_peak_is_the_blow_s_own():
    plain = case()
    (peak,) = [event for event in plain.story.events if "peaks at" in event.words]
    told = float(peak.words.split(" at ")[1].removesuffix(" N·m"))
    assert told == pytest.approx(
        plain.blow.peaks[plain.story.head], rel=5e-3
    )  # rows lie either side of the crest


def test_the_bolt_turns_only_above_what_it_needs_at_first():
    """With a rigid shank; else the head turns first and twists it."""
    story = case("rigid").story
    first = int(np.flatnonzero(story.turning)[0])
    assert story.torques[first, story.head] == pytest.approx(story.needed[first], rel=2e-3)
    assert np.all(story.torques[:first, story.head] < story.needed[:first])


def test_clamp_load_and_speeds_are_the_record_s():
    plain = case()
    assert plain.story.clamp_load[0] == pytest.approx(plain.blow.load_before / 1e3)
    assert plain.story.clamp_load[-1] == pytest.approx(plain.blow.load_after / 1e3)
    assert plain.story.hammer_speed == (plain.blow.speed, plain.blow.rebound)


def test_contacts_have_the_trade_s_names():
    assert [contact.name for contact in case().story.contacts] == [
        "jaw",
        "square drive",
        "hexagon",
        "shank",
    ]
    assert [contact.name for contact in case("extension").story.contacts] == [
        "jaw",
        "square drive",
        "joint of extension 2",
        "joint of extension 3",
        "fit of article",
        "hexagon",
        "shank",
        "bond of ring",
        "bond of fill",
    ]


def test_a_bond_that_slips_is_told_and_one_that_holds_is_never_open():
    story = case("extension").story
    names = [contact.name for contact in story.contacts]
    ring = story.states[:, names.index("bond of ring")]
    assert np.any(ring == SLIPPING)
    assert np.all(np.abs(story.torques[ring == SLIPPING, names.index("bond of ring")]) == 60.0)
    for place, contact in enumerate(story.contacts):
        if not contact.opens:
            assert not np.any(story.states[:, place] == OPEN)


def test_a_square_that_pulls_back_is_told():
    assert any(np.any(case(name).story.states == BACKWARD) for name in CASES)
    assert np.all(case().story.states[0] <= DRIVING)


def test_a_blow_without_its_motion_is_refused():
    plain = case()
    with pytest.raises(BadInput, match="motion"):
        tell_blow(plain.chain, relax(plain.blow))
