"""Everything the page says about one campaign, complete when made; the desk fills it."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from strikeproof.campaign.records import Campaign, RunRow
from strikeproof.judge.budget import Budget
from strikeproof.judge.calibration import CalibrationFit
from strikeproof.judge.questions.answers import Answers
from strikeproof.judge.records import Comparison
from strikeproof.language import say
from strikeproof.publish.explain.why import Why
from strikeproof.publish.texts import clip, unit_words
from strikeproof.quantity import FloatArray, unit_label

__all__ = ["Report", "ReportRun"]


def _none() -> FloatArray:
    return np.empty(0)


@dataclass(frozen=True, slots=True)
class ReportRun:
    """One run as the page shows it.

    Parameters
    ----------
    row
        Its line of the sheet as things are; the tool as its series is called.
    order
        Place in the order in which the runs were made, from 1.
    score, standard_uncertainty
        In `unit`; None when the log gave no score, or no uncertainty.
    not_reached_s
        How long the run was watched without reaching the level of a score that is a time, or None. [s]
    clamp_load_n, torque_n_m
        The same reading as clamp load [N] and as its torque equivalent [N·m], where known.
    flags
        What the reader of the trace noticed: (kind, detail) each.
    only_ratio
        Why the score is no more than a ratio (beyond the calibrated range, another bolt), or None.
    growth_time, growth_level : (n,)
        The growth curve: time after the start [s] and level in the unit of `level_unit` of the report.
    """

    row: RunRow
    order: int
    unit: str
    score: float | None = None
    standard_uncertainty: float | None = None
    not_reached_s: float | None = None
    clamp_load_n: float | None = None
    torque_n_m: float | None = None
    blows: int | None = None
    blow_rate_hz: float | None = None
    flags: tuple[tuple[str, str], ...] = ()
    only_ratio: str | None = None
    log_sha256: str | None = None
    growth_time: FloatArray = field(default_factory=_none, compare=False)
    growth_level: FloatArray = field(default_factory=_none, compare=False)


@dataclass(frozen=True, slots=True)
class Report:
    """One campaign with its comparison, ready to be published.

    Parameters
    ----------
    quantity, unit
        What a score is, in words ("clamp load at the end"), and its unit.
    level_quantity, level_unit
        What the growth curves show and its unit; the score's own except for a score that is a time.
    bolt
        Rows of label and value about the bolt and its joint.
    doubts
        What makes the results doubtful as a whole, said before them.
    warnings
        What limits the results, beside the comparison's own warnings; said once where both say it.
    uncalibrated
        Why every reading is only a ratio (no calibration, another bolt or rig), or None.
    calibration, budget
        In the units of the calibration sheet: applied as the campaign names it, readings as the rig does.
    hashes
        File name and SHA-256 of everything the results were computed from.
    command
        The command line that computes them again.
    made
        The day it was made, as ISO 8601; the caller's clock, not this room's.
    seed
        Of the simulation or of the randomisation test, when there is one.
    why
        Which property makes the difference, when that was worked out.
    answers
        Questions beside "article against the reference", when they were asked.
    """

    campaign: Campaign
    comparison: Comparison
    runs: tuple[ReportRun, ...]
    quantity: str
    unit: str
    level_quantity: str
    level_unit: str
    command: str
    version: str
    made: str
    calibration: CalibrationFit | None = None
    budget: Budget | None = None
    bolt: tuple[tuple[str, str], ...] = ()
    cautions: tuple[str, ...] = ()
    doubts: tuple[str, ...] = ()
    warnings: tuple[str, ...] = ()
    uncalibrated: str | None = None
    hashes: tuple[tuple[str, str], ...] = ()
    seed: int | None = None
    why: Why | None = None
    answers: Answers | None = None

    @property
    def applied_unit(self) -> str:
        """Unit of the applied values of the calibration, for people."""
        source = self.campaign.calibration
        return unit_label(source.applied_unit) if source else ""

    @property
    def reading_unit(self) -> str:
        """Unit of what the rig shows, for people."""
        return unit_words(unit_label(self.campaign.rig.unit))

    @property
    def rig_words(self) -> str:
        """The rigs that runs were made on, by name."""
        return ", ".join(self.campaign.rigs_of(run.row for run in self.runs))

    @property
    def timed(self) -> bool:
        """Whether a score is a time, for which less is better."""
        return self.campaign.protocol.score.kind == "time to"

    @property
    def gain_over(self) -> str:
        """What a gain is, for an axis."""
        over = clip(self.comparison.reference, 18)
        if self.timed:
            return say("time saved against {over} (%)", over=over)
        return say("gain over {reference} (%)", reference=over)

    @property
    def simulated(self) -> bool:
        """Whether the runs were made by a computer and not on a bench."""
        return self.campaign.simulated

    @property
    def tools(self) -> tuple[str, ...]:
        """The tools that runs were made with, in the campaign's order."""
        used = {run.row.tool for run in self.runs}
        named = [tool.name for tool in self.campaign.tools]
        return tuple(name for name in [*named, *sorted(used - set(named))] if name in used)
