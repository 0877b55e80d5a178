"""The published schema of campaign.toml is that of the model which reads it."""

import json
from pathlib import Path

from strikeproof.campaign.file_schema import campaign_schema
from strikeproof.quantity import ending_of

PUBLISHED = Path(__file__).parents[3] / "docs" / "schema" / "campaign.schema.json"


def test_the_published_schema_is_of_today() -> None:
    told = "run .venv/bin/python scripts/write_schemas.py"
    assert json.loads(PUBLISHED.read_text("utf-8")) == campaign_schema(), told


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
