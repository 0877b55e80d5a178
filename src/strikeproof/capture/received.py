"""What a parser receives on a rig's line: samples in the rig's own terms, and what was odd about them."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from strikeproof.quantity import FloatArray

__all__ = ["Dialect", "LineFlag", "Received", "join_received", "merge_line_flags"]


@dataclass(frozen=True, slots=True)
class Dialect:
    """How a rig speaks, once that is known.

    Parameters
    ----------
    words
        For a person, such as "text lines, 2 columns between semicolons, decimal comma".
    names, units
        Of the channels, units None where the rig gives none.
    rate_hz
        Samples a second where the rig gives it. [Hz]
    tick_s
        What one step of the rig's clock lasts; None when it has no clock or does not say. [s]
    has_ticks
        Whether samples carry a time of the rig's own.
    """

    words: str
    names: tuple[str, ...]
    units: tuple[str | None, ...]
    rate_hz: float | None = None
    tick_s: float | None = None
    has_ticks: bool = False


@dataclass(frozen=True, slots=True)
class LineFlag:
    """Something odd before sample `at` of the stream (counted from its first): what, how often, in words.

    `kind` is a code of `campaign.flags.FLAGS`.
    """

    kind: str
    at: int
    count: int
    detail: str


@dataclass(frozen=True, slots=True, eq=False)
class Received:
    """Samples in the order they came.

    Parameters
    ----------
    first : int
        Number of the first sample in the stream.
    ticks : (n,) or None
        The rig's own time of each, in its own steps.
    values : (n, channels)
        NaN where the rig said that it had none.
    breaks
        Samples of the stream before which frames are known to be lost.
    """

    first: int
    ticks: FloatArray | None
    values: FloatArray
    breaks: tuple[int, ...] = ()
    line_flags: tuple[LineFlag, ...] = ()


def join_received(parts: Sequence[Received]) -> Received:
    """Several in a row as one; there must be at least one. What holds no sample may be of any width."""
    filled = [part for part in parts if len(part.values)] or parts[:1]
    ticks = [part.ticks for part in filled if part.ticks is not None]
    return Received(
        parts[0].first,
        np.concatenate(ticks) if ticks else None,
        np.concatenate([part.values for part in filled]),
        tuple(each for part in parts for each in part.breaks),
        merge_line_flags(each for part in parts for each in part.line_flags),
    )


def merge_line_flags(line_flags: Iterable[LineFlag]) -> tuple[LineFlag, ...]:
    """Neighbouring flags of one kind at one place, merged."""
    merged: list[LineFlag] = []
    for each in line_flags:
        if merged and (merged[-1].kind, merged[-1].at) == (each.kind, each.at):
            merged[-1] = replace(merged[-1], count=merged[-1].count + each.count)
        else:
            merged.append(each)
    return tuple(merged)
