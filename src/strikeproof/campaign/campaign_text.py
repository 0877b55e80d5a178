"""A campaign's record as a campaign.toml that reads back as the same record."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import asdict
from typing import Any

from strikeproof.campaign.records import Article, Campaign, OtherRig, Protocol, ScoreRule
from strikeproof.campaign.toml_document import write_document

__all__ = ["write_campaign_text"]


def write_campaign_text(campaign: Campaign) -> str:
    """The file; what a person wrote beside it, such as comments, is not in the record and not in the file."""
    own = ("name", "reference", "margin_percent", "currency", "simulated", "note", "id")
    bolt = asdict(campaign.bolt)
    bolt["class"] = bolt.pop("property_class")
    tables: dict[str, Any] = {
        "campaign": _known({key: getattr(campaign, key) for key in own}),
        "protocol": _known(_protocol(campaign.protocol)),
        "rig": _known(asdict(campaign.rig)),
        "bolt": _known(bolt),
        "runs": {"sheet": campaign.runs_sheet, "logs": campaign.logs_folder},
        "tool": [_known(asdict(each)) for each in campaign.tools],
        "article": [_article(each) for each in campaign.articles],
    }
    if campaign.calibration is not None:
        tables["calibration"] = _known(asdict(campaign.calibration))
    if campaign.other_rigs:
        tables["other_rig"] = [_other_rig(each) for each in campaign.other_rigs]
    return write_document(tables)


def _other_rig(other: OtherRig) -> dict[str, Any]:
    own = _known(asdict(other.rig))
    return own if other.calibration is None else own | {"calibration": _known(asdict(other.calibration))}


def _known(values: Mapping[str, Any]) -> dict[str, Any]:
    return {key: value for key, value in values.items() if value is not None}


def _protocol(protocol: Protocol) -> dict[str, Any]:
    values = asdict(protocol) | {"score": _rule(protocol.score), "duration": f"{protocol.duration_s!r} s"}
    del values["duration_s"]
    pause = values.pop("cool_down_s")
    return values if pause is None else values | {"cool_down": f"{pause!r} s"}


def _rule(rule: ScoreRule) -> str:
    """The rule with all digits of its number, which `str` has not."""
    if rule.kind == "at":
        return f"at {rule.at_s!r} s"
    return f"time to {rule.level!r} {rule.level_unit}" if rule.kind == "time to" else rule.kind


def _article(article: Article) -> dict[str, Any]:
    table = _known(asdict(article))
    geometry = table.pop("geometry", None)
    return table | (json.loads(geometry) if geometry else {})
