"""The files in `examples` and the keys in their document are what the program reads."""

import re
from pathlib import Path

import pytest

from strikeproof.desk.simulating.bench import override
from strikeproof.desk.simulating.simulate import simulate_file

ROOT = Path(__file__).parents[2]


@pytest.mark.parametrize("path", sorted((ROOT / "examples").glob("*.toml")), ids=lambda path: path.name)
def test_an_example_can_be_hammered(path: Path) -> None:
    assert simulate_file(path).score > 1e4


def test_every_key_of_the_document_is_read() -> None:
    text = (ROOT / "docs" / "simulating.md").read_text(encoding="utf-8")
    rows = re.findall(r"^\| (\w+) \| `(\w+)` \|", text, re.MULTILINE)
    assert len(rows) >= 8
    for table, key in rows:
        override({}, [(f"{table}.{key}", "1")])
