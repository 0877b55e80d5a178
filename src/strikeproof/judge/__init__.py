"""Calibration fit, comparison, control of the rig, planning of runs."""

from strikeproof.judge.budget import (
    Budget,
    Component,
    Converted,
    calibration_budget,
    clamp_load,
    make_budget,
    torque_equivalent,
)
from strikeproof.judge.calibration import CalibrationFit, Hysteresis, Repeatability, Zero, fit_calibration
from strikeproof.judge.comparison import compare_runs
from strikeproof.judge.curve import Curve
from strikeproof.judge.degree import LackOfFit
from strikeproof.judge.planning import plan_runs
from strikeproof.judge.readout import (
    ExpectedReading,
    ReadOut,
    applied_values,
    expected_reading,
    read_out,
)
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
    "Budget",
    "CalibrationFit",
    "Comparison",
    "Component",
    "ControlPoint",
    "ControlSignal",
    "Converted",
    "Curve",
    "ExpectedReading",
    "Hysteresis",
    "LackOfFit",
    "PlannedRun",
    "Progress",
    "ReadOut",
    "Repeatability",
    "RigControl",
    "ScoredRun",
    "Verdict",
    "Zero",
    "applied_values",
    "calibration_budget",
    "clamp_load",
    "compare_runs",
    "expected_reading",
    "fit_calibration",
    "make_budget",
    "plan_runs",
    "read_out",
    "repeats_for",
    "torque_equivalent",
]
