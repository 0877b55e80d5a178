"""A longer run is suggested only where bolt and article are expected to withstand it."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path

import pytest
from tests.unit.desk.scores import Bench, load

from strikeproof.campaign.records import Bolt, Campaign
from strikeproof.desk.explaining.candidates import Endurance, list_candidates
from strikeproof.desk.explaining.evidence import GatheredEvidence, gather_evidence
from strikeproof.desk.workspace.opening import open_campaign
from strikeproof.parts import Margin

LONG = "for 12 s instead of 4 s"


@pytest.fixture(scope="module")
def gathered(tmp_path_factory: pytest.TempPathFactory) -> GatheredEvidence:
    return gather_evidence(*open_campaign(load(tmp_path_factory.mktemp("longer"), Bench()), None))


def on_bolt(gathered: GatheredEvidence, bolt: Bolt) -> tuple[list[str], tuple[str, ...]]:
    """Suggested longer tests, and what is not suggested."""
    campaign: Campaign = replace(gathered.campaign, bolt=bolt)
    found, refused = list_candidates(campaign, gathered.articles, gathered.evidence)
    return [each.name for each in found if LONG in each.name], refused


def test_a_longer_run_that_is_too_much_for_the_bolt_is_not_suggested(gathered: GatheredEvidence) -> None:
    weak = replace(gathered.campaign.bolt, property_class="8.8", largest_proof_share=0.3)
    suggested, refused = on_bolt(gathered, weak)
    assert suggested == []
    assert len(refused) == 1
    assert LONG in refused[0] and "is not suggested as a next test" in refused[0]
    assert "kN of clamp load is predicted" in refused[0] and "kN is allowed" in refused[0]


def test_a_longer_run_that_the_bolt_withstands_is_suggested_with_what_is_predicted(
    gathered: GatheredEvidence,
) -> None:
    strong = replace(gathered.campaign.bolt, thread="M36x4", property_class="12.9")
    suggested, refused = on_bolt(gathered, strong)
    assert refused == ()
    assert len(suggested) == 1
    assert "kN of clamp load is predicted" in suggested[0]
    assert re.search(r"the strength of ring-\w and plain is not known: give the parts", suggested[0])


def test_a_bolt_that_is_not_known_is_said_to_be(gathered: GatheredEvidence) -> None:
    suggested, _ = on_bolt(gathered, Bolt(friction=0.12))
    assert "whether the bolt withstands it is not known" in suggested[0]


def test_what_is_refused_is_said_beside_the_explanation(tmp_path: Path) -> None:
    lab = load(tmp_path, Bench(protocol='cool_down = "30 s"'))
    store, key, campaign = open_campaign(lab, None)
    weak = replace(campaign, bolt=replace(campaign.bolt, property_class="8.8", largest_proof_share=0.3))
    found = gather_evidence(store, key, weak).evidence
    assert any("is not suggested as a next test" in each for each in found.caveats)
    assert not any(LONG in each.name for each in found.candidates)


def test_an_article_that_would_give_forbids_it_too() -> None:
    weak = Margin("socket", "section", 0.9, None, 700.0)
    sound = replace(weak, static=4.2)
    assert not Endurance(1e5, 2e5, ("ring", weak), ()).withstood
    assert "ring, socket (section): 0.90 times, stop" in str(Endurance(1e5, 2e5, ("ring", weak), ()))
    assert Endurance(1e5, 2e5, ("ring", sound), ()).withstood
    assert not Endurance(3e5, 2e5, ("ring", sound), ()).withstood
    unsure = replace(sound, mode="wall", static=1.2)  # ±20 %
    assert not Endurance(1e5, 2e5, ("ring", unsure), ()).withstood
    assert "1.2 (±20 %) times" in str(Endurance(1e5, 2e5, ("ring", unsure), ()))
