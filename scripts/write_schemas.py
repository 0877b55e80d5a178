"""Write docs/schema/*.schema.json, of the files that people write, from the models that read them."""

import json
from pathlib import Path

from strikeproof.campaign.file_schema import campaign_schema
from strikeproof.campaign.run_sheet import sheet_schema
from strikeproof.campaign.summary_file import summary_schema
from strikeproof.design.brief_keys import brief_schema
from strikeproof.parts.article_schema import article_schema

FOLDER = Path(__file__).parent.parent / "docs" / "schema"
SCHEMAS = {
    "campaign": campaign_schema,
    "brief": brief_schema,
    "run-sheet": sheet_schema,
    "article": article_schema,
    "published-summary": summary_schema,
}

if __name__ == "__main__":
    FOLDER.mkdir(exist_ok=True)
    for name, schema in SCHEMAS.items():
        text = json.dumps(schema(), indent=1, ensure_ascii=False)
        (FOLDER / f"{name}.schema.json").write_text(f"{text}\n", encoding="utf-8")
