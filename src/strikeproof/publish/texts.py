"""Small words: names cut to fit, names for files, lists and counts in plain English."""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import Any, Literal

from strikeproof.language import joined, retold, say, write_figures
from strikeproof.plain_text import clean_text, mark_foreign

__all__ = ["clip", "count", "file_word", "given", "join_words", "plain", "sentence", "tie", "unit_words"]

_PERCENT = re.compile(r"(?<=\d) %")


def plain(text: str) -> str:
    """`text` on one line without control or direction characters."""
    return clean_text(retold(text), " ").strip()


def clip(text: str, most: int) -> str:
    """`text` on one line, at most `most` letters, with an ellipsis where it was cut."""
    text = plain(text)
    return text if len(text) <= most else text[: most - 1].rstrip() + "…"


def file_word(text: str) -> str:
    """`text` as a part of a file name that every file system takes."""
    word = re.sub(r"[^a-z0-9]+", "-", plain(text).casefold()).strip("-")
    return word or "unnamed"


def given(number: float) -> str:
    """A number that someone chose, as it was chosen: 10, 3 or 12.7."""
    return write_figures(f"{number:.10g}".replace("-", "−"))


def sentence(text: str) -> str:
    """`text` with a capital at its start and a full stop at its end."""
    text = retold(text).strip()
    return text[:1].upper() + text[1:] + ("" if text.endswith((".", "!", "?")) else ".")


def tie(value: object) -> object:
    """Text as a document may hold it, each percent sign on the line of its number; anything else as it is."""
    text: Any = retold(value)
    plain_words = isinstance(text, str) and not hasattr(text, "__html__")
    return _PERCENT.sub("\u00a0%", mark_foreign(text)) if plain_words else text


def unit_words(unit: str) -> str:
    """A unit as it is printed; what the rig shows without a unit is in arbitrary ones."""
    return say("arb. unit") if unit == "reading" else unit


def count(number: int, one: str, many: str | None = None) -> str:
    """`1 run`, `2 runs`."""
    return f"{number} {one if number == 1 else many or one + 's'}"


def join_words(words: Sequence[str], last: Literal["and", "or"] = "and") -> str:
    """`a`, `a and b`, `a, b and c`."""
    return joined(words, last)
