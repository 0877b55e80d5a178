"""What would make an article fit: each fix is enough for what it names."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import HealthCheck, assume, given, settings
from tests.unit.design.places import article_tables, envelopes
from tests.unit.parts.examples import article, extension, ring, socket

from strikeproof.design.envelope import find_touches, swept_bodies, widened
from strikeproof.design.fixes import find_fixes
from strikeproof.design.records import Envelope, Step
from strikeproof.errors import StrikeproofError
from strikeproof.parts import read_article
from strikeproof.parts.layout import place

MM = 1e-3
POCKET = Envelope((Step(30 * MM, 90 * MM), Step(55 * MM, 52 * MM)), 120 * MM, 60 * MM, 1 * MM)


def named(fixes):
    return {(fix.part, fix.key): fix.value for fix in fixes}


def test_what_fits_needs_no_fix():
    assert find_fixes(article(socket()), POCKET) == ()


def test_a_ring_too_deep_may_be_turned_down_or_moved_up_or_the_pocket_opened():
    """It reaches 22 mm above the seat; the ledge stands at 25 mm and is cleared by 1 mm."""
    fixes = named(find_fixes(article(socket(), ring(at_mm=38)), POCKET))
    assert fixes == {
        ("ring", "outer_diameter_mm"): pytest.approx(50 * MM),
        ("ring", "at_mm"): pytest.approx(34 * MM),
        (None, "pocket.2.diameter_mm"): pytest.approx(82 * MM),
    }


def test_a_ring_wider_than_the_pocket_cannot_be_moved_out_of_it():
    deep = replace(POCKET, pocket=(Step(100 * MM, 60 * MM),))
    keys = named(find_fixes(article(socket(), ring()), deep))
    assert ("ring", "at_mm") not in keys
    assert ("ring", "outer_diameter_mm") in keys


def test_a_socket_is_not_turned_down_into_its_hexagon():
    """Its hexagon is 28 mm over the corners, so 26 mm leave no wall."""
    narrow = Envelope((Step(80 * MM, 28 * MM),))
    assert list(named(find_fixes(article(socket()), narrow))) == [(None, "pocket.1.diameter_mm")]


def test_a_plain_shank_too_long_is_sawn_off_and_a_socket_is_not():
    shank = article(extension(100))
    assert named(find_fixes(shank, Envelope(free_length=90 * MM)))["shank", "length_mm"] == pytest.approx(
        0.09
    )
    assert list(named(find_fixes(article(socket()), Envelope(free_length=70 * MM)))) == [
        (None, "free_length_mm")
    ]


def test_a_shank_is_never_sawn_to_nothing():
    assert named(find_fixes(article(extension(20), socket()), Envelope(free_length=80 * MM))) == {
        (None, "free_length_mm"): pytest.approx(100 * MM)
    }


def test_a_ring_below_the_seat_is_moved_up():
    fixes = named(find_fixes(article(socket(), ring(at_mm=65)), Envelope()))
    assert fixes == {("ring", "at_mm"): pytest.approx(60 * MM)}


def test_a_ring_is_never_moved_past_the_drive_end():
    """To clear the ledge at 60 mm it would have to stand 2 mm above the drive end of its socket."""
    high = Envelope((Step(20 * MM, 90 * MM), Step(81 * MM, 52 * MM)), None, None, 1 * MM)
    one = article(socket(), ring(at_mm=2, length_mm=20))
    assert any(touch.part == "ring" for touch in find_touches(one, high))
    keys = named(find_fixes(one, high))
    assert ("ring", "at_mm") not in keys
    assert ("ring", "outer_diameter_mm") in keys


@settings(max_examples=80, deadline=None, suppress_health_check=[HealthCheck.filter_too_much])
@given(article_tables(), envelopes())
def test_every_fix_of_a_part_frees_it(table, envelope):
    try:
        made = read_article(table)
        fixes = find_fixes(made, envelope)
    except StrikeproofError:
        assume(False)
    for fix in fixes:
        if fix.part is None:
            continue
        assert fix.value > 0 or (fix.key == "at_mm" and fix.value == 0)
        parts = [
            each | {fix.key: fix.value * 1e3} if each["name"] == fix.part else each for each in table["part"]
        ]
        changed = read_article(table | {"part": parts})
        assert all(touch.part != fix.part for touch in find_touches(changed, envelope))


@settings(max_examples=80, deadline=None, suppress_health_check=[HealthCheck.filter_too_much])
@given(article_tables(), envelopes())
def test_the_widened_envelope_holds_it_and_nothing_narrower_does(table, envelope):
    try:
        made = read_article(table)
        bodies = swept_bodies(place(made))
    except StrikeproofError:
        assume(False)
    assume(min(body.low for body in bodies) >= 0)
    wide = widened(envelope, bodies)
    assert find_touches(made, wide) == ()
    if not find_touches(made, envelope):
        assert wide == envelope
    for number, (before, after) in enumerate(zip(envelope.pocket, wide.pocket, strict=True)):
        if before != after:
            steps = list(wide.pocket)
            steps[number] = replace(after, diameter=after.diameter - 1e-5)
            assert find_touches(made, replace(wide, pocket=tuple(steps)))
