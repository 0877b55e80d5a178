"""Every article against the reference: differences, simultaneous intervals, verdicts, second opinion."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence

import numpy as np

from strikeproof.errors import BadInput, NotFound, TooFewRuns
from strikeproof.judge.caveats import (
    find_asked_caveats,
    find_design_caveats,
    find_late_caveats,
    find_look_caveats,
    find_reference_caveats,
    find_repeat_caveats,
    find_result_caveats,
    find_rig_caveats,
    find_run_caveats,
    find_scatter_caveats,
    find_slope_caveats,
)
from strikeproof.judge.censored import judge_censored, rank_fit
from strikeproof.judge.control import chart_reference, pool_charts
from strikeproof.judge.intervals import Judged, judge_runs
from strikeproof.judge.looks import Looks
from strikeproof.judge.model import RUN_ORDER, WARM_UP, Pair
from strikeproof.judge.orders import find_held_places
from strikeproof.judge.randomisation import count_arrangements, randomisation_p
from strikeproof.judge.records import Comparison, Progress, ScoredRun
from strikeproof.judge.results import Evidence, describe_articles
from strikeproof.language import joined, say, say_many, write_figures
from strikeproof.quantity import write_number

__all__ = ["compare_runs"]


def compare_runs(
    runs: Sequence[ScoredRun],
    *,
    reference: str,
    margin_percent: float,
    confidence: float = 0.95,
    rng: np.random.Generator,
    draws: int = 4999,
    prices: Mapping[str, float] | None = None,
    timed: bool = False,
    step: float = 0.0,
    looks: Looks | None = None,
    progress: Progress | None = None,
) -> Comparison:
    """Compare every article with the reference, tool by tool, from the scores of all runs.

    Parameters
    ----------
    runs
        All runs of one campaign, excluded ones too; scores of one kind, > 0.
    reference
        The article all others are compared with.
    margin_percent
        Gains within plus or minus this are "same"; 0 <= margin < 100.
    confidence
        Of all intervals together; 0.5 <= confidence < 1.
    rng
        Draws the relabellings of the randomisation test; nothing else is random.
    draws
        Relabellings; 0 leaves the test out.
    prices
        Price of each article in the campaign's currency.
    timed
        Whether scores are times, for which less is better: gains are then the time saved, verdicts "sooner"
        and "later".
    step
        In which scores come, as the rig's resolution makes it; 0 where nothing says.
    looks
        Which of several planned looks this is: all of them together keep the confidence.
    progress
        Called with (done, total) relabellings.

    Raises
    ------
    BadInput
        If a score that counts is not > 0, a run's name is there twice, or a setting is out of range.
    TooFewRuns
        If no run, or no run of the reference, counts.
    NotFound
        If the reference is not among the articles.
    """
    _check_settings(margin_percent, confidence, draws)
    ordered = sorted(runs, key=lambda each: each.order)
    counted = [each for each in ordered if not each.set_aside]
    _check_runs(ordered, counted, reference)
    sure = confidence if looks is None else 1.0 - looks.level(1.0 - confidence)
    usable = [each for each in ordered if _can_be_logged(each)]
    judged = _judge(counted, reference, sure)
    evidence = Evidence(
        runs=ordered,
        reference=reference,
        judged=judged,
        with_set_aside=_judge(usable, reference, sure) if len(usable) > len(counted) else None,
        second=_second_opinion(
            judged, counted, reference, 1.0 - sure, draws=draws, rng=rng, progress=progress
        ),
        level=1.0 - sure,
        margin_percent=margin_percent,
        confidence=confidence,
        timed=timed,
        prices=prices or {},
    )
    results = describe_articles(evidence)
    of_reference = [each for each in usable if each.article == reference]
    controls = tuple(
        chart_reference([each for each in of_reference if each.tool == tool], tool, step)
        for tool in sorted({each.tool for each in ordered})
    )
    rig = pool_charts(controls, step)
    fit, of_runs = judged.fit, judged.of_runs
    late = any(each.not_reached for each in counted)
    return Comparison(
        reference=reference,
        margin_percent=margin_percent,
        confidence=confidence,
        interval_confidence=sure,
        look=_say_look(looks, sure, confidence),
        results=results,
        rig=rig,
        controls=controls,
        residual_cv_percent=(
            None if of_runs.variance is None else 100.0 * float(np.sqrt(np.expm1(of_runs.variance)))
        ),
        degrees_of_freedom=fit.degrees_of_freedom,
        critical_value=judged.critical_value,
        warnings=(
            *find_rig_caveats(rig),
            *find_asked_caveats(counted, fit),
            *find_design_caveats(counted, fit, reference),
            *find_repeat_caveats(counted, reference, averaged=len(judged.rows) < len(counted)),
            *([] if late else find_slope_caveats(fit)),
            *find_late_caveats(results),
            *([] if late else find_run_caveats(counted, of_runs)),
            *find_scatter_caveats(judged.own_scatter),
            *find_reference_caveats(reference, judged.reference_scatter),
            *find_result_caveats(results, 1.0 - sure, margin_percent, timed=timed),
            *_unusable(ordered),
            *_missing_opinion(judged, evidence, draws),
            *find_look_caveats(results, looks),
        ),
        method=_say_method(judged, sure, draws if evidence.second else 0, timed=timed, late=late),
    )


def _judge(runs: Sequence[ScoredRun], reference: str, confidence: float) -> Judged:
    """By least squares, or by likelihood where some runs never reached the level."""
    late = any(each.not_reached for each in runs)
    return (judge_censored if late else judge_runs)(runs, reference, confidence)


def _second_opinion(
    judged: Judged,
    runs: Sequence[ScoredRun],
    reference: str,
    level: float,
    *,
    draws: int,
    rng: np.random.Generator,
    progress: Progress | None,
) -> dict[Pair, float]:
    """Randomisation p by pair; empty when too few dealings or shuffles exist for p to reach the level."""
    if draws * level < 2.0 or judged.critical_value is None or find_held_places(runs, reference):
        return {}
    labels = np.unique([each.article for each in judged.rows], return_inverse=True)[1].astype(np.int64)
    if count_arrangements(judged.fit, labels) * level < 2.0:
        return {}
    late = any(each.not_reached for each in runs)
    fit = rank_fit(runs, reference) if late else judged.fit
    p = randomisation_p(fit, draws=draws, rng=rng, progress=progress)
    able = np.flatnonzero(judged.fit.design.estimable)
    return {judged.fit.design.pairs[i]: float(each) for i, each in zip(able, p, strict=True)}


def _missing_opinion(judged: Judged, evidence: Evidence, draws: int) -> list[str]:
    """Say when intervals stand without a randomisation test."""
    if evidence.second or draws == 0 or judged.critical_value is None:
        return []
    if find_held_places([each for each in evidence.runs if not each.set_aside], evidence.reference):
        return [
            say(
                "a randomisation test shuffles the runs again, but the place of the reference was never "
                "shuffled, so the intervals have no second opinion"
            )
        ]
    if draws * evidence.level < 2.0:
        return [
            say(
                "{draws} shuffles are too few for the level of this look ({level} %), so the "
                "intervals have no second opinion",
                draws=draws,
                level=write_figures(f"{100 * evidence.level:.2g}"),
            )
        ]
    return [
        say(
            "the blocks allow too few arrangements for a randomisation test, so the intervals have no "
            "second opinion"
        )
    ]


def _check_settings(margin_percent: float, confidence: float, draws: int) -> None:
    """Refuse settings no comparison can be made with."""
    where = "comparison"
    if not 0.0 <= margin_percent < 100.0:
        raise BadInput(f"margin {margin_percent:g} %", where=where, allowed="0 to less than 100 %")
    if not 0.5 <= confidence < 1.0:
        raise BadInput(f"confidence {confidence:g}", where=where, allowed="0.5 to less than 1")
    if draws < 0:
        raise BadInput(f"{draws} draws", where=where, allowed="0 or more")


def _check_runs(runs: Sequence[ScoredRun], counted: Sequence[ScoredRun], reference: str) -> None:
    """Refuse runs that cannot be compared."""
    if not runs:
        raise TooFewRuns("comparison", got=0, needed=2)
    twice = [name for name, times in Counter(each.run for each in runs).items() if times > 1]
    if twice:
        raise BadInput(
            f"run {', '.join(twice[:6])} is there twice", where="runs", allowed="one run for each name"
        )
    if reference not in {each.article for each in runs}:
        raise NotFound("reference article", reference, {each.article for each in runs})
    if not any(each.article == reference for each in counted):
        raise TooFewRuns(f"runs of the reference {reference} that count", got=0, needed=2)
    bad = [f"{each.run} ({each.score:g})" for each in counted if not _can_be_logged(each)]
    if bad:
        raise BadInput(
            f"score of {', '.join(bad[:6])}" + (f" and {len(bad) - 6} more" if len(bad) > 6 else ""),
            where="runs",
            allowed="above 0, as gains are ratios",
            fix="correct the score or exclude the run with a reason",
        )


def _can_be_logged(run: ScoredRun) -> bool:
    return bool(np.isfinite(run.score) and run.score > 0.0)


def _unusable(ordered: Sequence[ScoredRun]) -> list[str]:
    """Set-aside runs whose score cannot be logged, so that no result counts them."""
    lost = [each.run for each in ordered if not _can_be_logged(each)]
    return (
        [
            say(
                "excluded run {listed} has no score above 0 and is left out of both results",
                listed=", ".join(lost),
            )
        ]
        if lost
        else []
    )


def _say_look(looks: Looks | None, sure: float, confidence: float) -> str:
    if looks is None:
        return ""
    if looks.planned == 0:
        return say(
            "You may look after every block: ranges hold at {sure} % and p must be below {sure_2} after "
            "{blocks} blocks, so that all looks together keep {confidence} % (mixture bound of Robbins).",
            sure=write_figures(f"{100 * sure:.2f}"),
            sure_2=write_number(1.0 - sure, 2),
            blocks=looks.blocks,
            confidence=write_figures(f"{100 * confidence:g}"),
        )
    return say(
        "This is look {number} of {planned} that were planned. Its ranges hold at {sure} % and p must be "
        "below {sure_2}, so that all looks together keep {confidence} % (bounds of O'Brien and Fleming).",
        number=looks.number,
        planned=looks.planned,
        sure=write_figures(f"{100 * sure:.2f}"),
        sure_2=write_number(1.0 - sure, 2),
        confidence=write_figures(f"{100 * confidence:g}"),
    )


def _say_method(judged: Judged, confidence: float, draws: int, *, timed: bool, late: bool) -> tuple[str, ...]:
    """What was done, in sentences for the page."""
    fit = judged.fit
    slopes = joined(fit.covariates)
    fitted = say("Maximum likelihood of log-normal times") if late else say("Least squares")
    said = [
        say("Scores are compared on the log scale, so that differences are percent."),
        say(
            "{fitted} with an effect for each block of each tool and for each article with each tool",
            fitted=fitted,
        )
        + (say(", and one slope on {slopes} inside the blocks.", slopes=slopes) if slopes else "."),
    ]
    if judged.of_runs is not fit:
        said.append(
            say(
                "The runs of an article in one block share what that block did to it, so their mean "
                "counts once: only further blocks add more."
            )
        )
    if timed:
        said.append(
            say(
                "The score is a time, for which less is better: a gain is the time saved, in percent of "
                "the reference's, and counts as positive."
            )
        )
    if WARM_UP in fit.covariates:
        said.append(
            say(
                "The slope on warm-up takes out what the first runs of a block have of their own, half "
                "as much with each run; it is fitted wherever the design leaves at least 8 degrees of "
                "freedom."
            )
        )
    if RUN_ORDER in fit.covariates:
        said.append(
            say(
                "The slope on order takes out drift inside the blocks; it is fitted because the design "
                "leaves at least 12 degrees of freedom, not because of what the scores look like."
            )
        )
    if late:
        said.append(
            say(
                "A run that never reached the level is censored, not missing: it counts as later than it "
                "was watched (Tobin 1958, in the scaling of Olsen 1978). The intervals are those of the "
                "profile likelihood (Meeker, Escobar 1998), widened for few runs so that they are the t "
                "intervals where every run reached the level; where nothing bounds a gain on one side, "
                "the other end is given."
            )
        )
    with_freedom = say_many(
        "with {count} degree of freedom", "with {count} degrees of freedom", fit.degrees_of_freedom
    )
    if judged.critical_value is not None and late:
        said.append(
            say(
                "The {confidence} % intervals hold together for all comparisons: critical value "
                "{critical_value}, from the multivariate t distribution {with_freedom}, from the "
                "runs that reached the level alone. p is adjusted in the same way.",
                confidence=write_figures(f"{100 * confidence:g}"),
                critical_value=write_figures(f"{judged.critical_value:.3f}"),
                with_freedom=with_freedom,
            )
        )
    if judged.critical_value is not None and not late:
        said.append(
            say(
                "The {confidence} % interval is the standard error times {critical_value}, from "
                "Student’s t distribution {with_freedom}.",
                confidence=write_figures(f"{100 * confidence:g}"),
                critical_value=write_figures(f"{judged.critical_value:.3f}"),
                with_freedom=with_freedom,
            )
            if len(judged.intervals) == 1
            else say(
                "The {confidence} % intervals hold together for all {intervals} comparisons: standard "
                "error times {critical_value}, from the multivariate t distribution {with_freedom} and the "
                "correlations of the runs as made. p is adjusted in the same way.",
                confidence=write_figures(f"{100 * confidence:g}"),
                intervals=len(judged.intervals),
                critical_value=write_figures(f"{judged.critical_value:.3f}"),
                with_freedom=with_freedom,
            )
        )
    if judged.critical_value is not None:
        said.append(
            say(
                'An article is "same" when its whole interval lies inside the margin: two one-sided '
                "tests, all comparisons together wrong in at most {confidence} % at the margin.",
                confidence=write_figures(f"{50 * (1 - confidence):.3g}"),
            )
        )
        said.append(
            say(
                "More runs: until a verdict is 80 % likely if the difference and the scatter found so "
                "far are the true ones."
            )
        )
    if judged.own_scatter:
        said.append(
            say(
                "An article that scatters clearly more than the others (F test at 1 %) has the wider of "
                "its simultaneous interval and one from its own scatter (Welch, at Bonferroni's level)."
            )
        )
    if draws:
        said.append(
            say(
                "Second opinion: the articles of each block and tool were shuffled {draws} times among "
                "its runs; p is the share of shuffles whose largest |t| is at least the observed one. It "
                "shares the runs and their order with the intervals and is no independent witness. A "
                'difference gets a verdict only where both show it; where they disagree, that is "cannot '
                'tell".',
                draws=draws,
            )
            + (
                say(" It judges ranks within each block and tool, runs that never got there last.")
                if late
                else ""
            )
        )
    return (
        *said,
        say("A verdict is on the specimens that were run: how specimens of one article differ is not in it."),
        say(
            "Gain for the money is gain in percent for each unit of currency of the article's whole "
            "price; it has no interval of its own."
        ),
    )
