"""What the comparison takes in and gives out: frozen, complete when made."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Literal, TypeAlias

from strikeproof.plain_json import UNSHOWN

__all__ = [
    "ArticleResult",
    "Comparison",
    "ControlPoint",
    "ControlSignal",
    "PlannedRun",
    "Progress",
    "RigControl",
    "RigState",
    "ScoredRun",
    "Verdict",
]

Verdict: TypeAlias = Literal["reference", "higher", "lower", "sooner", "later", "same", "cannot tell"]
"""Of a score that is a time, of which less is better, "sooner" and "later" stand for "higher" and "lower"."""
RigState: TypeAlias = Literal["in control", "not in control", "cannot be judged"]
Progress: TypeAlias = Callable[[int, int], None]
"""Called now and then with (done, total)."""


@dataclass(frozen=True, slots=True)
class ScoredRun:
    """One run with the number it is judged by.

    `order` is the position in time over the whole campaign, `bolt_use` the number of runs its bolt had
    seen before. A run that had `not_reached` the level of a score that is a time has the time it was watched
    as its score: its own is longer. `asked` are the covariates that a person wants fitted, by what they are
    called; the same for all runs of a comparison.
    """

    run: str
    article: str
    tool: str
    block: str
    order: int
    score: float
    bolt: str | None = None
    bolt_use: float | None = None
    set_aside: bool = False
    not_reached: bool = False
    asked: tuple[tuple[str, float], ...] = ()


@dataclass(frozen=True, slots=True)
class ArticleResult:
    """One article with one tool, set against the reference with the same tool.

    Gains are percent of the reference's score and more is better: of a score that is a time they are the time
    saved. `low` and `high` are the ends of the simultaneous interval.
    A figure is None where the runs cannot give it (a warning of the comparison says why). The reference
    itself has gain, low and high 0 and no p.

    `p` is adjusted for all comparisons made; `p_randomisation` is its second opinion, from relabelling the
    runs inside their blocks. `unconfirmed` says that the interval shows a difference which the second
    opinion does not: the verdict is then "cannot tell". `more_runs` is None when the verdict is reached, or
    when the runs so far cannot say. The fields ending in `with_set_aside` are None when no run is excluded.
    `gain_per_price` is gain percent for each unit of currency of the article's whole price. `median_low` and
    `median_high` are order statistics of the scores and None below six runs.

    Of a score that is a time, `not_reached` of the runs never reached the level, the shortest watched of them
    for `watched_s`. `repeats` says that there is no interval since the runs repeat to the last digit. The
    gain and one end of its interval are then None where nothing bounds them: with only
    `high` there, the gain is at most that. The median is None where it lies beyond what was watched.
    """

    article: str
    tool: str
    runs: int
    set_aside: int
    median: float | None
    gain_percent: float | None
    low_percent: float | None
    high_percent: float | None
    p: float | None
    p_randomisation: float | None
    verdict: Verdict
    more_runs: int | None
    gain_percent_with_set_aside: float | None = None
    low_percent_with_set_aside: float | None = None
    high_percent_with_set_aside: float | None = None
    price: float | None = None
    gain_per_price: float | None = None
    median_low: float | None = field(default=None, metadata=UNSHOWN)
    median_high: float | None = field(default=None, metadata=UNSHOWN)
    not_reached: int = 0
    watched_s: float | None = None
    unconfirmed: bool = False
    repeats: bool = field(default=False, metadata=UNSHOWN)


@dataclass(frozen=True, slots=True)
class ControlPoint:
    """One reference run on the control chart; one that is excluded is drawn hollow and not counted."""

    run: str
    order: int
    value: float
    set_aside: bool = False


@dataclass(frozen=True, slots=True)
class ControlSignal:
    """A rule of the control chart that was broken, by which runs, in words."""

    rule: str
    runs: tuple[str, ...]
    text: str


@dataclass(frozen=True, slots=True)
class RigControl:
    """Control chart of the reference runs: individual values, limits from the moving range.

    values, `centre` and `limits` are scores when `tool` is named. When several tools are charted
    together `tool` is None and they are ratios to each tool's own centre. `limits` is None when fewer than
    two runs count, drift when fewer than three do. `unjudged` names each tool of which too few runs of the
    reference count to judge the rig, with how many do; such a rig is never said to be in control.
    """

    tool: str | None
    state: RigState
    unjudged: tuple[tuple[str, int], ...]
    drift_percent_per_run: float | None
    drift_uncertainty: float | None
    centre: float | None
    limits: tuple[float, float] | None
    points: tuple[ControlPoint, ...]
    signals: tuple[ControlSignal, ...]


@dataclass(frozen=True, slots=True)
class Comparison:
    """Every article against the reference, and what the rig did meanwhile.

    `rig` charts all tools together, `controls` each tool by itself. `critical_value` multiplies a standard
    error to give half an interval on the log scale. `method` says in plain sentences what was done. Of
    several planned looks at the runs, `confidence` holds for all together, and `look` says which this is;
    the intervals and p of this look are then judged at the stricter `interval_confidence`.
    """

    reference: str
    margin_percent: float
    confidence: float
    interval_confidence: float
    look: str
    results: tuple[ArticleResult, ...]
    rig: RigControl
    controls: tuple[RigControl, ...]
    residual_cv_percent: float | None
    degrees_of_freedom: int
    critical_value: float | None
    warnings: tuple[str, ...]
    method: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class PlannedRun:
    """One line of a run sheet that is still to be run; `start_s` counts from the first run's start.

    Without a budget of runs for a bolt, `bolt` and `bolt_use` are None.
    """

    run: str
    order: int
    tool: str
    article: str
    block: str
    bolt: str | None
    bolt_use: int | None
    new_bolt: bool
    start_s: float
