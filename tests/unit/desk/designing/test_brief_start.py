"""The brief that the browser begins with can be searched: something sound can be made from its stock."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from tests.unit.desk.scores import Bench, write_folder

from strikeproof.campaign.folder import read_campaign
from strikeproof.design.possible import list_options
from strikeproof.design.reading import read_brief
from strikeproof.desk.articles.starting_shapes import start_article
from strikeproof.desk.designing.brief_draft import first_brief

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
