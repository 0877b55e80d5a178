"""Signs that stand for a minus in some languages' exports, and in what word processors make of them."""

from __future__ import annotations

import re

__all__ = ["plain_minus"]

_MINUS, _DASH = "\N{MINUS SIGN}".encode(), "\N{EN DASH}".encode()
_BEFORE_A_NUMBER = re.compile(rb"(?<![0-9A-Za-z])(?:" + _MINUS + b"|" + _DASH + rb")(?=\s?[0-9.,])")


def plain_minus(raw: bytes) -> bytes:
    """UTF-8 text with a plain minus wherever one of them begins a number."""
    if _MINUS not in raw and _DASH not in raw:
        return raw
    return _BEFORE_A_NUMBER.sub(b"-", raw)
