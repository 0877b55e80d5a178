"""The keys of campaign.toml as a JSON Schema (draft 2020-12), for editors and other programs."""

from __future__ import annotations

from typing import Any, Final

from pydantic.json_schema import GenerateJsonSchema
from pydantic_core.core_schema import NullableSchema

from strikeproof.campaign.keys import CampaignFile
from strikeproof.parts.article_schema import measured_schema, part_schema
from strikeproof.quantity import ending_of

__all__ = ["AsWritten", "as_key", "campaign_schema"]

_NUMBERS: Final = ("number", "integer")
_TEXT_TOO: Final = ("zero",)  # in the unit that the rig says


class AsWritten(GenerateJsonSchema):
    """TOML has no null: a key that may be absent is only not required."""

    def nullable_schema(self, schema: NullableSchema) -> dict[str, Any]:
        """What may be absent, as what it is."""
        return self.generate_inner(schema["schema"])


def campaign_schema() -> dict[str, Any]:
    """Every table with its keys: what they are called and mean, their units, ranges and defaults."""
    schema = CampaignFile.model_json_schema(schema_generator=AsWritten)
    tables: dict[str, dict[str, Any]] = schema["$defs"]
    for table in (schema, *tables.values()):
        table["properties"] = {key: as_key(key, each) for key, each in table["properties"].items()}
    article = tables["ArticleTable"]["properties"]
    article["part"]["items"], article["measured"] = part_schema(), article["measured"] | measured_schema()
    return {"$schema": AsWritten.schema_dialect, **schema, "title": "campaign.toml"}


def as_key(key: str, said: dict[str, Any]) -> dict[str, Any]:
    """One key: a default as it is written, a unit, and a text with its unit in place of a number."""
    default, ending = said.pop("default", None), ending_of(key)
    if said.get("type") == "string" and isinstance(default, float):
        default = f"{default:g} s"
    if not isinstance(default, dict | None):
        said["default"] = default
    if said.get("type") not in _NUMBERS or (ending is None and key not in _TEXT_TOO):
        return said
    limits = {name: said.pop(name) for name in list(said) if name not in ("title", "description", "default")}
    unit = {"unit": ending.shown} if ending else {}
    return {**said, **unit, "anyOf": [limits, {"type": "string"}]}
