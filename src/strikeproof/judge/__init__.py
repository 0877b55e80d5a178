"""Calibration fit, comparison, control of the rig, planning of runs."""

from strikeproof.judge.comparison import compare_runs
from strikeproof.judge.planning import plan_runs
from strikeproof.judge.records import (
    ArticleResult,
    Comparison,
    ControlPoint,
    ControlSignal,
    PlannedRun,
    Progress,
    RigControl,
    ScoredRun,
    Verdict,
)
from strikeproof.judge.repeats import repeats_for

__all__ = [
    "ArticleResult",
    "Comparison",
    "ControlPoint",
    "ControlSignal",
    "PlannedRun",
    "Progress",
    "RigControl",
    "ScoredRun",
    "Verdict",
    "compare_runs",
    "plan_runs",
    "repeats_for",
]
