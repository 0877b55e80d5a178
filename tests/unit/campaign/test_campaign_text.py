"""A campaign's record written as a file reads back as the same record."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from tests.unit.desk.live_bench import CAMPAIGN

from strikeproof.campaign.campaign_text import write_campaign_text
from strikeproof.campaign.folder import read_campaign
from strikeproof.campaign.records import ScoreRule

EXAMPLES = Path(__file__).parents[3] / "examples"
DEMO = Path(__file__).parents[3] / "src/strikeproof/desk/templates/demo-campaign.toml"


@pytest.mark.parametrize("text", [CAMPAIGN, DEMO.read_text(encoding="utf-8").replace("SEED", "13")])
@pytest.mark.parametrize(
    "rule",
    [ScoreRule(), ScoreRule("peak"), ScoreRule("at", at_s=1.23456789), ScoreRule("time to", None, 0.1, "kN")],
)
def test_it_reads_back_as_it_was(tmp_path: Path, text: str, rule: ScoreRule) -> None:
    path = tmp_path / "campaign.toml"
    path.write_text(text, encoding="utf-8")
    found = read_campaign(path)
    changed = replace(
        found, protocol=replace(found.protocol, score=rule, duration_s=3.3), note='say "so" \\ é'
    )
    path.write_text(write_campaign_text(changed), encoding="utf-8")
    assert read_campaign(path) == changed
