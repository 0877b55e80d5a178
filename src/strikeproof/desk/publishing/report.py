"""Gather a campaign's results and what explains them into a report; write it as page and charts."""

from __future__ import annotations

import shlex
from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import numpy as np

import strikeproof
from strikeproof.campaign.records import Bolt, Campaign
from strikeproof.campaign.store import Store
from strikeproof.campaign.whole_file import write_whole
from strikeproof.desk.calibrating.worth import Worth
from strikeproof.desk.comparing.answers import answer_outcome
from strikeproof.desk.comparing.compare import ComparisonOutcome, compare_judged
from strikeproof.desk.comparing.elsewhere import ElsewhereWishes, ask_elsewhere
from strikeproof.desk.explaining.explain import ExplainOutcome, find_explanation
from strikeproof.desk.runs.judged import JudgedRun, Progress, judge_runs
from strikeproof.desk.safety.bolt import describe_parts
from strikeproof.desk.safety.cautions import CAUTIONS
from strikeproof.desk.safety.supply import supply_cautions
from strikeproof.desk.workspace.opening import open_campaign
from strikeproof.drivetrain import Chain, Run, ToolModel, account_blow, blow_of_run, build_chain, simulate_run
from strikeproof.errors import StoreError, StrikeproofError
from strikeproof.explain import Gain
from strikeproof.explain.explanation import leading_chain
from strikeproof.explain.fits import Fits
from strikeproof.explain.kinds import KEPT
from strikeproof.explain.parameters import build_bench, build_tool, read_spread, read_values
from strikeproof.explain.physical import Physical
from strikeproof.explain.variants import spread_article, vary_article
from strikeproof.language import say, write_figures
from strikeproof.publish.answers import Panel
from strikeproof.publish.blow import tell_blow
from strikeproof.publish.explain import BlowView, Why
from strikeproof.publish.gallery import write_charts
from strikeproof.publish.page import write_page
from strikeproof.publish.report import Report, ReportRun
from strikeproof.quantity import LoadKind, unit_label

__all__ = ["CAUTIONS", "QUANTITIES", "build_report", "commands_again", "tell_why", "write_report"]


def tell_why(outcome: ExplainOutcome) -> Why:
    """The explanation ready for the page."""
    explanation = outcome.explanation
    fits, fit = explanation.fits, leading_chain(explanation)
    if fits is None or fit is None:
        return Why(explanation, outcome.curves)
    top = max(fits.evidence.gains, key=lambda each: each.log_gain)
    try:
        blows = _blows(fits, fit, top)
    except StrikeproofError:
        blows = ()  # the answer does not hang on these pictures
    return Why(explanation, outcome.curves, blows, top.setting.tool)


def _blows(fits: Fits, fit: Physical, top: Gain) -> tuple[BlowView, ...]:
    """A blow of the reference half way up its growth, and one of the winner at the same clamp load."""
    reference, tool, base = _hammer(fits, fit, fits.evidence.reference, top)
    level = 0.5 * (reference.start_load + reference.end_load)
    winner, _tool, chain = _hammer(fits, fit, top.article, top)
    if not (reference.time.size and winner.time.size):
        return ()
    pairs = ((fits.evidence.reference, reference, base), (top.article, winner, chain))
    return tuple(_view(name, run, on, tool, level) for name, run, on in pairs)


def _hammer(fits: Fits, fit: Physical, article: str, at: Gain) -> tuple[Run, ToolModel, Chain]:
    """A run at the middle of what is believed of every unknown."""
    evidence = fits.evidence
    values = read_values(fit.parameters, np.median(fit.chains.flat, axis=0))
    bolt, rig = build_bench(evidence, values)
    facts = next(each for each in evidence.tools if each.name == at.setting.tool)
    tool = build_tool(facts, at.setting, values)
    model, reference = evidence.article(article).model, evidence.article(evidence.reference).model
    assert model is not None and reference is not None  # only such articles are fitted
    varied = vary_article(model, reference, KEPT[fit.name])
    spread = spread_article(varied, read_spread(evidence, values, np.zeros(3)))
    chain = build_chain(tool, spread, bolt, rig, direction=evidence.direction)
    return simulate_run(chain, tool, duration=at.setting.duration), tool, chain


def _view(article: str, run: Run, chain: Chain, tool: ToolModel, level: float) -> BlowView:
    before = np.concatenate(([run.start_load], run.clamp_load[:-1]))
    number = int(np.argmin(np.abs(before - level))) + 1
    blow = blow_of_run(chain, tool, run, number, keep_motion=True)
    return BlowView(article, tell_blow(chain, blow), account_blow(chain, blow), blow.rebound < 0.0)


QUANTITIES: dict[LoadKind | None, str] = {
    "force": say("clamp load"),
    "torque": say("torque equivalent"),
    None: say("reading"),
}


def build_report(
    store: Store,
    key: int,
    campaign: Campaign,
    command: str,
    progress: Progress | None = None,
    *,
    why: bool = True,
    made: str | None = None,
) -> tuple[Report, ComparisonOutcome]:
    """Everything the page says about one campaign.

    Parameters
    ----------
    why
        With the explanation that is stored for it.
    made
        The day that it says of itself; today when None.
    """
    outcome = compare_judged(judge_runs(store, key, campaign, progress))
    judged = outcome.judged
    worth = judged.worth
    level = QUANTITIES[worth.kind]
    if campaign.protocol.direction == "loosen":
        level = say("loss of {level}", level=level)
    report = Report(
        campaign=campaign,
        comparison=outcome.comparison,
        runs=tuple(_report_run(run) for run in judged.runs),
        quantity=_score_words(campaign, level),
        unit=unit_label(judged.unit),
        level_quantity=level,
        level_unit=unit_label(worth.unit),
        command=command,
        version=strikeproof.__version__,
        made=made or datetime.now(UTC).date().isoformat(),
        calibration=worth.calibration.fit if worth.calibration else None,
        budget=worth.calibration.budget if worth.calibration else None,
        bolt=tuple(_bolt_rows(campaign.bolt, worth)),
        cautions=(*supply_cautions(campaign), *CAUTIONS),
        doubts=judged.doubts,
        warnings=outcome.warnings,
        uncalibrated=worth.ratio_reason,
        hashes=tuple(_hashes(store, key, campaign, judged.runs)),
        seed=outcome.seed,
        why=_find_why(store, key, outcome) if why else None,
        answers=answer_outcome(outcome),
    )
    return report, outcome


def commands_again(workspace: Path, campaign: Campaign, page: str, *, elsewhere: bool = False) -> str:
    """The command lines that compute a page of this name again."""
    place, title = shlex.quote(workspace.name), shlex.quote(campaign.name)
    return (
        f"strikeproof load CAMPAIGN_FOLDER -w {place}\n"
        f"strikeproof report -w {place} --campaign {title} -o {shlex.quote(page)}"
        f"{' --elsewhere' if elsewhere else ''}"
    )


def write_report(
    workspace: Path,
    page: Path,
    *,
    name: str | None = None,
    charts: Path | None = None,
    progress: Progress | None = None,
    why: bool = True,
    elsewhere: bool = False,
) -> ComparisonOutcome:
    """Write the page, and the charts as files where `charts` names a folder.

    Parameters
    ----------
    why
        Show why, where an explanation is stored for the campaign as it is now; none is worked out here.
    elsewhere
        Show whether it holds on other benches: the network of all campaigns and published summaries here.

    Raises
    ------
    StrikeproofError
        If there is nothing to report on, or the files cannot be written.
    """
    store, key, campaign = open_campaign(workspace, name)
    command = commands_again(workspace, campaign, page.name, elsewhere=elsewhere)
    report, outcome = build_report(store, key, campaign, command, progress, why=why)
    more = (_elsewhere(store, workspace, campaign, progress),) if elsewhere else ()
    try:
        page.parent.mkdir(parents=True, exist_ok=True)
        write_whole(page, write_page(report, more=more))
        if charts is not None:
            charts.mkdir(parents=True, exist_ok=True)
            write_charts(report, charts)
    except OSError as cause:
        raise StoreError(
            f"{cause.filename}: cannot be written: {cause.strerror}", "choose another place"
        ) from cause
    return outcome


def _elsewhere(store: Store, workspace: Path, campaign: Campaign, progress: Progress | None) -> Panel:
    """All benches together, asked what this campaign asked."""
    others = (each for each in store.campaigns() if each != campaign.name)
    wishes = ElsewhereWishes((campaign.name, *others), reference=campaign.reference)
    return ask_elsewhere(workspace, wishes, progress).panel


def _find_why(store: Store, key: int, outcome: ComparisonOutcome) -> Why | None:
    """What an earlier explanation of just this campaign said; what cannot be explained has none."""
    try:
        found = find_explanation(store, key, outcome.judged.campaign, outcome)
    except StrikeproofError:
        return None
    return None if found is None else tell_why(found)


def _score_words(campaign: Campaign, level: str) -> str:
    rule = campaign.protocol.score
    facts = {"level": level, "duration": write_figures(f"{campaign.protocol.duration_s:g}")}
    return {
        "end": say("{level} at the end of {duration} s", **facts),
        "peak": say("highest {level}", **facts),
        "at": say("{level} after {moment} s", moment=write_figures(f"{rule.at_s or 0:g}"), **facts),
        "time to": say(
            "time to reach {reached} {unit}",
            reached=write_figures(f"{rule.level or 0:g}"),
            unit=unit_label(rule.level_unit or ""),
        ),
    }[rule.kind]


def _report_run(run: JudgedRun) -> ReportRun:
    stored = run.stored
    return ReportRun(
        row=replace(stored.row_now, tool=run.series),
        order=run.order,
        unit=unit_label(run.unit),
        score=run.score,
        standard_uncertainty=run.standard_uncertainty,
        not_reached_s=run.not_reached_s,
        clamp_load_n=run.clamp_load_n,
        torque_n_m=run.torque_n_m,
        blows=run.blows,
        blow_rate_hz=run.blow_rate_hz,
        flags=tuple((flag.kind, flag.detail) for flag in run.flags),
        only_ratio=run.only_ratio,
        log_sha256=stored.trace.original_sha256 if stored.trace else None,
        growth_time=run.growth_time,
        growth_level=run.growth_level,
    )


def _bolt_rows(bolt: Bolt, worth: Worth) -> Iterator[tuple[str, str]]:
    if bolt.thread is None:
        return
    parts = bolt.parts()
    if parts is None:
        yield "thread", bolt.thread
        return
    facts = describe_parts(
        parts,
        friction=bolt.friction,
        thread_friction=bolt.thread_friction,
        head_friction=bolt.head_friction,
        share=bolt.largest_proof_share,
    )
    for label, value, unit in facts.lines(published=True):
        yield label, f"{value} {unit}".strip()


def _hashes(
    store: Store, key: int, campaign: Campaign, runs: tuple[JudgedRun, ...]
) -> Iterator[tuple[str, str]]:
    for run in runs:
        if run.stored.trace is not None:
            yield run.stored.row.log or run.stored.trace.original_name, run.stored.trace.original_sha256
    calibration = store.calibration_rows(key)
    if calibration is not None:
        yield say("calibration sheet"), calibration.original_sha256
    for other in campaign.other_rigs:
        calibration = store.calibration_rows(key, other.rig.name)
        if calibration is not None:
            yield say("calibration sheet of {rig}", rig=other.rig.name), calibration.original_sha256
