"""Make the bench's glossary from the table of words in docs/nomenclature.md.

`.venv/bin/python scripts/write_glossary.py` writes it; with `--check` the exit code is 1 when it is not up to
date.
"""

from __future__ import annotations

import json
import sys
from pathlib import Path

ROOT = Path(__file__).parent.parent
DOCUMENT = ROOT / "docs" / "nomenclature.md"
GLOSSARY = ROOT / "src" / "strikeproof" / "web" / "glossary.json"


def read_words(text: str) -> list[dict[str, object]]:
    """Word, other names and meaning of each line of the first table."""
    lines = text.split("| word | also | meaning |\n|---|---|---|\n", 1)[1].split("\n\n", 1)[0].splitlines()
    rows = [[cell.strip() for cell in line.strip("| ").split(" | ")] for line in lines]
    return [
        {"word": word, "also": [] if also == "–" else also.split(", "), "meaning": meaning}
        for word, also, meaning in rows
    ]


def main() -> int:
    """Write the glossary, or compare it."""
    made = json.dumps(read_words(DOCUMENT.read_text("utf-8")), ensure_ascii=False, indent=1) + "\n"
    if "--check" in sys.argv:
        return int(GLOSSARY.read_text("utf-8") != made)
    GLOSSARY.write_text(made, "utf-8")
    return 0


if __name__ == "__main__":
    sys.exit(main())
