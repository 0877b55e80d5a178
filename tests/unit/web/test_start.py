"""What the first page says of a campaign agrees with itself and with its rig."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from strikeproof.desk.setting_up.shelf import CampaignGlance
from strikeproof.web.frame import View
from strikeproof.web.pages import start

RECORDED = CampaignGlance("rings", "recorded", "", False, 5, 1, "plain", False, 12, 12)


def first_word(glance: CampaignGlance) -> str:
    bare: Any = None
    view = View(bare, bare, bare, ("rings",), "rings", "rings")
    return next(start._next(view, glance))[2]


@pytest.mark.parametrize(("in_load", "ratios"), [(True, False), (False, True)])
def test_only_a_rig_that_reads_no_load_gives_only_ratios(in_load: bool, ratios: bool) -> None:
    assert ("only ratios" in first_word(replace(RECORDED, in_load=in_load))) is ratios


def test_a_campaign_from_elsewhere_without_runs_is_not_both_planned_and_not() -> None:
    empty = replace(RECORDED, stage="planned", runs=0, planned=0)
    assert (start._runs(empty), first_word(empty)) == ("none yet", "None of its runs is loaded yet.")
    assert first_word(replace(empty, planned=6)) == "Its runs are planned; none is recorded yet."
