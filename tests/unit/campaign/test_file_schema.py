"""The published schemas of campaign.toml and the run sheet are those of the models which read them."""

import json
from collections.abc import Callable
from dataclasses import fields
from pathlib import Path
from typing import Any

import pytest

from strikeproof.campaign.file_schema import campaign_schema
from strikeproof.campaign.records import RunRow
from strikeproof.campaign.run_sheet import sheet_schema
from strikeproof.campaign.summary_file import summary_schema
from strikeproof.parts.article_schema import article_schema
from strikeproof.quantity import ending_of

PUBLISHED = Path(__file__).parents[3] / "docs" / "schema"


@pytest.mark.parametrize(
    ("name", "schema"),
    [
        ("campaign", campaign_schema),
        ("run-sheet", sheet_schema),
        ("article", article_schema),
        ("published-summary", summary_schema),
    ],
)
def test_the_published_schema_is_of_today(name: str, schema: Callable[[], Any]) -> None:
    published = json.loads((PUBLISHED / f"{name}.schema.json").read_text("utf-8"))
    assert published == schema(), "run .venv/bin/python scripts/write_schemas.py"


def test_every_column_is_a_field_of_the_record() -> None:
    told = {each["name"] for each in sheet_schema()["fields"]}
    assert told == {each.name for each in fields(RunRow)} - {"line"}


def test_every_key_says_its_unit_and_takes_a_text_with_one() -> None:
    for table in campaign_schema()["$defs"].values():
        for key, said in table["properties"].items():
            assert said["title"] and said["description"]
            assert said.get("unit") == (ending_of(key).shown if ending_of(key) else None), key
            assert "unit" not in said or {"type": "string"} in said["anyOf"], key


def test_a_default_is_as_a_file_would_say_it() -> None:
    protocol = campaign_schema()["$defs"]["ProtocolTable"]["properties"]
    assert (protocol["duration"]["default"], protocol["score"].get("type")) == ("10 s", "string")
    assert "default" not in protocol["cool_down"]
