"""The keys of what `--json` prints: others read them, so none may come or go unnoticed."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from tests.commands import strikeproof

__all__ = ["keys_of", "printed"]

_FROZEN = Path(__file__).parent / "frozen" / "json_keys.json"
_FREE = ("conditions", "by_rival", "refused", "peak_torques_nm", "article/part", "weights", "charts")
"""Objects whose keys are names that a person gave."""


def keys_of(document: Any, place: str = "") -> Iterator[tuple[str, tuple[str, ...]]]:
    """Each object's place and keys; the members of a list are at one place."""
    if isinstance(document, list):
        for each in document:
            yield from keys_of(each, place)
    if isinstance(document, dict) and not place.endswith(_FREE):
        yield place, tuple(sorted(document))
        for key, value in document.items():
            yield from keys_of(value, f"{place}/{key}")


def printed(*words: str | Path, code: int = 0) -> Any:
    """What a command prints with `--json`, whose keys are those that were published."""
    document = json.loads(strikeproof(*words, "--json", code=code)[0])
    command = " ".join(map(str, words[: 2 if words[0] == "ask" else 1]))
    published = json.loads(_FROZEN.read_text("utf-8"))[command]
    for place, keys in keys_of(document):
        assert list(keys) in published[place], (command, place, keys)
    return document
