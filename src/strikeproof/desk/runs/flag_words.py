"""What a flag is called where a person reads it, and what to do; files and JSON keep its code."""

from __future__ import annotations

from collections.abc import Iterable

from strikeproof.campaign.flags import find_flag
from strikeproof.language import listed

__all__ = ["flag_fix", "flag_words", "list_flags"]


def flag_words(code: str) -> str:
    """A flag in plain words."""
    return find_flag(code).words


def flag_fix(code: str) -> str:
    """What to do about it; empty for a code that is not known."""
    return find_flag(code).fix


def list_flags(codes: Iterable[str]) -> str:
    """Several in a row."""
    return listed([flag_words(code) for code in codes])
