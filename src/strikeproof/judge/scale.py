"""Runs of one rig whose readings are on another scale than the rest: another unit, channel or sign."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from strikeproof.campaign.records import RunRow
from strikeproof.quantity import write_number

__all__ = ["RunScale", "find_off_scale"]

ARTICLE_FACTOR: Final = 6.0
"""From the median of the article's runs with the tool. Such runs scatter by percents, and one that slipped
may lose half; the least slip of a unit that is common to loads and torques alike is 9.81, of kgf for N."""
TOOL_FACTOR: Final = 10.0
"""From the median of the tool's runs, so that an article whose runs are all off is found. Articles differ by
a factor of three at the most (common practice, no source); this leaves as much again."""
RIG_FACTOR: Final = 100.0
"""From the median of all runs of the rig, so that a tool whose runs are all off is found. Tools that one
bench takes, of a quarter of an inch to one inch, differ by 50 (common practice, no source)."""
NOISE_FACTOR: Final = 100.0
"""From the median noise. Cables, filters, sample rates and amplifier ranges change noise tenfold (common
practice, no source)."""
ZERO_SPANS: Final = 10.0
"""Median spans that a zero may be off the median zero: no cell is that far off and still whole."""


@dataclass(frozen=True, slots=True)
class RunScale:
    """What shows the scale of one run's readings; None where it is not known.

    Parameters
    ----------
    counts
        Whether it is among the runs that others are held against: one that is excluded is not.
    span, noise
        How far the level went from its zero, > 0, and the scatter of the zero, >= 0. [reading]
    zero
        Reading before the start. [reading]
    backwards
        Whether it moved against the campaign's direction.
    short
        Whether it was not hammered for the whole window, so that a small span means nothing.
    """

    row: RunRow
    counts: bool
    span: float | None = None
    noise: float | None = None
    zero: float | None = None
    backwards: bool = False
    short: bool = False


def find_off_scale(runs: Sequence[RunScale]) -> dict[str, str]:
    """The runs that are on another scale than most of their rig, each with how, in the order given.

    Medians of logarithms are held against, so that less than half of the runs cannot move them. Where just
    half of the runs are on another scale, nobody knows which, and all are named.
    """
    counted = [run for run in runs if run.counts]
    rig = _median(run.span for run in counted)
    noise = _median(run.noise for run in counted)
    zeros = [run.zero for run in counted if run.zero is not None]
    zero = float(np.median(zeros)) if len(zeros) > 1 else None
    found = {}
    for run in runs:
        mates = [each for each in counted if each.row.tool == run.row.tool]
        alike = [each for each in mates if each.row.article == run.row.article]
        how = [*_span_off(run, (alike, ARTICLE_FACTOR), (mates, TOOL_FACTOR), (counted, RIG_FACTOR))]
        how += _off("noise", _ratio(run.noise, noise), NOISE_FACTOR)
        how += _zero_off(run.zero, zero, rig)
        if _is_odd_way(run, mates):
            how.append("moves the other way than most runs")
        if how:
            found[run.row.run] = ", ".join(how)
    return found


def _median(values: Iterable[float | None]) -> float | None:
    """Of the values above zero, on the logarithmic scale; None of fewer than two."""
    known = [value for value in values if value is not None and 0.0 < value < np.inf]
    return float(np.exp(np.median(np.log(known)))) if len(known) > 1 else None


def _span_off(run: RunScale, *against: tuple[Sequence[RunScale], float]) -> Iterator[str]:
    """By the first of the groups, each with its factor, from which the run's span is that far off."""
    for group, factor in against:
        ratio = _ratio(run.span, _median(each.span for each in group))
        found = list(_off("range", ratio, factor))
        if found and not (run.short and ratio < 1.0):
            yield from found
            return


def _ratio(value: float | None, usual: float | None) -> float:
    """To what is usual; 1 where nothing can be said."""
    return value / usual if value is not None and usual is not None and 0.0 < value < np.inf else 1.0


def _off(what: str, ratio: float, factor: float) -> Iterator[str]:
    if ratio >= factor:
        yield f"{what} about {write_number(ratio, 1)} times larger"
    elif ratio <= 1.0 / factor:
        yield f"{what} about {write_number(1.0 / ratio, 1)} times smaller"


def _zero_off(value: float | None, usual: float | None, span: float | None) -> Iterator[str]:
    if value is None or usual is None or span is None:
        return
    spans = abs(value - usual) / span
    if spans > ZERO_SPANS:
        yield f"zero off by about {write_number(spans, 1)} times the usual range"


def _is_odd_way(run: RunScale, mates: Sequence[RunScale]) -> bool:
    """Of runs that go both ways, those that are fewer; where they are as many, those that go backwards."""
    known = [each for each in mates if each.span is not None]
    back = sum(each.backwards for each in known)
    if run.span is None or not known:
        return False
    return 2 * back <= len(known) if run.backwards else 2 * back > len(known)
