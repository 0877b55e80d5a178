"""Compare every article with the reference: which differences are real, and how large."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

import numpy as np

from strikeproof.campaign.flags import OVERLOADS, Severity, find_flag, sort_flags
from strikeproof.campaign.records import Campaign
from strikeproof.desk.calibrating.worth import reading_of_level
from strikeproof.desk.comparing.conditions import find_asked, say_conditions
from strikeproof.desk.planning.plan import plan_repeats
from strikeproof.desk.runs.judged import JudgedCampaign, JudgedRun, Progress, judge_runs
from strikeproof.desk.workspace.opening import open_campaign
from strikeproof.errors import BadInput, TooFewRuns
from strikeproof.judge.comparison import compare_runs
from strikeproof.judge.control import say_unjudged
from strikeproof.judge.looks import Looks
from strikeproof.judge.records import Comparison, RigControl, ScoredRun
from strikeproof.language import say
from strikeproof.trace import Flag

__all__ = ["ComparisonOutcome", "compare_campaign", "compare_judged", "scored_runs"]


ANY_LOOK_BLOCKS: Final = 8
"""Where looks after any block are narrowest if nothing says how many blocks there will be."""


@dataclass(frozen=True, slots=True, eq=False)
class ComparisonOutcome:
    """A judged campaign and its comparison."""

    judged: JudgedCampaign
    comparison: Comparison
    warnings: tuple[str, ...]
    seed: int
    adjusted: tuple[str, ...] = ()

    @property
    def spoiled(self) -> tuple[str, ...]:
        """Runs that count although a flag says that their score is spoiled."""
        counting = (run for run in self.judged.runs if run.stored.set_aside is None and _has_result(run))
        return tuple(run.stored.row.run for run in counting if _spoiling(run))

    def as_json(self) -> dict[str, Any]:
        """As the command line prints it."""
        comparison, campaign = self.comparison, self.judged.campaign
        return {
            "campaign": campaign.name,
            "reference": comparison.reference,
            "unit": self.judged.unit,
            "better": "less" if campaign.protocol.score.kind == "time to" else "more",
            "margin_percent": comparison.margin_percent,
            "confidence": comparison.confidence,
            "interval_confidence": comparison.interval_confidence,
            "look": comparison.look or None,
            "in_doubt": _in_doubt_json(self.judged),
            "rig": _rig_json(comparison.rig),
            "articles": comparison.results,
            "residual_cv_percent": comparison.residual_cv_percent,
            "degrees_of_freedom": comparison.degrees_of_freedom,
            "adjusted": self.adjusted,
            "seed": self.seed,
            "warnings": self.warnings,
        }


def _in_doubt_json(judged: JudgedCampaign) -> list[dict[str, str]]:
    return [
        {"run": run.stored.row.run, "reason": flag.detail}
        for run in judged.runs
        for flag in run.flags
        if flag.kind == "scale" and run.stored.set_aside is None
    ]


def _rig_json(rig: RigControl) -> dict[str, Any]:
    return {
        "state": rig.state,
        "why": say_unjudged(rig) or None,
        "drift_percent_per_run": rig.drift_percent_per_run,
        "drift_uncertainty": rig.drift_uncertainty,
        "signals": [signal.text for signal in rig.signals],
    }


def compare_campaign(
    workspace: Path,
    name: str | None = None,
    progress: Progress | None = None,
    *,
    adjust: Sequence[str] = (),
) -> ComparisonOutcome:
    """Compare the articles of a campaign in a workspace.

    Parameters
    ----------
    adjust
        Conditions of the runs, by their columns of the run sheet, that are to be fitted too.

    Raises
    ------
    StrikeproofError
        If there is no such campaign, no run in it has a score, or a condition cannot be fitted.
    """
    store, key, campaign = open_campaign(workspace, name)
    return compare_judged(judge_runs(store, key, campaign, progress), adjust)


def compare_judged(judged: JudgedCampaign, adjust: Sequence[str] = ()) -> ComparisonOutcome:
    """Compare the articles of a campaign whose runs are judged already; `adjust` as above."""
    campaign = judged.campaign
    scored = scored_runs(judged, adjust)
    if not any(not run.set_aside for run in scored):
        counted = [run for run in judged.runs if run.stored.set_aside is None]
        if judged.runs and not counted:
            raise TooFewRuns("all runs are excluded, and none is left to compare", got=0, needed=2)
        why = [
            say(" (run {run}: {first_flag})", run=run.stored.row.run, first_flag=_first_flag(run))
            for run in counted
            if run.flags
        ]
        raise TooFewRuns(f"no run that counts has a score{''.join(why[:1])}", got=0, needed=2)
    seed = campaign.protocol.seed or 0
    comparison = compare_runs(
        scored,
        reference=campaign.reference,
        margin_percent=campaign.margin_percent,
        rng=np.random.default_rng(seed),
        timed=campaign.protocol.score.kind == "time to",
        step=_step(judged, scored),
        looks=_look(campaign, scored),
        prices={each.name: each.price for each in campaign.articles if each.price is not None},
    )
    conditions = say_conditions(judged, comparison.degrees_of_freedom, adjust)
    warnings = (*judged.warnings, *_run_warnings(judged), *conditions, *comparison.warnings)
    return ComparisonOutcome(judged, comparison, warnings, seed, tuple(adjust))


def _look(campaign: Campaign, scored: Sequence[ScoredRun]) -> Looks | None:
    """Which planned look this is, by the blocks that are made; None where none are planned."""
    if campaign.protocol.looks is None:
        return None
    try:
        repeats, _why = plan_repeats(campaign, Path(campaign.name))
    except BadInput:
        if campaign.protocol.looks:
            raise
        repeats = ANY_LOOK_BLOCKS
    blocks: dict[str, set[str]] = {}
    for each in scored:
        if not each.set_aside:
            blocks.setdefault(each.tool, set()).add(each.block)
    return Looks(campaign.protocol.looks, min(map(len, blocks.values())), repeats)


def _step(judged: JudgedCampaign, scored: Sequence[ScoredRun]) -> float:
    """What one step of the rig's reading is in a score; 0 where nothing says, or scores are times."""
    if judged.campaign.protocol.score.kind == "time to":
        return 0.0
    score = float(np.median([each.score for each in scored]))
    return max(_step_of(judged, name, score) for name in judged.campaign.rig_names)


def _step_of(judged: JudgedCampaign, rig: str, score: float) -> float:
    """The same of one rig."""
    resolution, worth = judged.campaign.on_rig(rig).rig.resolution, judged.worth.on(rig)
    if resolution is None or judged.worth.is_mixed:
        return 0.0
    reading = reading_of_level(worth, score / worth.factor)
    low, high = worth.levels(np.asarray([reading - resolution / 2.0, reading + resolution / 2.0]))
    return float(abs(high - low)) * worth.factor


def scored_runs(judged: JudgedCampaign, adjust: Sequence[str] = ()) -> list[ScoredRun]:
    """The runs that have a score, or never reached its level, as the judging rooms take them.

    `adjust` are conditions that are to be fitted.

    A run whose tool was set the other way round is as of another tool: it is never compared with the others.
    """
    asked = find_asked(judged, adjust) if adjust else {}
    seen: dict[str, int] = {}
    scored: list[ScoredRun] = []
    for run in judged.runs:
        row = run.stored.row
        use = None
        if row.bolt is not None:
            use = seen.get(row.bolt, 0)
            seen[row.bolt] = use + 1
        score = run.not_reached_s if run.score is None else run.score
        if score is not None:
            scored.append(
                ScoredRun(
                    run=row.run,
                    article=row.article,
                    tool=run.series,
                    block=judged.campaign.block_of(row),
                    order=run.order,
                    score=score,
                    bolt=row.bolt,
                    bolt_use=use,
                    set_aside=run.stored.set_aside is not None,
                    not_reached=run.score is None,
                    asked=asked.get(run.stored.key, ()),
                )
            )
    return scored


def _first_flag(run: JudgedRun) -> str:
    return next((_said(flag) for flag in run.flags), "")


def _said(flag: Flag) -> str:
    return say("{flag}: {detail}", flag=find_flag(flag.kind).words, detail=flag.detail)


def _twin_warnings(runs: Sequence[JudgedRun]) -> Iterator[str]:
    """Logs that are the same byte for byte: more likely copied by mistake than measured twice."""
    by_log: dict[str, list[str]] = {}
    for run in runs:
        if run.stored.trace is not None and run.stored.set_aside is None:
            by_log.setdefault(run.stored.trace.original_sha256, []).append(run.stored.row.run)
    for names in by_log.values():
        if len(names) > 1:
            yield say(
                "runs {listed} have the same log, byte for byte: all but one may be a copy",
                listed=", ".join(names),
            )


def _has_result(run: JudgedRun) -> bool:
    return run.score is not None or run.not_reached_s is not None


def _spoiling(run: JudgedRun) -> list[Flag]:
    return [flag for flag in run.flags if find_flag(flag.kind).score is Severity.SPOILS]


def _run_warnings(judged: JudgedCampaign) -> Iterator[str]:
    yield from _twin_warnings(judged.runs)
    for run in judged.runs:
        if run.stored.set_aside is not None:
            continue
        name = run.stored.row.run
        if not _has_result(run):
            why = _first_flag(run) or say("its trace shows no level to judge")
            yield say("run {name} has no score and is left out ({why})", name=name, why=why)
            continue
        spoiled = _spoiling(run)
        if spoiled:
            yield (
                say(
                    "run {name} counts although it is flagged {spoiled}; if it is spoiled, exclude it, "
                    "with the reason",
                    name=name,
                    spoiled=_said(spoiled[0]),
                )
            )
    yield from _minor_warnings(judged)


def _minor_warnings(judged: JudgedCampaign) -> Iterator[str]:
    """Flags that say something of a score without spoiling it, one line for each.

    An overload and what came after it on the bolt are among the campaign's own warnings already.
    """
    named: dict[str, list[str]] = {}
    for run in judged.runs:
        if run.stored.set_aside is None and _has_result(run):
            for code in dict.fromkeys(flag.kind for flag in run.flags):
                named.setdefault(code, []).append(run.stored.row.run)
    for kind in sort_flags(named.keys() - OVERLOADS):
        if kind.rig is Severity.STOP or kind.score is Severity.WORTH_SAYING:
            runs = named[kind.code]
            listed = ", ".join(runs[:6]) + (
                say(" and {runs} more", runs=len(runs) - 6) if len(runs) > 6 else ""
            )
            yield say("{words} in run {listed}. {fix}", words=kind.words, listed=listed, fix=kind.fix)
