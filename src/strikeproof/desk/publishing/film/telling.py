"""What a film says of its runs, gathered from the workspace: numbers are those of every other list."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from collections.abc import Set as AbstractSet
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from strikeproof.campaign.flags import Severity, find_flag
from strikeproof.campaign.records import Campaign, RunRow
from strikeproof.desk.comparing.compare import ComparisonOutcome, compare_judged
from strikeproof.desk.publishing.report import QUANTITIES
from strikeproof.desk.runs.judged import JudgedCampaign, JudgedRun, judge_chosen, judge_runs
from strikeproof.desk.runs.trace_window import find_trace, trace_window
from strikeproof.desk.workspace.opening import is_simulated, open_campaign
from strikeproof.errors import BadInput, NotFound, TooFewRuns, end_sentence
from strikeproof.judge.records import ArticleResult
from strikeproof.publish.film.story import FilmRun, FilmStory, FilmVerdict
from strikeproof.publish.texts import join_words
from strikeproof.publish.verdicts import alarms, gain_words, sign_of, verdict_sentence
from strikeproof.quantity import FloatArray, unit_label, write_uncertain
from strikeproof.trace import RunFacts

__all__ = ["MOST_RUNS", "ToldRuns", "tell_film", "tell_limits"]

MOST_RUNS = 4
_TRACE_POINTS = 1200


@dataclass(frozen=True, slots=True, eq=False)
class ToldRuns:
    """The story of a film, and of each run its blows and the first one on the clock of its trace. [s]"""

    story: FilmStory
    blows: tuple[FloatArray, ...]
    starts: tuple[float, ...]
    campaign: str


def tell_film(workspace: Path, names: Sequence[str], campaign: str | None = None) -> ToldRuns:
    """The story of one to four runs of a campaign.

    Raises
    ------
    BadInput
        If there are too many runs, one comes twice, or one has no trace with a first blow.
    StrikeproofError
        If there is no such workspace, campaign or run.
    """
    if not 1 <= len(names) <= MOST_RUNS or len(set(names)) < len(names):
        raise BadInput(f"{len(names)} runs", where="film", allowed=f"1 to {MOST_RUNS}, each once", key="runs")
    store, key, found = open_campaign(workspace, campaign)
    judged = judge_runs(store, key, found)
    by_name = {run.stored.row.run: run for run in judged.runs}
    for name in names:
        if name not in by_name:
            raise NotFound("run", name, tuple(by_name))
    chosen = [by_name[name] for name in names]
    looked = judge_chosen(store, found, [run.stored for run in chosen], judged.worth)
    facts = [_traced(run, seen) for run, (_judged, seen) in zip(chosen, looked, strict=True)]
    runs = tuple(_tell_run(workspace, found, judged, *pair) for pair in zip(chosen, facts, strict=True))
    verdicts, caveats, winner = _results(judged, chosen)
    story = FilmStory(
        title=found.name,
        quantity=QUANTITIES[judged.worth.kind],
        runs=runs,
        verdicts=verdicts,
        caveats=caveats,
        winner=winner,
        simulated=is_simulated(workspace, found.name),
    )
    return ToldRuns(
        story,
        tuple(each.blow_times for each in facts),
        tuple(each.start_s or 0.0 for each in facts),
        found.name,
    )


def _traced(run: JudgedRun, facts: RunFacts | None) -> RunFacts:
    name = run.stored.row.run
    fix = "choose a run with a log; `strikeproof runs` lists them"
    if facts is None:
        raise BadInput(
            f"run {name} has no trace", where="film", allowed="runs with a log", fix=fix, key="runs"
        )
    if facts.start_s is None or run.growth_time.size < 2:
        raise BadInput(
            f"the trace of run {name} shows no first blow", where="film", allowed="runs with blows", fix=fix
        )
    return facts


def _tell_run(
    workspace: Path, campaign: Campaign, judged: JudgedCampaign, run: JudgedRun, facts: RunFacts
) -> FilmRun:
    row, start = run.stored.row, facts.start_s or 0.0
    aside = run.stored.set_aside is not None
    score = (
        ""
        if run.score is None
        else write_uncertain(run.score, run.standard_uncertainty, unit_label(run.unit))
    )
    time, level = _trace(workspace, campaign, judged, row, facts)
    return FilmRun(
        run=row.run,
        excluded=aside,
        article=row.article,
        tool=row.tool,
        unit=unit_label(
            judged.worth.on(campaign.rig_of(row)).unit if judged.worth.is_mixed else judged.worth.unit
        ),
        decimals=_decimals(run),
        score=score,
        growth_time=run.growth_time,
        growth_level=run.growth_level,
        trace_time=time,
        trace_level=level,
        blows=facts.blow_times - start,
        end_s=float(run.growth_time[-1]),
    )


def _decimals(run: JudgedRun) -> int:
    """Decimals of a level: as many as its score has, else four digits of the highest."""
    spread = run.standard_uncertainty
    if spread and run.unit != "s":
        return int(np.clip(1 - np.floor(np.log10(spread)), 0, 3))
    top = float(np.max(np.abs(run.growth_level), initial=1e-3))
    return int(np.clip(3 - np.floor(np.log10(max(top, 1e-3))), 0, 3))


def _trace(
    workspace: Path, campaign: Campaign, judged: JudgedCampaign, row: RunRow, facts: RunFacts
) -> tuple[FloatArray, FloatArray]:
    """The trace in the unit of levels, where it rises from a zero that is known."""
    if facts.zero is None or facts.start_s is None or campaign.protocol.direction != "tighten":
        return np.zeros(0), np.zeros(0)
    source = find_trace(workspace, campaign.name, row.run)
    window = trace_window(source, facts.start_s, facts.end_s, _TRACE_POINTS)
    good = np.isfinite(window.reading)
    worth = judged.worth.on(campaign.rig_of(row))
    level = worth.factor * worth.levels(worth.nets(window.reading[good], facts.zero))
    return window.time[good] - facts.start_s, np.asarray(level, np.float64)


def _results(
    judged: JudgedCampaign, chosen: Sequence[JudgedRun]
) -> tuple[tuple[FilmVerdict, ...], tuple[str, ...], str | None]:
    """Verdicts on the articles that are shown, what limits them, and the winner if there surely is one."""
    try:
        outcome = compare_judged(judged)
    except TooFewRuns as few:
        return (), (f"No result yet: {few.problem}.",), None
    shown = {(run.stored.row.article, run.stored.row.tool) for run in chosen}
    results = [each for each in outcome.comparison.results if (each.article, each.tool) in shown]
    limits = tell_limits(outcome, shown)
    excluded = any(run.stored.set_aside is not None for run in judged.runs)
    # With what is excluded, spoiled or warned of, it may be another.
    doubtful = excluded or limits or outcome.comparison.warnings
    return tell_verdicts(outcome, results), limits, None if doubtful else _winner(outcome, results)


def tell_limits(outcome: ComparisonOutcome, shown: AbstractSet[tuple[str, str]]) -> tuple[str, ...]:
    """All that limits the results of some articles, each with its tool: what is worst comes first."""
    runs = outcome.judged.runs
    ours = [run for run in runs if (run.stored.row.article, run.stored.row.tool) in shown]
    aside = [run for run in ours if run.stored.set_aside is not None]
    spoiled = [run for run in ours if any(_spoiling(run))]
    warnings = [
        each for each in outcome.comparison.warnings if _concerns(each, outcome.judged.campaign, shown)
    ]
    said = (*alarms(outcome.comparison), *outcome.judged.doubts, *warnings)
    return (*_run_caveats(aside, spoiled), *map(end_sentence, said))


def _concerns(warning: str, campaign: Campaign, shown: AbstractSet[tuple[str, str]]) -> bool:
    """Whether a warning is of what is shown: of an article or tool there, or of none by name."""
    articles, tools = ({each.name for each in kind} for kind in (campaign.articles, campaign.tools))
    seen = ({article for article, _tool in shown}, {tool for _article, tool in shown})
    for names, there in ((articles, seen[0]), (tools, seen[1])):
        named = {name for name in names if name in warning}
        if named and not named & there:
            return False
    return True


def _run_caveats(aside: Sequence[JudgedRun], spoiled: Sequence[JudgedRun]) -> Iterator[str]:
    """Of the articles that are shown: their excluded runs, and those whose score is bad."""
    if aside:
        yield f"Excluded from the result: {join_words([run.stored.row.run for run in aside])}."
    for run in spoiled:
        words = join_words(list(_spoiling(run)))
        yield f"The score of {run.stored.row.run} cannot be relied on: {words}."


def _spoiling(run: JudgedRun) -> Iterator[str]:
    kinds = (find_flag(each.kind) for each in run.flags)
    return (str(kind.words) for kind in kinds if kind.score is Severity.SPOILS)


def tell_verdicts(outcome: ComparisonOutcome, results: Sequence[ArticleResult]) -> tuple[FilmVerdict, ...]:
    """Each result but the reference's own in words with its sign."""
    verdicts = []
    for each in results:
        if each.verdict != "reference":
            sign = sign_of(each)
            words = verdict_sentence(each, outcome.comparison)
            short = f"{each.article}: {sign.word}, {gain_words(each)}"
            verdicts.append(
                FilmVerdict(each.article, each.tool, words, short, sign.role, sign.path, sign.hollow)
            )
    return tuple(verdicts)


def _winner(outcome: ComparisonOutcome, results: Sequence[ArticleResult]) -> str | None:
    """The one article that was found higher than the reference, where all others shown are that or lower.

    Two that are both higher were not compared with each other here, one not settled yet may be higher
    still, and a rig out of control proves nothing.
    """
    roles = {each.article: sign_of(each).role for each in results if each.verdict != "reference"}
    higher = [article for article, role in roles.items() if role == "higher"]
    tools = {each.tool for each in results}
    clear = all(role in ("higher", "lower") for role in roles.values())
    reference = any(each.verdict == "reference" for each in results)
    limits = alarms(outcome.comparison) or outcome.judged.doubts
    if len(higher) == 1 and len(tools) == 1 and clear and reference and not limits:
        return higher[0]
    return None
