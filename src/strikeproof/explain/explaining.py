"""Explain a campaign: fit all explanations, judge them, say what they mean."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from strikeproof.errors import DidNotConverge
from strikeproof.explain.crew import Crew, Keep
from strikeproof.explain.deciding import decide
from strikeproof.explain.explanation import Explanation
from strikeproof.explain.fits import FULL, QUICK, Fits, fit_rivals, usable
from strikeproof.explain.following import propose, rank_tests
from strikeproof.explain.judgement import Judgement, judge_rivals, misfit
from strikeproof.explain.kinds import EXPLANATIONS
from strikeproof.explain.obstacles import drop_contradictions, find_missing, is_hopeless
from strikeproof.explain.physical import Budget, Physical, folds, particle_size
from strikeproof.explain.records import Evidence, Progress, Verdict
from strikeproof.explain.results import (
    UNLEARNED,
    ArticleRow,
    Convergence,
    Diagnostics,
    ParameterRow,
    RivalRow,
    Split,
)
from strikeproof.explain.sentences import say_because, say_empty
from strikeproof.explain.splits import split_gains
from strikeproof.explain.surrogate import read_gains, run_plan
from strikeproof.explain.unexplained import find_unexplained
from strikeproof.language import say
from strikeproof.quantity import FloatArray
from strikeproof.team import Team

__all__ = ["Weighed", "explain_campaign", "explain_within", "list_rivals", "weigh_rivals"]


def explain_campaign(
    evidence: Evidence,
    *,
    rng: np.random.Generator,
    quick: bool = False,
    progress: Progress | None = None,
    keep: Keep | None = None,
    team: Team | None = None,
) -> Explanation:
    """Set the candidate explanations of a campaign against each other.

    Parameters
    ----------
    evidence
        All that the campaign says.
    rng
        The only source of chance: the same state gives the same explanation.
    quick
        Fewer runs of the engine and shorter chains: wider emulator errors, and so a little less power.
    progress
        Called with (done, total, what is being done).
    keep
        Keeps finished pieces of the work and gives them back, so that work that was stopped goes on. The
        explanation is the same to the last bit, whichever pieces were stored.
    team
        Who simulates, with the same results; None: a few threads of this process.

    Raises
    ------
    DidNotConverge
        If the chains of an explanation that matters have not met; `best` holds their R-hat by explanation.
    """
    return explain_within(evidence, QUICK if quick else FULL, rng, progress, keep, team)


def explain_within(
    evidence: Evidence,
    budget: Budget,
    rng: np.random.Generator,
    progress: Progress | None = None,
    keep: Keep | None = None,
    team: Team | None = None,
) -> Explanation:
    """`explain_campaign` with a given amount of work.

    Parameters
    ----------
    evidence
        All that the campaign says.
    budget
        How many runs and draws.
    rng
        The only source of chance: the same state gives the same explanation.
    progress
        Called with (done, total, what is being done).
    keep
        Keeps finished pieces of the work and gives them back.
    team
        Who simulates; None: as many threads as the budget says.

    Raises
    ------
    DidNotConverge
        If the chains of an explanation that matters have not met; `best` holds their R-hat by explanation.
    """
    said = progress or (lambda done, total, what: None)
    checked, aside = drop_contradictions(evidence)
    missing = find_missing(checked)
    if is_hopeless(checked):
        return replace(_say_nothing(checked, missing, aside, quick=budget.quick), evidence=evidence)
    reduced, left = usable(checked)
    members = team or Team(budget.workers)
    crew = Crew(members, keep) if keep else Crew(members)
    fitting, weighing, splitting, asking, checking, parting = rng.spawn(6)
    fits = fit_rivals(
        reduced, budget, fitting, lambda done, total, what: said(done, total + 3, what), crew.at("fit")
    )
    weighed = weigh_rivals(fits, weighing)
    judged, fit_p = weighed.judged, weighed.fit_p
    rows = list_rivals(judged)
    decision = decide(rows, fit_p, blocked=bool(missing))
    total = len(fits.physical) + 3
    said(total - 3, total, "splitting the gains")
    fit = _leading(fits, judged)
    splits = _split(fits, judged, fit, budget.splits, splitting, crew.at("split"))
    said(total - 2, total, "looking for the next test")
    candidates = reduced.candidates or propose(fits)
    chances = dict(zip(judged.names, judged.probability.tolist(), strict=True))
    following = rank_tests(fits, chances, candidates, budget.tests, asking, crew=crew.at("next"))
    said(total - 1, total, "checking against the simulation")
    parameters = _list_parameters(fit)
    error = _check(fits, fit, budget.check, checking, crew.at("check"))
    surprises = _find_surprises(fits, judged, fit, fit_p)
    unexplained = find_unexplained(fits.rivals[judged.best].seeing(), reduced, fits.table, parting)
    diagnostics = _diagnose(
        fits,
        evidence,
        fit,
        _Findings(error, fit_p, surprises, missing, (*aside, *_unexplained(checked, left)), left),
        parameters,
        quick=budget.quick,
    )
    said(total, total, "done")
    return Explanation(
        rows,
        decision.verdict,
        say_because(
            decision, rows, (*missing, *aside), surprises, diagnostics.unlearned, following, unexplained
        ),
        parameters,
        _list_articles(fits, judged, splits),
        following,
        diagnostics,
        evidence,
        fits,
        unexplained,
    )


def _say_nothing(
    evidence: Evidence, missing: tuple[str, ...], aside: tuple[str, ...], *, quick: bool
) -> Explanation:
    left = tuple(each.name for each in evidence.articles if each.model is None)
    caveats = (*evidence.caveats, *_unexplained(evidence, left))
    diagnostics = Diagnostics((), None, None, (), missing, caveats, left, (), 0, quick)
    verdict: Verdict = "cannot tell"
    return Explanation((), verdict, say_empty((*missing, *aside)), (), (), (), diagnostics, evidence, None)


def _unexplained(checked: Evidence, left: tuple[str, ...]) -> Iterator[str]:
    """Say of articles left aside, of which no caveat says why, that they are."""
    for name in left:
        if not checked.article(name).explained:
            yield say("{article} is left out: its inertia is not known", article=name)


def _leading(fits: Fits, judged: Judgement) -> Physical | None:
    """The most probable explanation with physics."""
    chances = dict(zip(judged.names, judged.evidence, strict=True))
    return max(fits.physical, key=lambda each: chances[each.name], default=None)


def _split(
    fits: Fits,
    judged: Judgement,
    fit: Physical | None,
    size: int,
    rng: np.random.Generator,
    crew: Crew,
) -> list[Split | None]:
    """Shares of every gain where the physics is believed more likely than not."""
    physics = {each.name for each in fits.physical}
    chance = sum(p for name, p in zip(judged.names, judged.probability, strict=True) if name in physics)
    if fit is None or chance < 0.5:
        return [None] * len(fits.gains)
    wanted = [(each.article, each.setting) for each in fits.evidence.gains]
    return list(split_gains(fits, fit, wanted, size, rng, crew=crew))


def _check(fits: Fits, fit: Physical | None, size: int, rng: np.random.Generator, crew: Crew) -> float | None:
    """Root mean square difference of engine and emulator at posterior draws, percent."""
    if fit is None:
        return None
    points = fit.chains.flat[rng.integers(len(fit.chains.flat), size=size)]
    runs = run_plan(fits.evidence, fit.parameters, fit.plan, points, np.zeros((size, 3)), crew=crew)
    mean, _variance = fit.surrogate.predict(points)
    apart = read_gains(fit.plan, runs) - mean[:, : len(fits.gains)]
    return 100.0 * float(np.sqrt(np.mean(apart**2)))


def _list_parameters(fit: Physical | None) -> tuple[ParameterRow, ...]:
    if fit is None:
        return ()
    rows = []
    for each, z in zip(fit.parameters, fit.chains.flat.T, strict=True):
        low, median, high = each.value(np.quantile(z, [0.05, 0.5, 0.95])).tolist()
        first, last = each.value(np.array([-1.6449, 1.6449])).tolist()
        learned = float(np.clip(1.0 - z.std(), 0.0, 1.0))
        rows.append(ParameterRow(each.label, each.unit, median, low, high, first, last, learned))
    return tuple(rows)


def _find_surprises(fits: Fits, judged: Judgement, fit: Physical | None, fit_p: float) -> tuple[str, ...]:
    """What the best explanation cannot account for."""
    said = []
    name = judged.names[judged.best]
    if fit_p < 0.01:
        said.append(
            say(
                "Even the best explanation, {name}, fits badly: in campaigns simulated by it, so large a "
                "difference comes only once in {times} times.",
                name=EXPLANATIONS[name].label,
                times=round(1.0 / max(fit_p, 1e-4)),
            )
        )
    if fit is not None and fit.clue_p < 0.005 and judged.probability[judged.names.index(fit.name)] > 0.2:
        said.append(
            say(
                "Growth curves or peaks differ from what {name} predicts by more than it allows for: its "
                "unknowns may be off.",
                name=EXPLANATIONS[fit.name].label,
            )
        )
    below = np.mean(judged.together < fits.gains, axis=0)
    tail = 0.005 / max(1, len(fits.gains))
    for gain, share in zip(fits.evidence.gains, below, strict=True):
        if min(share, 1.0 - share) <= tail:
            facts = {"article": gain.article, "tool": gain.setting.tool}
            said.append(
                say(
                    "{article} with {tool} scored more than any explanation had predicted from the others.",
                    **facts,
                )
                if share > 0.5
                else say(
                    "{article} with {tool} scored less than any explanation had predicted from the others.",
                    **facts,
                )
            )
    return tuple(said)


@dataclass(frozen=True, slots=True)
class _Findings:
    error: float | None
    fit_p: float
    surprises: tuple[str, ...]
    missing: tuple[str, ...]
    aside: tuple[str, ...]
    left: tuple[str, ...]


def _diagnose(
    fits: Fits,
    evidence: Evidence,
    fit: Physical | None,
    found: _Findings,
    parameters: tuple[ParameterRow, ...],
    *,
    quick: bool,
) -> Diagnostics:
    convergence = tuple(
        Convergence(
            each.name,
            each.chains.r_hat,
            each.chains.middle,
            each.chains.ends,
            100.0 * each.surrogate.error,
            particle_size(each.particles, fits.evidence),
        )
        for each in fits.physical
    )
    return Diagnostics(
        convergence,
        found.error,
        found.fit_p,
        found.surprises,
        found.missing,
        (*evidence.caveats, *found.aside),
        found.left,
        tuple(each.name for each in parameters if each.learned < UNLEARNED),
        sum(each.runs.scores.size for each in fits.physical),
        quick,
        len(fits.evidence.clues),
        fit.clue_p if fit is not None and fits.evidence.clues else None,
    )


def list_rivals(judged: Judgement) -> tuple[RivalRow, ...]:
    """The figures by which an explanation is named."""
    errors = 100.0 * np.expm1(judged.errors).mean(axis=0)
    columns = zip(
        judged.names,
        judged.weight.tolist(),
        judged.log_density.tolist(),
        judged.log_density_error().tolist(),
        errors.tolist(),
        judged.probability.tolist(),
        strict=True,
    )
    return tuple(
        RivalRow(name, weight, log_density, apart, error, probability, EXPLANATIONS[name].says)
        for name, weight, log_density, apart, error, probability in columns
    )


def _list_articles(fits: Fits, judged: Judgement, splits: list[Split | None]) -> tuple[ArticleRow, ...]:
    low, middle, high = _percent(np.quantile(judged.together, [0.05, 0.5, 0.95], axis=0))
    return tuple(
        ArticleRow(
            gain.article,
            gain.setting.tool,
            gain.setting,
            float(_percent(np.array(gain.log_gain))),
            float(middle[i]),
            float(low[i]),
            float(high[i]),
            True,
            splits[i],
        )
        for i, gain in enumerate(fits.evidence.gains)
    )


def _percent(log_gain: FloatArray) -> FloatArray:
    return np.asarray(100.0 * np.expm1(log_gain))


REFUSED_R_HAT = 1.2
"""Of an explanation that matters; 1.05 is asked for (1.1 in quick fits), and more steps are added until
then."""
LEAST_SIZE = 100.0
MATTERS = 0.05


@dataclass(frozen=True, slots=True)
class Weighed:
    """The judgement, and the posterior predictive p of the most probable explanation."""

    judged: Judgement
    fit_p: float


def weigh_rivals(fits: Fits, rng: np.random.Generator) -> Weighed:
    """Judge all explanations of a campaign.

    Parameters
    ----------
    fits
        All explanations, fitted.
    rng
        The only source of chance.

    Raises
    ------
    DidNotConverge
        If the chains of an explanation that matters have not met; `best` holds their R-hat by explanation.
    """
    scatter = fits.evidence.covariance
    judged = judge_rivals(fits.rivals, fits.gains, scatter, folds(fits.evidence), rng)
    unmet = _find_unmet(fits, judged)
    if unmet:
        raise DidNotConverge(
            f"the fit of {', '.join(unmet)}",
            best=unmet,
            fix="run it again without --quick, or give more of the tool, such as its hammer inertia",
        )
    return Weighed(judged, misfit(fits.rivals[judged.best].seeing(), fits.gains, scatter))


def _find_unmet(fits: Fits, judged: Judgement) -> dict[str, float]:
    """R-hat of the explanations that matter and whose chains have not met."""
    chances = dict(zip(judged.names, judged.probability.tolist(), strict=True))
    return {
        each.name: each.chains.r_hat
        for each in fits.physical
        if chances[each.name] > MATTERS
        and (each.chains.r_hat > REFUSED_R_HAT or each.chains.middle < LEAST_SIZE)
    }
