"""All that a judged campaign says to the explanations, and what is assumed where it says nothing."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from strikeproof.campaign.records import Campaign, ScoreRule, Tool
from strikeproof.campaign.store import Store
from strikeproof.desk.articles.known import KnownArticle, know_article
from strikeproof.desk.articles.materials import campaign_material_tables
from strikeproof.desk.comparing.compare import ComparisonOutcome, compare_judged, scored_runs
from strikeproof.desk.explaining.candidates import list_candidates
from strikeproof.desk.explaining.clue_readings import find_readings
from strikeproof.desk.runs.judged import JudgedCampaign, JudgedRun, Progress, judge_runs
from strikeproof.desk.safety.supply import supply_ratio
from strikeproof.desk.simulating.bench import Setup, read_setup
from strikeproof.drivetrain import plain_article
from strikeproof.errors import BadInput, TooFewRuns
from strikeproof.explain import (
    Evidence,
    Gain,
    Gathered,
    Level,
    Setting,
    ToolFacts,
    gather_clues,
    gather_gains,
)
from strikeproof.joint import OWN_KEYS
from strikeproof.judge.records import ScoredRun
from strikeproof.language import say, write_figures
from strikeproof.quantity import ending_of

__all__ = ["GatheredEvidence", "gather_evidence"]

_DRIVE_MM = 12.7  # the square of a tool that names none
_USUAL_FRICTION_PERCENT, _UNKNOWN_FRICTION_PERCENT = 12.0, 25.0
_GIVEN_CLAMP_PERCENT, _UNKNOWN_CLAMP_PERCENT = 10.0, 40.0
_USUAL_SCATTER = 0.03  # of one run's log score, where none can be found
_LEVEL_PERCENT = 10.0
"""Standard uncertainty of a level measured as torque: calibration, and what the engine leaves out."""
_KNOWN_OF_TOOL = (
    "hammer_inertia_kg_m2",
    "blow_speed_rad_s",
    "blow_energy_j",
    "blow_rate_hz",
    "anvil_stiffness_n_m_per_rad",
    "anvil_inertia_kg_m2",
    "restitution",
    "rebound_share",
)


@dataclass(frozen=True, slots=True)
class GatheredEvidence:
    """A campaign with its comparison, its articles and the evidence made from both."""

    campaign: Campaign
    outcome: ComparisonOutcome
    articles: Mapping[str, KnownArticle]
    evidence: Evidence


def gather_evidence(
    store: Store,
    key: int,
    campaign: Campaign,
    progress: Progress | None = None,
    *,
    compared: ComparisonOutcome | None = None,
) -> GatheredEvidence:
    """What a campaign in the store says to the explanations.

    Parameters
    ----------
    compared
        Its comparison, where that was made already.

    Raises
    ------
    BadInput
        If the campaign loosens, is judged by a time without logs, or a tool has no mechanism.
    TooFewRuns
        If no run, or none of the reference, counts.
    """
    _require_tightening(campaign)
    by_level = _by_level(store, key, campaign)
    outcome = compared if by_level is campaign else None
    outcome = outcome or compare_judged(judge_runs(store, key, by_level, progress))
    own = campaign_material_tables(store.folder, campaign.name)
    known = {each.name: know_article(each, own) for each in campaign.articles}
    evidence = _gather(campaign, outcome, known)
    return GatheredEvidence(campaign, outcome, known, _with_clues(store, campaign, outcome, evidence))


def _require_tightening(campaign: Campaign) -> None:
    if campaign.protocol.direction == "loosen":
        raise BadInput(
            "loosen",
            where="protocol.direction",
            allowed="tighten",
            fix="explain a campaign that tightens; a loosening score is a loss, which nothing here predicts",
        )


def _by_level(store: Store, key: int, campaign: Campaign) -> Campaign:
    """The campaign judged by a level: the explanations predict levels, not times."""
    if campaign.protocol.score.kind != "time to":
        return campaign
    if any(run.trace is None for run in store.runs(key)):
        raise BadInput(
            f"{campaign.protocol.score}",
            where="protocol.score",
            allowed="end, peak, at",
            fix="load the logs, from which the level at the end is read, or score by a level",
        )
    return replace(campaign, protocol=replace(campaign.protocol, score=ScoreRule("end")))


def _setting(campaign: Campaign, tool: Tool) -> Setting:
    ratio = supply_ratio(tool.mechanism, tool.supply, tool.rated_supply) if tool.mechanism else 1.0
    return Setting(tool.name, _duration(campaign), ratio)


def _gather(campaign: Campaign, outcome: ComparisonOutcome, known: Mapping[str, KnownArticle]) -> Evidence:
    judged = outcome.judged
    usable, control_caveats = _usable_tools(outcome)
    settings = {tool.name: _setting(campaign, tool) for tool in campaign.tools if tool.name in usable}
    runs = [run for run in scored_runs(judged) if run.tool in usable and run.tool not in _turned_over(judged)]
    gathered = _gather_gains(runs, campaign.reference, settings)
    used = {gain.setting.tool for gain in gathered.gains}
    in_reverse = campaign.turning.rotation == "reverse"
    tools = tuple(_tool_facts(tool, in_reverse=in_reverse) for tool in _tools(campaign, sorted(used)))
    bench = _bench(campaign)
    evidence = Evidence(
        articles=tuple(known[name].facts for name in _names(campaign, gathered.gains)),
        reference=campaign.reference,
        tools=tools,
        bolt=bench.bolt,
        rig=bench.rig,
        gains=gathered.gains,
        covariance=gathered.covariance,
        run_scatter=gathered.run_scatter,
        scatter_measured=gathered.measured,
        levels=tuple(_levels(judged, {tool: settings[tool] for tool in sorted(used)})),
        blow_rates=tuple(_blow_rates(judged, {tool: settings[tool] for tool in sorted(used)})),
        friction_percent=_friction_percent(campaign),
        clamp_percent=_clamp_percent(campaign),
        caveats=(
            *control_caveats,
            *(say("the runs with {tool} are left out here", tool=series) for series in _turned_over(judged)),
            *_assumed(campaign),
            *_elsewhere(judged),
            *(said for each in known.values() for said in each.caveats),
        ),
    )
    candidates, refused = list_candidates(campaign, known, evidence)
    return replace(evidence, candidates=candidates, caveats=(*evidence.caveats, *refused))


def _with_clues(store: Store, campaign: Campaign, outcome: ComparisonOutcome, evidence: Evidence) -> Evidence:
    """The evidence with what growth curves and peak torques say, where there are any."""
    settings = {setting.tool: setting for setting in evidence.settings}
    runs = [run for run in scored_runs(outcome.judged) if run.tool in settings]
    readings = find_readings(store, outcome.judged, _duration(campaign))
    found = gather_clues(runs, campaign.reference, settings, readings)
    return replace(evidence, clues=found.clues, clue_covariance=found.covariance)


def _gather_gains(runs: Sequence[ScoredRun], reference: str, settings: Mapping[str, Setting]) -> Gathered:
    """The gains, none where no article can be compared: that too has an answer, what to add."""
    try:
        return gather_gains(runs, reference, settings)
    except TooFewRuns:
        return Gathered((), np.zeros((0, 0)), _USUAL_SCATTER, measured=True)


def _names(campaign: Campaign, gains: Sequence[Gain]) -> list[str]:
    """The articles that take part, the reference first."""
    used = {gain.article for gain in gains}
    others = [each.name for each in campaign.articles if each.name in used]
    return [campaign.reference, *(name for name in others if name != campaign.reference)]


def _turned_over(judged: JudgedCampaign) -> list[str]:
    """The series made with a tool set the other way round than the campaign's: it may hit differently."""
    return sorted({run.series for run in judged.runs if run.series != run.stored.row.tool})


def _elsewhere(judged: JudgedCampaign) -> Iterator[str]:
    """That the physics is that of one rig, where runs of several are fitted together."""
    own = judged.campaign.rig.name
    others = {judged.campaign.rig_of(run.stored.row) for run in judged.runs} - {own}
    if others and not judged.worth.is_mixed:
        yield say(
            "runs on {others} are taken as if the parts that they clamp were as stiff as those of {own}",
            others=", ".join(sorted(others)),
            own=own,
        )


def _usable_tools(outcome: ComparisonOutcome) -> tuple[set[str], tuple[str, ...]]:
    """Tools with which the reference repeated, all where it did with none; and what is said of the others."""
    controls = [each for each in outcome.comparison.controls if each.tool is not None]
    good = {each.tool for each in controls if each.state != "not in control" and each.tool is not None}
    every = {each.tool for each in controls if each.tool is not None}
    if good == every:
        return every, ()
    if not good:
        return every, (
            say(
                "the rig was out of control, the reference itself did not repeat: what is explained here may "
                "be the rig; find the cause and run again"
            ),
        )
    return good, tuple(
        say(
            "the rig was out of control with {tool}, so its runs are left out here; find the cause and run "
            "again",
            tool=tool,
        )
        for tool in sorted(every - good)
    )


def _duration(campaign: Campaign) -> float:
    """Until when a run's score is read. [s]"""
    rule = campaign.protocol.score
    return rule.at_s if rule.kind == "at" and rule.at_s is not None else campaign.protocol.duration_s


def _tools(campaign: Campaign, used: Sequence[str]) -> Iterator[Tool]:
    by_name = {each.name: each for each in campaign.tools}
    for name in used:
        if name not in by_name:
            raise BadInput(
                f"tool {name!r} is on the run sheet only",
                where="campaign.toml",
                allowed="a [[tool]] of that name",
                fix="add it with its mechanism and load again",
            )
        yield by_name[name]


def _tool_facts(tool: Tool, *, in_reverse: bool) -> ToolFacts:
    if tool.mechanism is None:
        raise BadInput(
            "not given",
            where=f"tool {tool.name}: mechanism",
            allowed="air, spring-and-cam, oil-pulse",
            fix="say which in campaign.toml and load again: the usual values of its hammer depend on it",
        )
    known = {_bare(key): value for key in _KNOWN_OF_TOOL if (value := getattr(tool, key)) is not None}
    return ToolFacts(tool.name, tool.mechanism, 1e-3 * (tool.drive_mm or _DRIVE_MM), known, in_reverse)


def _bare(key: str) -> str:
    ending = ending_of(key)
    return key.removesuffix(f"_{ending.end}") if ending else key


def _bench(campaign: Campaign) -> Setup:
    """Bolt and rig by the same reading as for a simulated bench; its tool and article are any."""
    bolt, rig = campaign.bolt, campaign.rig
    words: dict[str, Any] = {
        "thread": bolt.thread,
        "class": bolt.property_class,
        "friction": bolt.friction,
        **{key: value for key, value in bolt.words.items() if key in (*OWN_KEYS, "grip_length_mm")},
        "thread_friction": bolt.thread_friction,
        "head_friction": bolt.head_friction,
    }
    tables = {
        "bolt": {key: value for key, value in words.items() if value is not None},
        "rig": {}
        if rig.clamp_stiffness_n_per_m is None
        else {"clamp_stiffness_n_per_m": rig.clamp_stiffness_n_per_m},
    }
    return read_setup(tables, article=plain_article("any", 1e-4), rigid_shank=True)


def _friction_given(campaign: Campaign) -> bool:
    bolt = campaign.bolt
    return bolt.friction is not None or None not in (bolt.thread_friction, bolt.head_friction)


def _friction_percent(campaign: Campaign) -> float:
    if not _friction_given(campaign):
        return _UNKNOWN_FRICTION_PERCENT
    return campaign.bolt.friction_uncertainty_percent or _USUAL_FRICTION_PERCENT


def _clamp_percent(campaign: Campaign) -> float:
    return _UNKNOWN_CLAMP_PERCENT if campaign.rig.clamp_stiffness_n_per_m is None else _GIVEN_CLAMP_PERCENT


def _assumed(campaign: Campaign) -> Iterator[str]:
    """What is in for what the campaign file leaves open."""
    setup = _bench(campaign)
    bolt, rig = setup.bolt, setup.rig
    if campaign.bolt.thread is None:
        pitch = write_figures(f"{1e3 * bolt.pitch:g}")
        yield say("the bolt's thread is not given: pitch {pitch} mm is taken", pitch=pitch)
    if math.isinf(bolt.shank_stiffness):
        yield say(
            "the bolt's grip length is not given: a rigid shank is taken, loads are 13 to 31 % too high"
        )
    if not _friction_given(campaign):
        yield say(
            "the bolt's friction is not given: {friction} is taken, give or take a quarter",
            friction=write_figures(f"{bolt.head_friction:g}"),
        )
    if campaign.rig.clamp_stiffness_n_per_m is None:
        yield say(
            "the clamp stiffness is not given: {stiffness} kN/mm is taken, with a wide uncertainty",
            stiffness=write_figures(f"{rig.clamp_stiffness / 1e6:.0f}"),
        )


def _reference_runs(judged: JudgedCampaign, tool: str) -> list[JudgedRun]:
    return [
        run
        for run in judged.runs
        if run.stored.row.article == judged.campaign.reference
        and run.series == tool
        and run.stored.set_aside is None
    ]


def _levels(judged: JudgedCampaign, settings: Mapping[str, Setting]) -> Iterator[Level]:
    """What the reference reaches with each tool, where readings are more than ratios.

    A load becomes a torque by the declared friction, whose uncertainty then belongs to it.
    """
    friction = _friction_percent(judged.campaign) if judged.worth.kind == "force" else 0.0
    for tool, setting in settings.items():
        torques = [
            run.torque_n_m
            for run in _reference_runs(judged, tool)
            if run.torque_n_m is not None and run.torque_n_m > 0.0 and run.only_ratio is None
        ]
        if torques:
            yield Level(setting, float(np.median(torques)), float(np.hypot(_LEVEL_PERCENT, friction)))


def _blow_rates(judged: JudgedCampaign, settings: Mapping[str, Setting]) -> Iterator[tuple[Setting, float]]:
    for tool, setting in settings.items():
        rates = [
            run.blow_rate_hz
            for run in _reference_runs(judged, tool)
            if run.blow_rate_hz is not None and 1.0 <= run.blow_rate_hz <= 200.0
        ]
        if rates:
            yield setting, float(np.median(rates))
