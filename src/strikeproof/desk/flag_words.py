"""What a flag is called where a person reads it; files and JSON keep its kind."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Final

__all__ = ["flag_words", "list_flags"]

_WORDS: Final = {
    "assumed": "rate was counted, not told",
    "backward-time": "time ran backwards",
    "backwards": "turned round",
    "blows-faint": "blows sink in the noise",
    "clipped-plateau": "stands at one reading",
    "cut-off": "file was cut off",
    "cut-short": "recording was cut short",
    "dropout": "samples missing",
    "gap": "gap in the samples",
    "late-start": "ends before the window does",
    "missed-blows": "blows missing",
    "no-zero": "begins without a zero",
    "not-a-number": "samples without a value",
    "only-ratio": "ratio only, no calibrated value",
    "overflow-code": "over its range",
    "rate-off": "blow rate unusual",
    "rate-too-low": "too few samples for single blows",
    "score-only": "a score, no log",
    "spikes": "lone stray samples",
    "time-order": "times out of order",
    "too-short": "shorter than the window",
    "unplugged": "line was unplugged",
    "zero-moved": "zero moved",
}


def flag_words(kind: str) -> str:
    """A kind of flag in plain words."""
    return _WORDS.get(kind, kind.replace("-", " "))


def list_flags(kinds: Iterable[str]) -> str:
    """Several in a row."""
    return ", ".join(flag_words(kind) for kind in kinds)
