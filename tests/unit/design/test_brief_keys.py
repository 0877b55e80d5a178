"""The keys of a brief: the published schema and the document name each of them, and none there is not."""

import json
import re
from pathlib import Path

from strikeproof.design.brief_keys import BRIEF_KEYS, brief_schema
from strikeproof.quantity import ending_of

DOCS = Path(__file__).parents[3] / "docs"


def test_the_published_schema_is_of_today() -> None:
    published = json.loads((DOCS / "schema" / "brief.schema.json").read_text("utf-8"))
    assert published == brief_schema(), "run .venv/bin/python scripts/write_schemas.py"


def test_every_number_has_its_unit_in_the_schema() -> None:
    for key, said in brief_schema()["properties"]["brief"]["properties"].items():
        assert said.get("unit") == (ending_of(key).shown if ending_of(key) else None), key


def test_the_document_names_every_key_of_the_brief_and_its_envelope() -> None:
    text = (DOCS / "design.md").read_text("utf-8")
    told = set(
        re.findall(r"`([a-z_0-9]+)`", "\n".join(line for line in text.splitlines() if line.startswith("|")))
    )
    assert {*BRIEF_KEYS["brief"], *BRIEF_KEYS["envelope"], "pocket"} <= told
