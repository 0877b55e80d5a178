"""Every run of a campaign with its score, and the flags that say how far to trust it."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import asdict, dataclass
from datetime import datetime
from typing import Any

import numpy as np

from strikeproof.campaign.flags import FLAGS, find_flag
from strikeproof.campaign.kept import KeptTrace, StoredRun
from strikeproof.campaign.records import Campaign
from strikeproof.campaign.run_sheet import parse_started
from strikeproof.campaign.store import Store
from strikeproof.capture import pick_name
from strikeproof.capture.log import CHANNEL_KEY, NoChannel
from strikeproof.desk.calibrating.worth import Worth, find_worth, level_in_readings, plain_worth
from strikeproof.desk.runs.facts import NotExamined, TraceTask, find_facts
from strikeproof.desk.runs.full_scale import find_proven_limit
from strikeproof.desk.runs.overload import (
    Overload,
    Strains,
    find_off_zero,
    find_overloads,
    later_on_bolt,
    overload_warnings,
)
from strikeproof.desk.runs.scale_audit import audit_scales, say_in_doubt
from strikeproof.desk.safety.bolt_limit import unwatched_words
from strikeproof.errors import BadInput, StoreError, StrikeproofError
from strikeproof.language import say, write_figures
from strikeproof.quantity import FloatArray, unit_ratio
from strikeproof.trace import Flag, RunFacts, TraceSettings

__all__ = [
    "JudgedCampaign",
    "JudgedRun",
    "by_rig",
    "in_time_order",
    "judge_chosen",
    "judge_runs",
    "trace_tasks",
]

Progress = Callable[[int, int], None]


@dataclass(frozen=True, slots=True, eq=False)
class JudgedRun:
    """One run with the number it is judged by.

    `order` is its place in time, from 1. `series` is what it is compared within: its tool, with its rotation
    or rig where that sets it apart. `unit` is the score's: `s` under a `time to` rule. `overload` is
    how far the run went beyond what its bolt may carry, `past_overload` the same by an earlier limit. Under a
    `time to` rule `not_reached_s` is how long a run was watched without reaching the level. The growth curve
    is in the campaign's level unit.
    """

    stored: StoredRun
    order: int
    series: str
    score: float | None
    unit: str
    standard_uncertainty: float | None
    clamp_load_n: float | None
    torque_n_m: float | None
    blows: int | None
    blow_rate_hz: float | None
    flags: tuple[Flag, ...]
    only_ratio: str | None
    overload: Overload | None
    past_overload: str | None
    not_reached_s: float | None
    growth_time: FloatArray
    growth_level: FloatArray

    def as_json(self) -> dict[str, Any]:
        """As the command line prints it."""
        row = self.stored.row
        return {
            "run": row.run,
            "article": row.article,
            "tool": row.tool,
            "block": row.block,
            "rig": row.rig,
            "order": self.order,
            "score": self.score,
            "unit": self.unit,
            "standard_uncertainty": self.standard_uncertainty,
            "not_reached_in_s": self.not_reached_s,
            "clamp_load_n": self.clamp_load_n,
            "torque_equivalent_n_m": self.torque_n_m,
            "blows": self.blows,
            "blow_rate_hz": self.blow_rate_hz,
            "flags": [flag.kind for flag in self.flags],
            "flag_details": [str(flag) for flag in self.flags],
            "only_ratio": self.only_ratio,
            "overload": None if self.overload is None else asdict(self.overload),
            "set_aside": self.stored.set_aside,
            "note": row.note,
            "conditions": row.conditions,
        }


@dataclass(frozen=True, slots=True, eq=False)
class JudgedCampaign:
    """A campaign with all its runs judged by one rule and one worth of a reading.

    `doubts` is what must be said before any result; `unwatched` that no overload of the bolt could be
    found, or not surely, and why; `unread` which runs do not show what the rig did, to be said first, too.
    """

    key: int
    campaign: Campaign
    runs: tuple[JudgedRun, ...]
    worth: Worth
    unit: str
    warnings: tuple[str, ...]
    doubts: tuple[str, ...] = ()
    unwatched: str = ""
    unread: tuple[str, ...] = ()


def judge_runs(
    store: Store, key: int, campaign: Campaign, progress: Progress | None = None
) -> JudgedCampaign:
    """Score every run of a campaign.

    A reading beyond the calibrated range is only a ratio, and one score in another unit would spoil the
    comparison: when a run that counts lies beyond it, all scores of the campaign stay plain readings.
    """
    stored = in_time_order(store.runs(key))
    if not stored:
        raise StoreError(f"campaign {campaign.name!r} has no runs yet", "add runs to its sheet and load it")
    worth = find_worth(store, key, campaign)
    rigs = [
        _judge_rig(store, on, worth.on(on.rig.name), runs, progress) for on, runs in by_rig(campaign, stored)
    ]
    seen: dict[int, RunFacts | NotExamined] = {}
    ratios: dict[int, str] = {}
    now: dict[int, Overload] = {}
    past: dict[int, str] = {}
    off_zero: dict[int, Flag] = {}
    scales: dict[int, str] = {}
    for each in rigs:
        seen |= each.seen
        ratios |= each.ratios
        now |= each.strains.now
        past |= each.strains.past
        off_zero |= each.off_zero
        scales |= each.scales
    later = later_on_bolt(campaign, stored, now.keys() | past.keys())
    beyond = [run.row.run for run in stored if run.key in ratios and run.set_aside is None]
    if beyond:
        one = len(beyond) == 1
        reason = f"{_listed(beyond)} {'is' if one else 'are'} beyond the calibrated range or on another bolt"
        worth = find_worth(store, key, campaign, plain=reason)
    runs = tuple(
        _judged(
            campaign,
            worth,
            run,
            order,
            seen.get(run.key),
            _Aside(
                ratios.get(run.key),
                now.get(run.key),
                past.get(run.key),
                later.get(run.key),
                off_zero.get(run.key),
                scales.get(run.key),
            ),
        )
        for order, run in enumerate(stored, start=1)
    )
    unit = worth.unit if _timed_window(campaign) is None else "s"
    warnings = (
        *overload_warnings(stored, now, later),
        *filter(None, [each.off_scale for each in rigs]),
        *worth.notes,
        *(() if worth.ratio_reason is None else (_ratio_warning(worth),)),
    )
    doubts = say_in_doubt(stored, scales)
    blind = {each.campaign.rig.name: each.unwatched for each in rigs if each.unwatched}
    unwatched = next(iter(blind.values()), "")
    if campaign.other_rigs and (len(set(blind.values())) > 1 or len(blind) < len(rigs)):
        unwatched = " ".join(f"{name}: {why}" for name, why in blind.items())
    unread = tuple(_say_unread(runs))
    return JudgedCampaign(key, campaign, runs, worth, unit, warnings, doubts, unwatched, unread)


def _say_unread(runs: Sequence[JudgedRun]) -> Iterator[str]:
    """The runs that count whose log does not show what the rig did, some by name."""
    counted = [run for run in runs if run.stored.set_aside is None]
    for kind in FLAGS.values():
        names = [run.stored.row.run for run in counted if any(flag.kind == kind.code for flag in run.flags)]
        if kind.unread and names:
            more = say(" and {runs} more", runs=len(names) - 6) if len(names) > 6 else ""
            yield say(kind.unread, names=", ".join(names[:6]) + more)


def by_rig(campaign: Campaign, runs: Sequence[StoredRun]) -> Iterator[tuple[Campaign, tuple[StoredRun, ...]]]:
    """The runs of each rig that has any, with the campaign as that rig sees it."""
    for place, name in enumerate(campaign.rig_names):
        mine = tuple(
            run
            for run in runs
            if campaign.rig_of(run.row) == name or (place == 0 and _is_stray(campaign, run))
        )
        if mine:
            yield campaign.on_rig(name), mine


def _is_stray(campaign: Campaign, run: StoredRun) -> bool:
    """Whether its rig is none of the campaign's (any more)."""
    return campaign.rig_of(run.row) not in campaign.rig_names


@dataclass(frozen=True, slots=True)
class _RigRuns:
    """What the runs of one rig show among themselves, by their keys."""

    campaign: Campaign
    seen: _Seen
    ratios: Mapping[int, str]
    strains: Strains
    off_zero: Mapping[int, Flag]
    scales: Mapping[int, str]
    off_scale: str
    unwatched: str


def _judge_rig(
    store: Store, campaign: Campaign, worth: Worth, stored: Sequence[StoredRun], progress: Progress | None
) -> _RigRuns:
    tasks = trace_tasks(campaign, stored, worth)
    seen = _look(store, campaign, stored, tasks, progress)
    facts = _examined(seen)
    limit, off_scale = find_proven_limit(store, campaign, worth, stored, tasks)
    return _RigRuns(
        campaign,
        seen,
        _ratios(campaign, worth, stored, seen),
        find_overloads(store, campaign, worth, stored, facts, tasks),
        find_off_zero(campaign, worth, stored, facts),
        audit_scales(campaign, stored, facts),
        off_scale,
        unwatched_words(limit),
    )


def judge_chosen(
    store: Store,
    campaign: Campaign,
    chosen: Sequence[StoredRun],
    worth: Worth,
    *,
    calibrated: Worth | None = None,
) -> tuple[tuple[JudgedRun, RunFacts | None], ...]:
    """Some runs, each with what its trace shows, by a worth that was found for the whole campaign.

    `order` is the place in the sheet. Where `worth` is that of plain readings, an overload is found by what
    they are worth as far as they are `calibrated`; an earlier one on a run's bolt, among the runs given.
    """
    seen: dict[int, RunFacts | NotExamined] = {}
    ratios: dict[int, str] = {}
    now: dict[int, Overload] = {}
    past: dict[int, str] = {}
    off_zero: dict[int, Flag] = {}
    for on, runs in by_rig(campaign, chosen):
        mine = worth.on(on.rig.name)
        whole = (calibrated or worth).on(on.rig.name)
        tasks = trace_tasks(on, runs, mine)
        seen |= _look(store, on, runs, tasks, None)
        facts = _examined(seen)
        strains = find_overloads(store, on, whole, runs, facts, tasks)
        now |= strains.now
        past |= strains.past
        off_zero |= find_off_zero(on, whole, runs, facts)
        ratios |= _ratios(on, mine, runs, seen)
    facts = _examined(seen)
    later = later_on_bolt(campaign, in_time_order(chosen), now.keys() | past.keys())
    return tuple(
        (
            _judged(
                campaign,
                worth,
                run,
                run.ordinal + 1,
                seen.get(run.key),
                _Aside(
                    ratios.get(run.key),
                    now.get(run.key),
                    past.get(run.key),
                    later.get(run.key),
                    off_zero.get(run.key),
                ),
            ),
            facts.get(run.key),
        )
        for run in chosen
    )


def _ratio_warning(worth: Worth) -> str:
    if worth.is_mixed:
        return f"only the ratios of scores of one rig mean something: {worth.ratio_reason}"
    return f"scores are plain readings and only their ratios mean something: {worth.ratio_reason}"


def _listed(names: Sequence[str]) -> str:
    more = f" and {len(names) - 5} more" if len(names) > 5 else ""
    return f"run{'s' if len(names) > 1 else ''} {', '.join(names[:5])}{more}"


def in_time_order(stored: Sequence[StoredRun]) -> tuple[StoredRun, ...]:
    """By start time when every run has one on one clock, else as the sheet lists them."""
    started = [parse_started(run.row.started or "") for run in stored]
    known = [instant for instant in started if instant is not None]
    if len(known) < len(stored) or len({instant.tzinfo is None for instant in known}) > 1:
        return tuple(stored)
    paired: list[tuple[datetime, int]] = [(instant, place) for place, instant in enumerate(known)]
    return tuple(stored[place] for _instant, place in sorted(paired))


_Seen = Mapping[int, RunFacts | NotExamined]


def _look(
    store: Store,
    campaign: Campaign,
    stored: Sequence[StoredRun],
    tasks: Mapping[int, TraceTask],
    progress: Progress | None,
) -> _Seen:
    """What each trace shows, by the run's key; of one that cannot be examined, why."""
    unfit = {
        run.key: why for run in stored if run.key not in tasks and (why := _unfit(campaign, run)) is not None
    }
    return dict(zip(tasks, find_facts(store, list(tasks.values()), progress), strict=True)) | unfit


def _examined(seen: _Seen) -> dict[int, RunFacts]:
    return {key: facts for key, facts in seen.items() if isinstance(facts, RunFacts)}


def _unfit(campaign: Campaign, run: StoredRun) -> NotExamined | None:
    """Why a run does not fit the campaign's rig; None where it does."""
    if run.row.rig not in (None, campaign.rig.name):
        return NotExamined(
            f"it was made on rig {run.row.rig!r}, which the campaign does not have",
            "add an [[other_rig]] of that name, or correct the run sheet, and load it again",
        )
    if run.trace is None:
        return None
    try:
        _task(campaign, plain_worth(campaign), run, 1.0)
    except StrikeproofError as wrong:
        return NotExamined(wrong.problem, wrong.fix)
    return None


def trace_tasks(campaign: Campaign, stored: Sequence[StoredRun], worth: Worth) -> dict[int, TraceTask]:
    """How the log of each run that has one is to be examined, by the run's key; those that fit the rig."""
    level = level_in_readings(worth, campaign.protocol.score)
    logged = [run for run in stored if run.trace is not None]
    return {run.key: _task(campaign, worth, run, level) for run in logged if _unfit(campaign, run) is None}


def _ratios(campaign: Campaign, worth: Worth, stored: Sequence[StoredRun], seen: _Seen) -> dict[int, str]:
    """The runs whose reading the calibration does not cover, with the reason."""
    if worth.calibration is None or campaign.protocol.score.kind == "time to":
        return {}
    nets = {run.key: _net(run, seen.get(run.key)) for run in stored}
    found = {run.key: _only_ratio(campaign, worth, run, nets[run.key]) for run in stored}
    return {key: reason for key, reason in found.items() if reason is not None}


def _net(run: StoredRun, seen: RunFacts | NotExamined | None) -> float | None:
    """The score, net of zero: of the trace, or of the sheet where a run has no log."""
    if isinstance(seen, NotExamined):
        return None
    return run.row.score if seen is None else seen.score


def _only_ratio(campaign: Campaign, worth: Worth, run: StoredRun, net: float | None) -> str | None:
    if net is not None and not worth.within(net):
        return "the reading is beyond the calibrated range"
    source = campaign.calibration
    known = None if source is None or campaign.bolt.name is not None else source.bolt
    if known is not None and run.row.bolt not in (None, known):
        return f"made on bolt {run.row.bolt!r}, calibrated on {known!r}"
    return None


def _task(campaign: Campaign, worth: Worth, run: StoredRun, level: float | None) -> TraceTask:
    trace = run.trace
    if trace is None:
        raise StoreError(f"run {run.row.run!r} has no trace", "report this as a bug")
    wanted = run.row.judged_channel(campaign.rig)
    try:
        name = pick_name([name for name, _unit in trace.channels], wanted, trace.original_name)
    except NoChannel as wrong:
        raise wrong.on_sheet() if run.row.channel else wrong from None
    tool = next((tool for tool in campaign.tools if tool.name == run.row.tool), None)
    settings = TraceSettings(
        score=campaign.protocol.score,
        level_reading=level,
        direction=campaign.protocol.direction,
        duration_s=campaign.protocol.duration_s,
        nominal_blow_rate_hz=tool.blow_rate_hz if tool else None,
        full_scale=campaign.rig.full_scale,
        falls=worth.sign < 0.0,
    )
    return TraceTask(trace.sha256, name, unit_factor(campaign, trace, name), settings)


def unit_factor(campaign: Campaign, trace: KeptTrace, channel: str) -> float:
    """What to multiply a log's numbers by to have them in the rig's unit; 1 where the log names none.

    Raises
    ------
    BadInput
        If log and rig name units of different kinds, or one that is not known.
    """
    written, unit = dict(trace.channels)[channel], campaign.rig.unit
    try:
        return unit_ratio(written, unit) if written else 1.0
    except BadInput as wrong:
        raise BadInput(
            f"channel {channel!r} is in {written}, the rig's unit is {unit}",
            where=trace.original_name,
            allowed=wrong.allowed,
            fix=f"set {CHANNEL_KEY} to a channel in {unit}, or correct unit there",
        ) from wrong


@dataclass(frozen=True, slots=True)
class _Aside:
    """What is known of a run beside its trace: why it is a ratio only, its overload by the limit as it is and
    by an earlier one, that of a run before on its bolt,
    and how far off its zero the cell was with the bolt loose."""

    ratio: str | None
    overload: Overload | None
    past_overload: str | None
    spent_in: str | None
    off_zero: Flag | None
    scale: str | None = None

    def first(self) -> Iterator[Flag]:
        """What comes before all that the trace shows: what is of safety first."""
        if self.overload is not None:
            yield Flag("overload", str(self.overload))
        if self.spent_in is not None:
            yield Flag("bolt-overloaded", say("the bolt was overloaded before, in {run}", run=self.spent_in))
        if self.off_zero is not None:
            yield self.off_zero
        if self.scale is not None:
            yield Flag("scale", self.scale)


def _judged(
    campaign: Campaign,
    together: Worth,
    run: StoredRun,
    order: int,
    seen: RunFacts | NotExamined | None,
    aside: _Aside,
) -> JudgedRun:
    worth, window_s = together.on(campaign.rig_of(run.row)), _timed_window(campaign)
    series, factor = campaign.series_of(run.row), worth.factor
    if together.is_mixed and run.row.rig not in (None, campaign.rig.name) and window_s is None:
        series = say("{series} on {rig}", series=series, rig=run.row.rig)
    net, facts = _net(run, seen), seen if isinstance(seen, RunFacts) else None
    spread = None if facts is None else facts.score_uncertainty
    timed = window_s is not None
    loads = None if net is None or timed else worth.loads(net, spread)
    spread = loads.standard_uncertainty if loads else spread
    first, flags = tuple(aside.first()), _flags(run, seen, aside.ratio)
    late = _not_reached(facts, (*first, *flags), window_s)
    late_flag = (
        () if late is None else (Flag("not-reached", say("in {late} s", late=write_figures(f"{late:.3g}"))),)
    )
    return JudgedRun(
        stored=run,
        order=order,
        series=series,
        score=factor * loads.value if loads else net,
        unit="s" if timed else worth.unit if together.is_mixed else together.unit,
        standard_uncertainty=None if spread is None else spread if loads is None else factor * spread,
        clamp_load_n=loads.clamp_load_n if loads else None,
        torque_n_m=loads.torque_n_m if loads else None,
        blows=len(facts.blow_times) if facts is not None and facts.blow_rate_hz is not None else None,
        blow_rate_hz=facts.blow_rate_hz if facts is not None else None,
        flags=(*first, *late_flag, *flags),
        only_ratio=aside.ratio or worth.ratio_reason,
        overload=aside.overload,
        past_overload=aside.past_overload,
        not_reached_s=late,
        growth_time=facts.growth_time if facts is not None else np.empty(0),
        growth_level=factor * worth.levels(facts.growth_level) if facts is not None else np.empty(0),
    )


def _timed_window(campaign: Campaign) -> float | None:
    """How long a run is watched for its level, where a score is a time. [s]"""
    protocol = campaign.protocol
    return protocol.duration_s if protocol.score.kind == "time to" else None


def _not_reached(facts: RunFacts | None, flags: Sequence[Flag], window_s: float | None) -> float | None:
    """How long a run was watched without reaching the level of a score that is a time. [s]

    None where it did, where nothing grew, and where the level may have been higher than what was read.
    """
    if window_s is None or facts is None or facts.score is not None or not facts.growth_time.size:
        return None
    kinds = [find_flag(flag.kind) for flag in flags]
    if any(kind.hides_level for kind in kinds):
        return None
    cut = any(kind.misses_window for kind in kinds)
    watched = min(window_s, float(facts.growth_time[-1])) if cut else window_s
    return watched if watched > 0.0 else None


def _flags(run: StoredRun, facts: RunFacts | NotExamined | None, ratio: str | None) -> tuple[Flag, ...]:
    beyond = (Flag("only-ratio", ratio),) if ratio else ()
    if facts is None:
        return (Flag("score-only", say("there is no log, only a score")), *beyond)
    own = (Flag("not-examined", str(facts)),) if isinstance(facts, NotExamined) else facts.flags
    seen = {flag.kind for flag in own}
    found = run.trace.findings if run.trace else ()
    from_file = tuple(Flag(each["kind"], str(each["detail"])) for each in found if each["kind"] not in seen)
    return (*own, *from_file, *beyond)
