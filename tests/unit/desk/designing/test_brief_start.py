"""The brief that the browser begins with can be searched: something sound can be made from its stock."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from tests.unit.desk.scores import Bench, write_folder

from strikeproof.campaign.folder import read_campaign
from strikeproof.design.possible import list_options
from strikeproof.design.reading import read_brief
from strikeproof.desk.articles.starting_shapes import start_article
from strikeproof.desk.designing.brief_draft import first_brief, lowered_margins, small_margins

PEAK = 900.0  # N·m: what an ordinary half-inch tool may reach at the bolt (common practice, no source)


@pytest.mark.parametrize("head", [21, 24, 27, 36])
def test_a_sound_socket_can_be_turned_from_its_bar(tmp_path: Path, head: int) -> None:
    campaign = read_campaign(write_folder(tmp_path, Bench()) / "campaign.toml")
    plain = start_article("plain", "plain", head, 12.7)
    tables = first_brief(campaign, {"plain": plain})
    assert tables["brief"]["hexagon_mm"] == head
    brief = replace(read_brief(tables, known_articles={"plain": plain}), bases=())
    own = [
        each for each in list_options(brief, PEAK) if each.offer is None and each.reached.static is not None
    ]
    assert max(each.reached.static for each in own) >= brief.least_static


@pytest.mark.parametrize(
    ("before", "after", "asks"),
    [
        (None, 1.2, [(1.5, 1.2)]),  # what holds where the file is silent counts as before
        (2.0, 1.6, [(2.0, 1.6)]),
        (1.2, None, []),
        (1.6, 2.0, []),
        (1.5, 0.8, []),  # no margin at all: refused at its field, and nothing to ask about
        (0.8, 1.2, [(1.5, 1.2)]),  # not a raise, by way of what was refused
        (1.5, "x", []),
        ("x", 1.2, [(1.5, 1.2)]),
    ],
)
def test_a_smaller_margin_is_noticed_however_it_came(before: Any, after: Any, asks: Any) -> None:
    was, now = ({"brief": {} if each is None else {"least_margin": each}} for each in (before, after))
    assert [(each.before, each.after) for each in lowered_margins(was, now)] == asks


def test_no_margin_against_fatigue_is_less_than_any() -> None:
    was, now = {"brief": {"least_fatigue_margin": 1.1}}, {"brief": {}}
    assert [(each.before, each.after) for each in lowered_margins(was, now)] == [(1.1, 0.0)]


def test_what_is_below_the_usual_stays_said() -> None:
    assert [(each.before, each.after) for each in small_margins({"brief": {"least_margin": 1.2}})] == [
        (1.5, 1.2)
    ]
    assert small_margins({"brief": {"least_margin": 1.5}}) == small_margins({"brief": {}}) == ()
