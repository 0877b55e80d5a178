"""The reference runs as a control chart, and the drift they show."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from decimal import Decimal
from itertools import pairwise

import numpy as np

from strikeproof.judge.records import ControlPoint, ControlSignal, RigControl, RigState, ScoredRun
from strikeproof.language import say, say_many
from strikeproof.quantity import BoolArray, FloatArray

__all__ = ["LEAST_TO_JUDGE", "RULES", "chart_reference", "find_patterns", "pool_charts", "say_unjudged"]

LIMIT = 3.0
LEAST_TO_JUDGE = 5
"""Runs of the reference with a tool before its rig can be said to be in control. One run of n lies at most
(n - 1)² / n mean moving ranges off the centre, so that with fewer none can lie beyond 3 / 1.128 of them."""
ROUNDING = 64 * float(np.finfo(np.float64).eps)
"""How far logs of one number may differ by arithmetic alone; of a log, or of 1 where that is smaller."""
COMPUTED = 1e-9
"""Relative steps of a score below this come from arithmetic, not from a display."""
RANGE_TO_SIGMA = 1.128
"""d2 for ranges of two: ISO 7870-2, annex of factors (from memory); exactly 2 / sqrt(pi)."""
MEDIAN_RANGE_TO_SIGMA = 0.954
"""d4 for ranges of two: sqrt(2) times the upper quartile of the normal distribution."""

BEYOND = say("beyond the limits")
ONE_SIDE = say("nine on one side")
RULES = (BEYOND, ONE_SIDE)
"""The tests of ISO 7870-2 (and of ISO 8258 before it) that are used; from memory. Both together raise a
false alarm in 3 % of charts of 12 runs and 7 % of charts of 24 (docs/validity.md). Six in a row up or
down, fourteen alternating, two of three beyond two sigma and four of five beyond one sigma are left out for
the false alarms they add; what they look for, a slow drift, is measured by its own slope and uncertainty."""


def chart_reference(runs: Sequence[ScoredRun], tool: str, step: float = 0.0) -> RigControl:
    """Chart the reference runs of one tool in the order they were made; scores come in steps of `step`.

    Centre and limits are found on the log scale from the runs that count, sigma from the mean moving range,
    so that a slow drift does not widen the limits and shows. Blocks have levels of their own, which no
    comparison feels: sigma is no smaller than from one block to the next, and a row on one side is one of
    blocks. The limits lie at least one and a half steps of the readings off the centre: a reading
    one step off the others is no signal, wherever between the steps the centre lies.

    Parameters
    ----------
    runs
        Of the reference with one tool, excluded ones too.
    tool
        Named on the chart.
    step
        In which scores come; 0 where nothing says.

    References
    ----------
    ISO 7870-2, charts of individuals with moving ranges (from memory; see `RULES`).
    """
    ordered = sorted(runs, key=lambda each: each.order)
    points = tuple(ControlPoint(each.run, each.order, each.score, each.set_aside) for each in ordered)
    counted = [each for each in ordered if not each.set_aside]
    logs = np.log([each.score for each in counted])
    orders = np.asarray([each.order for each in counted], dtype=np.float64)
    blur = _blur(points, step)
    drift = _fit_drift([(orders, logs)], [blur])
    centre = float(np.exp(logs.mean())) if len(logs) else None
    unjudged = ((tool, len(logs)),) if len(logs) < LEAST_TO_JUDGE else ()
    if len(logs) < 2:
        return RigControl(tool, _state((), unjudged), unjudged, *drift, centre, None, points, ())
    middle = float(logs.mean())
    blocks = [each.block for each in counted]
    sigma = max(_sigma(logs, blocks), 3 * blur / LIMIT)
    limits = (float(np.exp(middle - LIMIT * sigma)), float(np.exp(middle + LIMIT * sigma)))
    patterns = find_patterns(logs, middle, sigma, blur) | {ONE_SIDE: _rows_of_blocks(logs, blocks, blur)}
    signals = _signals(patterns, [each.run for each in counted], by_block=len(set(blocks)) > 1)
    return RigControl(tool, _state(signals, unjudged), unjudged, *drift, centre, limits, points, signals)


def pool_charts(charts: Sequence[RigControl], step: float = 0.0) -> RigControl:
    """All tools on one chart, each as a ratio to its own centre; in control only when every tool is.

    Parameters
    ----------
    charts
        One a tool.
    step
        In which scores come; 0 where nothing says.
    """
    if len(charts) == 1:
        return charts[0]
    usable = [chart for chart in charts if chart.centre is not None]
    points = sorted(
        (
            ControlPoint(each.run, each.order, each.value / chart.centre, each.set_aside)
            for chart in usable
            if chart.centre is not None
            for each in chart.points
        ),
        key=lambda each: each.order,
    )
    drift = _fit_drift([_counted(chart) for chart in usable], [_blur(chart.points, step) for chart in usable])
    signals = tuple(
        ControlSignal(each.rule, each.runs, f"{chart.tool}: {each.text}")
        for chart in charts
        for each in chart.signals
    )
    unjudged = tuple(each for chart in charts for each in chart.unjudged)
    return RigControl(
        None,
        _state(signals, unjudged),
        unjudged,
        *drift,
        1.0 if usable else None,
        _pool_limits(usable),
        tuple(points),
        signals,
    )


def say_unjudged(rig: RigControl) -> str:
    """Why it cannot be judged whether the rig was in control; empty where it can."""
    if not rig.unjudged:
        return ""
    counts = "; ".join(
        say("{many} with {tool}", many=n or say("none"), tool=tool) for tool, n in rig.unjudged
    )
    return say(
        "too few runs of the reference count ({counts}; {least} are needed)",
        counts=counts,
        least=LEAST_TO_JUDGE,
    )


def _state(signals: Sequence[ControlSignal], unjudged: Sequence[tuple[str, int]]) -> RigState:
    if signals:
        return "not in control"
    return "cannot be judged" if unjudged else "in control"


def find_patterns(values: FloatArray, centre: float, sigma: float, blur: float = 0.0) -> dict[str, BoolArray]:
    """Which points each rule marks: those beyond the limits, or the last of a row that counts; (n,) each.

    A point within `blur`, half the step to which values are rounded, lies on the centre.

    Parameters
    ----------
    values : (n,)
        In order of time.
    centre
        Of the chart, in the unit of the values.
    sigma
        Standard deviation, > 0.
    blur
        Half the step to which values are rounded.

    References
    ----------
    ISO 7870-2 (from memory; see `RULES`).
    """
    blur = max(blur, ROUNDING * max(1.0, abs(centre)))
    off = np.where(np.abs(values - centre) <= blur, 0.0, values - centre)
    return {BEYOND: np.abs(off) > LIMIT * sigma, ONE_SIDE: _ends_of_rows(np.sign(off), 9)}


def _sigma(logs: FloatArray, blocks: Sequence[str]) -> float:
    """From the moving ranges of all runs, and of those from block to block, whichever is larger.

    Of the latter the median is taken, so that one block far off does not hide itself.
    """
    ranges = np.abs(np.diff(logs))
    across = ranges[np.asarray([one != other for one, other in pairwise(blocks)])]
    from_blocks = float(np.median(across)) / MEDIAN_RANGE_TO_SIGMA if len(across) else 0.0
    return max(float(ranges.mean()) / RANGE_TO_SIGMA, from_blocks)


def _rows_of_blocks(logs: FloatArray, blocks: Sequence[str], blur: float) -> BoolArray:
    """Last runs of rows of nine blocks whose means lie on one side; of a single block, of nine runs; (n,)."""
    numbers = np.unique(blocks, return_inverse=True)[1]
    places = np.arange(len(logs)) if len(set(blocks)) < 2 else numbers
    last = np.asarray([np.flatnonzero(places == place)[-1] for place in dict.fromkeys(places.tolist())])
    means = np.asarray([logs[places == places[i]].mean() for i in last])
    marked = np.zeros(len(logs), dtype=np.bool_)
    marked[last] = find_patterns(means, float(means.mean()), 1.0, blur)[ONE_SIDE]
    return marked


def _blur(points: Sequence[ControlPoint], known: float) -> float:
    """Half the step of the scores that count, in log score; the step is no finer than the `known` one.

    Else the step is the last decimal place that any of them needs, 1 at the most; where scores repeat, which
    a fine reading hardly does, it is the smallest difference there is, if that is larger. One score off
    all others that agree is no step but an odd run.
    """
    kept = [each.value for each in points if not each.set_aside]
    if not kept:
        return 0.0
    step = max(known, min(10.0 ** min(0, _exponent(each)) for each in kept))
    levels, times = np.unique(kept, return_counts=True)
    if 1 < len(levels) < len(kept) and (len(levels) > 2 or times.min() > 1):
        step = max(step, float(np.diff(levels).min()))
    blur = 0.5 * step / float(np.mean(kept))
    return blur if blur > COMPUTED else 0.0


def _exponent(score: float) -> int:
    """Power of ten of the last digit of a finite number as it is written."""
    return int(Decimal(repr(float(score))).normalize().as_tuple().exponent)


def _ends_of_rows(signs: FloatArray, length: int) -> BoolArray:
    """Where a row of `length` equal signs, none of them 0, ends; (n,)."""
    marked = np.zeros(len(signs), dtype=np.bool_)
    if len(signs) >= length:
        sums = np.convolve(signs, np.ones(length), mode="valid")
        marked[length - 1 :] = np.abs(sums) == length
    return marked


def _signals(
    patterns: Mapping[str, BoolArray], names: Sequence[str], *, by_block: bool
) -> tuple[ControlSignal, ...]:
    """The broken rules, each once, with all the runs that broke it."""
    found = []
    for rule, marked in patterns.items():
        runs = tuple(names[i] for i in np.flatnonzero(marked).tolist())
        if runs:
            found.append(ControlSignal(rule, runs, _say(rule, runs, by_block=by_block)))
    return tuple(found)


def _say(rule: str, runs: Sequence[str], *, by_block: bool) -> str:
    """One sentence for a broken rule."""
    listed = ", ".join(runs)
    if rule == ONE_SIDE:
        what = "blocks" if by_block else "runs"
        return say(
            "nine or more {what} in a row lie on one side of the centre, up to {runs}",
            what=what,
            runs=runs[-1],
        )
    return say_many(
        "{listed} lies beyond the control limits",
        "{listed} lie beyond the control limits",
        len(runs),
        listed=listed,
    )


def _counted(chart: RigControl) -> tuple[FloatArray, FloatArray]:
    """Orders and log values of the points that count."""
    kept = [each for each in chart.points if not each.set_aside]
    return np.asarray([each.order for each in kept], dtype=np.float64), np.log([each.value for each in kept])


def _fit_drift(
    series: Sequence[tuple[FloatArray, FloatArray]], blurs: Sequence[float]
) -> tuple[float | None, float | None]:
    """Percent a run with its standard uncertainty: one slope of log score on order, a level for each tool.

    Half the steps to which the logs are rounded, `blurs`, bound the scatter from below.
    """
    parts = [(orders - orders.mean(), logs - logs.mean()) for orders, logs in series if len(orders)]
    if not parts:
        return None, None
    orders, logs = (np.concatenate(side) for side in zip(*parts, strict=True))
    free, spread = len(orders) - len(parts) - 1, float(orders @ orders)
    if free < 1 or spread == 0.0:
        return None, None
    slope = float(orders @ logs) / spread
    rest = logs - slope * orders
    if np.ptp(logs) <= ROUNDING * max(1.0, *(float(np.abs(each).max()) for _, each in series if len(each))):
        slope, rest = 0.0, np.zeros_like(rest)
    variance = max(float(rest @ rest) / free, float(np.mean(np.square(blurs))) / 3.0)
    error = float(np.sqrt(variance / spread))
    return 100.0 * float(np.expm1(slope)), 100.0 * float(np.exp(slope)) * error


def _pool_limits(charts: Sequence[RigControl]) -> tuple[float, float] | None:
    """Limits of the pooled chart from the root mean square of the tools' own."""
    widths = [np.log(chart.limits[1] / chart.limits[0]) / 2.0 for chart in charts if chart.limits]
    if not widths:
        return None
    half = float(np.sqrt(np.mean(np.square(widths))))
    return float(np.exp(-half)), float(np.exp(half))
