"""Results that were worked out, as the store saves them: with a checksum, so that damage is noticed."""

from __future__ import annotations

import json
import zlib
from typing import Any, Final

__all__ = ["is_damaged", "seal", "unseal"]

_SUM: Final = "crc32"
_TEXT: Final = "text"


def seal(value: Any) -> dict[str, str]:
    """A result as JSON, and the CRC-32 of that: any burst of up to 32 bits is noticed."""
    text = json.dumps(value)
    return {_SUM: _sum_of(text), _TEXT: text}


def unseal(kept: str) -> Any:
    """The result that was sealed, from the JSON of its seal.

    Raises
    ------
    ValueError, KeyError, TypeError
        If it is damaged, or was stored by a version that sealed nothing.
    """
    found = json.loads(kept)
    text = found[_TEXT]
    if found[_SUM] != _sum_of(text):
        raise ValueError("the checksum does not match")
    return json.loads(text)


def is_damaged(kept: str) -> bool:
    """Whether it cannot be believed; one of a version that sealed nothing is only worked out again."""
    try:
        found = json.loads(kept)
    except ValueError:
        return True
    if not isinstance(found, dict) or not {_SUM, _TEXT} & found.keys():
        return False
    try:
        unseal(kept)
    except (ValueError, KeyError, TypeError):
        return True
    return False


def _sum_of(text: str) -> str:
    return f"{zlib.crc32(text.encode('utf-8', 'surrogatepass')):08x}"
