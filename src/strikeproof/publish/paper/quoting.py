"""Words for the typesetter: a string that it shows and never obeys."""

from __future__ import annotations

from strikeproof.plain_text import mark_foreign

__all__ = ["quoted"]


def quoted(text: str) -> str:
    """The text as a string literal; characters that no text may hold become a mark."""
    inside = mark_foreign(text).replace("\\", "\\\\").replace('"', '\\"')
    return '"' + inside.replace("\n", "\\n").replace("\r", "").replace("\t", " ") + '"'
