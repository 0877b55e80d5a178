from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from matplotlib.figure import Figure
from tests.unit.publish.blow.bench import CASES, case

from strikeproof.publish.blow import split_energy
from strikeproof.publish.blow.energy import energy_chart, lay_ribbons
from strikeproof.publish.drawing import NARROW, WIDE


@pytest.mark.parametrize("name", CASES)
def test_the_streams_are_exactly_what_the_hammer_brought_in(name):
    one = case(name)
    streams = split_energy(one.ledger, one.story.contacts)
    assert sum(each.energy for each in streams) == pytest.approx(one.ledger.hammer_in, rel=1e-12)
    assert sum(each.share for each in streams) == pytest.approx(1.0, rel=1e-12)
    (left_open,) = [each for each in streams if each.way == "open"]
    assert abs(left_open.share) < 1e-3


@pytest.mark.parametrize("name", CASES)
def test_bands_are_as_wide_as_their_energy_and_close_on_the_trunk(name):
    one = case(name)
    streams = split_energy(one.ledger, one.story.contacts)
    trunk, ribbons = lay_ribbons(streams, length=760.0, wide=150.0, drop=(30.0,), apart=50.0)
    for ribbon in ribbons:
        assert ribbon.width == pytest.approx(150.0 * abs(ribbon.stream.share), rel=1e-9, abs=0.2)
    signed = sum(-each.width if each.stream.way == "in" else each.width for each in ribbons)
    hidden = 150.0 * sum(each.share for each in streams if not each.shown)
    ending = sum(150.0 * each.share for each in streams if each.way == "end" and each.shown)
    last = trunk[np.isclose(trunk[:, 0], trunk[:, 0].max()), 1]
    assert np.ptp(last) == pytest.approx(abs(ending + hidden), abs=1e-6)
    assert signed == pytest.approx(150.0, abs=0.5)


def test_outlines_hold_the_area_of_their_band():
    """A straight drop of the band is as wide as it says, measured on the outline itself."""
    one = case()
    streams = split_energy(one.ledger, one.story.contacts)
    _trunk, ribbons = lay_ribbons(streams, length=760.0, wide=150.0, drop=(30.0,), apart=50.0)
    for ribbon in ribbons:
        if ribbon.stream.way == "out":
            level = ribbon.end[1] - 12.0
            at = ribbon.outline[np.argsort(np.abs(ribbon.outline[:, 1] - level))[:2]]
            rim = ribbon.outline[np.isclose(ribbon.outline[:, 1], ribbon.end[1] - 9.0), 0]
            inner = np.sort(rim)[1:-1]
            assert np.ptp(inner) == pytest.approx(ribbon.width) and at.size


def test_what_goes_where_is_the_ledger_s():
    one = case()
    streams = {each.name: each.energy for each in split_energy(one.ledger, one.story.contacts)}
    assert streams["rebound"] == one.ledger.rebound
    assert streams["clamp work gained"] == one.ledger.clamp_work
    assert streams["friction under head"] == one.ledger.head_friction
    assert streams["lost at square drive"] == dict(one.ledger.joints)["anvil to article"]
    says = energy_chart(one.ledger, one.story.contacts).says
    assert (
        f"rebound {one.ledger.rebound:.2f} J ({100 * one.ledger.rebound / one.ledger.hammer_in:.1f} %)"
        in says
    )


def test_loosening_lets_the_clamped_joint_give_its_energy():
    one = case("loosen")
    streams = split_energy(one.ledger, one.story.contacts, goes_on=True)
    (joint,) = [each for each in streams if each.name == "from clamped joint"]
    assert joint.energy == one.ledger.clamp_work < 0.0
    assert streams[0].name == "left in hammer" and not any(each.way == "end" for each in streams)


def test_a_ledger_that_does_not_close_shows_its_hole():
    one = case()
    leaky = replace(one.ledger, head_friction=one.ledger.head_friction - 2.0)
    (hole,) = [each for each in split_energy(leaky, one.story.contacts) if each.way == "open"]
    assert hole.energy == pytest.approx(2.0, abs=0.05) and hole.shown
    _trunk, ribbons = lay_ribbons(
        split_energy(leaky, one.story.contacts), length=760.0, wide=150.0, drop=(30.0,), apart=50.0
    )
    assert any(each.stream.way == "open" for each in ribbons)


@pytest.mark.parametrize("sheet", [WIDE, NARROW], ids=["wide", "narrow"])
def test_every_band_has_its_name_joules_and_percent(sheet):
    one = case()
    figure = Figure()
    energy_chart(one.ledger, one.story.contacts).draw(figure, sheet)
    texts = [" ".join(text.get_text().split()) for text in figure.axes[0].texts]
    for stream in split_energy(one.ledger, one.story.contacts):
        if stream.shown:
            assert any(text.startswith(stream.name) and " J" in text and "%" in text for text in texts)
