"""What the test bolt may carry, as a level of the rig, and what is said where nothing can watch for more."""

from __future__ import annotations

from dataclasses import replace

import pytest

from strikeproof.campaign.records import Bolt, Campaign, Protocol, Rig, Tool
from strikeproof.desk.calibrating.worth import Worth
from strikeproof.desk.safety.bolt_limit import (
    BoltLimit,
    blind_words,
    find_limit,
    limit_words,
    tell_limit,
    unwatched_words,
)
from strikeproof.quantity import kind_of_unit

M20 = Bolt("M20x2.5", "10.9", friction=0.12)
KN = Worth("kN", "force", None, 2.8e-3, None)


def campaign(bolt: Bolt = M20, **changes: object) -> Campaign:
    protocol = Protocol(**changes)  # type: ignore[arg-type]
    return Campaign("c", "plain", 3.0, "EUR", protocol, Rig("rig"), bolt, (Tool("air"),), ())


def worth(unit: str, per_force: float | None, reason: str | None = None) -> Worth:
    return Worth(unit, kind_of_unit(unit), None, per_force, reason)


def test_the_limit_is_a_level_in_the_unit_of_the_rig() -> None:
    """M20 of class 10.9: proof load 203 kN (ISO 898-1:2013, Table 5), of which three quarters."""
    limit = find_limit(campaign(), KN)
    assert (limit.level, limit.unwatched) == (pytest.approx(0.75 * 203.0, rel=0.005), None)
    assert limit_words(limit) == "Stop below 152 kN of clamp load: 75 % of the bolt's proof load."
    in_torque = find_limit(campaign(), worth("N m", 2.8e-3))
    assert in_torque.level == pytest.approx(2.8 * 0.75 * 203.0, rel=0.005)
    assert limit_words(in_torque).startswith("Stop below 427 N·m, 152 kN of clamp load")


@pytest.mark.parametrize(
    ("given", "known", "code", "words"),
    [
        (campaign(), worth("reading", 2.8e-3, "the rig has no calibration"), "no load", "no calibration"),
        (campaign(replace(M20, friction=None)), worth("N m", None), "no friction", "bolt.friction"),
        (campaign(Bolt()), KN, "no bolt", "bolt.class"),
    ],
)
def test_where_nothing_can_watch_it_is_said_why_and_no_limit_is_given(
    given: Campaign, known: Worth, code: str, words: str
) -> None:
    limit = find_limit(given, known)
    assert (limit.level, limit.unwatched) == (None, code)
    said = unwatched_words(limit)
    assert said.startswith("Nothing watches for overload: ")
    assert words in said
    assert limit_words(limit) == ""


@pytest.mark.parametrize(
    ("full_scale", "zero", "known", "figures"),
    [
        (100.0, None, KN, "reads to 100 kN at most, and the limit is at 152 kN"),
        (160.0, 9.0, KN, "the limit is at 161 kN"),
        (400.0, None, worth("N m", 2.8e-3), "reads to 400 N·m at most, and the limit is at 4"),
        (160.0, None, KN, ""),
    ],
)
def test_a_full_scale_below_the_limit_watches_nothing(
    full_scale: float, zero: float | None, known: Worth, figures: str
) -> None:
    given = replace(campaign(), rig=Rig("rig", unit=known.unit, full_scale=full_scale, zero=zero))
    limit = find_limit(given, known)
    assert limit.level == find_limit(campaign(), known).level, "a bolt that is tight before is still found"
    said = unwatched_words(limit)
    assert said.startswith("Nothing watches for overload: ") == bool(figures)
    assert figures in said and figures in blind_words(given)
    assert (blind_words(given) == "") == (figures == "")


def test_a_limit_that_is_watched_says_nothing_else() -> None:
    assert unwatched_words(BoltLimit(1e5, 0.75, 100.0, "kN", None)) == ""


def test_a_bolt_that_is_loosened_has_a_limit_that_is_sure_once_the_loose_reading_is_known() -> None:
    unsure = find_limit(campaign(direction="loosen"), KN)
    assert (unsure.level, unsure.unwatched) == (find_limit(campaign(), KN).level, "loosened")
    assert unwatched_words(unsure).startswith("Only part of the watch for overload is sure: ")
    known = replace(campaign(direction="loosen"), rig=Rig("rig", zero=2.0))
    assert find_limit(known, KN).unwatched is None


def test_a_plan_to_loosen_says_what_the_bolt_may_carry_and_nothing_to_stop_below() -> None:
    rig = Rig("rig", unit="kN")
    assert (
        tell_limit(replace(campaign(), rig=rig))
        == "stop below 152 kN of clamp load: 75 % of the bolt's proof load"
    )
    said = tell_limit(replace(campaign(direction="loosen"), rig=rig))
    assert said is not None and said.startswith("the bolt may carry 152 kN") and "stop" not in said
