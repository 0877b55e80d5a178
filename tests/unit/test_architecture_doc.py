"""The map names rooms, files and tables that are there, and every room."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
TEXT = (ROOT / "docs" / "architecture.md").read_text("utf-8")
FILES = sorted(set(re.findall(r"`([a-z_]+(?:/[a-z_]+)*/[a-z_]+\.(?:py|js))`", TEXT)))
TABLES = re.findall(r"`(_?[A-Z]+)`(?: and `[A-Z]+`)? in `([a-z_/]+\.py)`", TEXT)


@pytest.mark.parametrize("name", FILES)
def test_every_file_is_there(name: str) -> None:
    places = (ROOT / "src" / "strikeproof" / name, ROOT / "tests" / name, ROOT / name)
    assert any(each.is_file() for each in places)


@pytest.mark.parametrize(("table", "name"), TABLES)
def test_every_table_is_where_it_is_said_to_be(table: str, name: str) -> None:
    text = (ROOT / "src" / "strikeproof" / name).read_text("utf-8")
    assert re.search(rf"^{table}\b.*=", text, re.MULTILINE)


def test_every_room_is_named() -> None:
    contracts = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["tool"]["importlinter"][
        "contracts"
    ]
    rooms = next(each["layers"] for each in contracts if each["type"] == "layers")
    assert all(f"`{room.strip('()')}`" in TEXT for room in rooms)
