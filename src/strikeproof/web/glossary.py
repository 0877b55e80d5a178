"""The words of statistics that the bench shows: what each means, and the way from a word to its meaning."""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from strikeproof.plain_text import xml_text

__all__ = ["Word", "linked", "read_glossary"]

_UNIT = re.compile(r"\s*[(\[,].*$")


@dataclass(frozen=True, slots=True)
class Word:
    """A word with its meaning; `also` are other names that it is shown by."""

    word: str
    also: tuple[str, ...]
    meaning: str

    @property
    def key(self) -> str:
        """Its place on the page."""
        return self.word.replace(" ", "-")


@cache
def read_glossary() -> tuple[Word, ...]:
    """All words in the order of the alphabet; scripts/write_glossary.py makes the file from the docs."""
    text = Path(__file__).with_name("glossary.json").read_text("utf-8")
    words = [Word(each["word"], tuple(each["also"]), each["meaning"]) for each in json.loads(text)]
    return tuple(sorted(words, key=lambda each: each.word))


@cache
def _by_name() -> Mapping[str, str]:
    return {name: each.key for each in read_glossary() for name in (each.word, *each.also)}


def linked(label: str) -> str:
    """Markup of a label or a head: where the glossary knows its word, a link to what that means.

    What comes after the word, such as a unit, does not count.
    """
    key = _by_name().get(_UNIT.sub("", label).strip().casefold())
    shown = xml_text(label)
    return shown if key is None else f'<a class="term" href="/glossary#{key}">{shown}</a>'
