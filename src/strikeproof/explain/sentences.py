"""The answer in plain words."""

from __future__ import annotations

from collections.abc import Sequence

from strikeproof.explain.deciding import DECISIVE, Decision
from strikeproof.explain.kinds import EXPLANATIONS
from strikeproof.explain.results import UNLEARNED, NextTest, OwnPart, RivalRow, Unexplained
from strikeproof.language import joined, say, say_many, with_capital, write_figures
from strikeproof.quantity import write_percent

__all__ = ["say_because", "say_empty"]


def say_because(
    decision: Decision,
    rivals: Sequence[RivalRow],
    missing: Sequence[str],
    surprises: Sequence[str],
    unlearned: Sequence[str],
    following: Sequence[NextTest],
    unexplained: Unexplained | None = None,
) -> tuple[str, ...]:
    """Sentences, the answer first, then why, then what is not known and what would settle it.

    Parameters
    ----------
    decision
        What is named, or why nothing is.
    rivals
        In any order.
    missing
        Clauses: what to add before anything can be named.
    surprises
        Sentences: checks that failed.
    unlearned
        Names of unknowns of which the runs say nothing.
    following
        Next tests, the most informative first.
    unexplained
        What no property explains.
    """
    ranked = sorted(rivals, key=lambda each: -each.probability)
    lines = [*_answer(decision, ranked)]
    lines += [say("What is in the way: {missing}.", missing=each) for each in missing]
    lines += list(surprises)
    if unexplained is not None:
        lines.append(_say_unexplained(unexplained))
    if unlearned:
        lines.append(
            say(
                "These runs show nothing about {names}: only what was assumed before the runs is known.",
                names=joined(unlearned),
            )
        )
    if following:
        best = following[0]
        bits = write_figures(f"{best.bits:.1f}")
        lines.append(
            say("Most would be learned next from {test}: {bits} bit expected.", test=best.setup, bits=bits)
        )
    return tuple(lines)


def _say_unexplained(found: Unexplained) -> str:
    """How much no property explains, and who carries most of it."""
    facts = {
        "size": write_figures(f"{found.percent:.1f}"),
        "low": write_figures(f"{found.low:.1f}"),
        "high": write_figures(f"{found.high:.1f}"),
    }
    if found.learned < UNLEARNED:
        said = say(
            "What no property explains: about {size} % of the score from article to article (90 % interval "
            "{low} to {high} %, hardly more is known of it than before the runs).",
            **facts,
        )
    else:
        said = say(
            "What no property explains: about {size} % of the score from article to article (90 % interval "
            "{low} to {high} %).",
            **facts,
        )
    out = [each for each in found.parts if each.stands_out]
    if not out:
        return say("{said} No article stands out.", said=said)
    most = joined([_say_part(each) for each in out])
    return say("{said} Most of it lies in {most}.", said=said, most=most)


def _say_part(part: OwnPart) -> str:
    return say("{article} ({percent})", article=part.article, percent=write_percent(part.percent))


def _answer(decision: Decision, ranked: Sequence[RivalRow]) -> list[str]:
    if decision.verdict == "cannot tell":
        return [_no_answer(decision, ranked)]
    winner = decision.likeliest
    lines = [
        say(
            "{answer}: articles left out of the fit are predicted within {error} % on average.",
            answer=EXPLANATIONS[winner.name].answer,
            error=_error(winner),
        )
    ]
    others = [each for each in ranked if each.name != winner.name]
    worse = [each for each in others if each.error_percent > 1.5 * winner.error_percent]
    if worse:
        misses = joined([say("{name} by {error} %", name=_short(each), error=_error(each)) for each in worse])
        lines.append(say("Others miss by more: {misses}.", misses=misses))
    like = [each for each in others if each not in worse]
    if like:
        lines.append(
            say_many(
                "{names} would predict about as well, but the runs make it less likely ({chances} against "
                "{best}).",
                "{names} would predict about as well, but the runs make them less likely ({chances} against "
                "{best}).",
                len(like),
                names=with_capital(joined([_short(each) for each in like])),
                chances=joined([_percent(each.probability) for each in like]),
                best=_percent(winner.probability),
            )
        )
    return lines


def _no_answer(decision: Decision, ranked: Sequence[RivalRow]) -> str:
    """Why nothing is named."""
    likeliest, other = decision.likeliest, decision.foremost
    if decision.reason == "measures disagree":
        return say(
            "Cannot tell: the two measures disagree. By all runs together {likeliest} is the most probable "
            "({chance}), but {other} predicts articles left out of the fit better: within {error} % on "
            "average against {error_of_likeliest} %, with a weight of {weight} against "
            "{weight_of_likeliest}.",
            likeliest=_short(likeliest),
            chance=_percent(likeliest.probability),
            other=_short(other),
            error=_error(other),
            error_of_likeliest=_error(likeliest),
            weight=_percent(other.weight),
            weight_of_likeliest=_percent(likeliest.weight),
        )
    if decision.reason == "predicts worse":
        return say(
            "Cannot tell: the two measures disagree. By all runs together {likeliest} is the most probable "
            "({chance}), but {other} predicts articles left out of the fit better: the logarithm of their "
            "density is {higher} higher.",
            likeliest=_short(likeliest),
            chance=_percent(likeliest.probability),
            other=_short(other),
            higher=write_figures(f"{other.log_density - likeliest.log_density:.1f}"),
        )
    if decision.reason == "not decisive":
        close = joined([_figures(each) for each in ranked if each.probability > 0.05])
        return say(
            "Cannot tell: by all runs together no explanation reaches a probability of {decisive} %, at "
            "which one is named. {close}.",
            decisive=write_figures(f"{100.0 * DECISIVE:.0f}"),
            close=with_capital(close),
        )
    if decision.reason == "refuted":
        return say(
            "Cannot tell: by all runs together the most probable is {likeliest}, but these runs do not look "
            "like what it predicts of them.",
            likeliest=_figures(likeliest),
        )
    return say(
        "Cannot tell: by all runs together the most probable is {likeliest}.", likeliest=_figures(likeliest)
    )


def _figures(rival: RivalRow) -> str:
    """An explanation with what it is judged by, the criterion first."""
    return say(
        "{name} (probability {chance}, left-out error {error} %, weight {weight})",
        name=_short(rival),
        chance=_percent(rival.probability),
        error=_error(rival),
        weight=_percent(rival.weight),
    )


def _error(rival: RivalRow) -> str:
    return write_figures(f"{rival.error_percent:.1f}")


def _short(rival: RivalRow) -> str:
    return EXPLANATIONS[rival.name].short


def _percent(share: float) -> str:
    if share < 0.01:
        return say("under 1 %")
    return say("over 99 %") if share > 0.99 else write_figures(f"{100.0 * share:.0f} %")


def say_empty(missing: Sequence[str]) -> tuple[str, ...]:
    """What can be said when nothing can be fitted."""
    return (
        say("Cannot tell: no explanation can be compared with another yet."),
        *(say("{missing}.", missing=each) for each in missing),
    )
