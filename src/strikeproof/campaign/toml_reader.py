"""The one reader of TOML that a person or a stranger wrote: its tables, or a problem in bounded time.

The parser itself takes time and memory by the square of a dotted key's length and recurses into nested
arrays; what comes after it names every key that it does not know. So length, depth and number are limited
here, far above what any campaign needs.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import Any, Final

from strikeproof.campaign.text import bad_file, read_file, read_text_of, unpack
from strikeproof.errors import BadFile

__all__ = ["MOST_BYTES", "MOST_DEEP", "MOST_VALUES", "parse_toml", "read_toml", "read_toml_of"]

MOST_BYTES: Final = 1 << 20
MOST_VALUES: Final = 5_000
"""Keys, and values in arrays."""
MOST_DEEP: Final = 24
"""Tables and arrays within one another."""
MOST_TABLES: Final = 1_000
"""Of one name, such as articles."""
LONGEST_KEY: Final = 200
_LARGEST_WHOLE = 2**63  # TOML 1.0.0, "Integer": 64-bit signed is what a parser must take

# Each word starts where no word goes on, and is never given back: the time is in proportion to the text.
_DOTTED = re.compile(
    r"(?<![\w\-])(?:(?:[\w\-]++|\"[^\"\n]*+\"|'[^'\n]*+')[ \t]*+\.[ \t]*+){" + str(MOST_DEEP) + "}"
)


def read_toml(path: Path) -> tuple[dict[str, Any], str]:
    """The tables of a file, and its text.

    Raises
    ------
    BadFile
        If there is no such file, or it is no TOML, or larger, longer or deeper than any that a person needs.
    """
    return read_toml_of(path, read_file(path, MOST_BYTES))


def read_toml_of(path: Path, content: bytes) -> tuple[dict[str, Any], str]:
    """The same of a file whose bytes have been read.

    Raises
    ------
    BadFile
        As `read_toml`.
    """
    text = read_text_of(path, unpack(path, content, MOST_BYTES))
    return parse_toml(text, path), text


def parse_toml(text: str, path: Path) -> dict[str, Any]:
    """The tables of a text; `path` is the file that it is, or is to be, in.

    Raises
    ------
    BadFile
        As `read_toml`.
    """
    if len(text) > MOST_BYTES:
        raise bad_file(path, f"holds more than {MOST_BYTES >> 20} MiB", "check what file it is")
    if found := _DOTTED.search(text):
        raise _too_deep(path, text.count("\n", 0, found.start()) + 1)
    try:
        tables = tomllib.loads(text)
    except RecursionError:
        raise _too_deep(path, None) from None
    except ValueError as wrong:  # also a whole number of 5000 digits
        place = re.search(r"\(at line (\d+), column (\d+)\)", str(wrong))
        what = re.sub(r"\s*\(at .*\)", "", str(wrong))[:200]
        fix = "fix that line; put text values in quotes"
        raise bad_file(path, f"this is not TOML: {what}", fix, int(place[1]) if place else None) from wrong
    _check_size(tables, path)
    return tables


def _check_size(tables: dict[str, Any], path: Path) -> None:
    count, waiting = 0, [iter([("", tables, 0)])]
    while waiting:
        for key, value, depth in waiting.pop():
            count += 1
            if count > MOST_VALUES:
                raise bad_file(
                    path,
                    f"holds more than {MOST_VALUES} values",
                    "delete what is not needed",
                )
            if depth > MOST_DEEP:
                raise _too_deep(path, None)
            _check_value(key, value, path)
            if isinstance(value, dict | list):
                waiting.append(_inside(value, key, depth + 1))


def _inside(value: dict[str, Any] | list[Any], key: str, depth: int) -> Iterator[tuple[str, Any, int]]:
    if isinstance(value, dict):
        return ((name, each, depth) for name, each in value.items())
    return ((key, each, depth) for each in value)


def _check_value(key: str, value: object, path: Path) -> None:
    if len(key) > LONGEST_KEY:
        raise bad_file(path, f"has a key of {len(key)} characters: {key[:40]!r}...", "shorten the key")
    if isinstance(value, int) and not -_LARGEST_WHOLE <= value < _LARGEST_WHOLE:
        raise bad_file(path, f"{key} is too large a whole number, beyond 64 bits", "fix the number")
    if isinstance(value, list) and len(value) > MOST_TABLES and isinstance(value[0], dict):
        raise bad_file(path, f"{key}: more than {MOST_TABLES} of it", "split it into several campaigns")


def _too_deep(path: Path, line: int | None) -> BadFile:
    what = f"tables, arrays or dotted keys lie more than {MOST_DEEP} deep within one another"
    return bad_file(path, what, "write them in fewer levels", line)
