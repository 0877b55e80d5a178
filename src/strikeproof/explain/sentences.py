"""The answer in plain words."""

from __future__ import annotations

from collections.abc import Sequence

from strikeproof.explain.deciding import DECISIVE, Decision
from strikeproof.explain.kinds import EXPLANATIONS
from strikeproof.explain.results import UNLEARNED, NextTest, OwnPart, RivalRow, Unexplained
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
    lines += [f"What is in the way: {each}." for each in missing]
    lines += list(surprises)
    if unexplained is not None:
        lines.append(_say_unexplained(unexplained))
    if unlearned:
        lines.append(
            f"These runs show nothing about {_list(unlearned)}: only what was assumed before the runs is "
            f"known."
        )
    if following:
        best = following[0]
        lines.append(f"Most would be learned next from {best.setup}: {best.bits:.1f} bit expected.")
    return tuple(lines)


def _say_unexplained(found: Unexplained) -> str:
    """How much no property explains, and who carries most of it."""
    size = f"about {found.percent:.1f} % of the score from article to article"
    ends = f"90 % interval {found.low:.1f} to {found.high:.1f} %"
    known = ", hardly more is known of it than before the runs" if found.learned < UNLEARNED else ""
    said = f"What no property explains: {size} ({ends}{known})."
    out = [each for each in found.parts if each.stands_out]
    if not out:
        return f"{said} No article stands out."
    return f"{said} Most of it lies in {_list([_say_part(each) for each in out])}."


def _say_part(part: OwnPart) -> str:
    return f"{part.article} ({write_percent(part.percent)})"


def _answer(decision: Decision, ranked: Sequence[RivalRow]) -> list[str]:
    if decision.verdict == "cannot tell":
        return [_no_answer(decision, ranked)]
    winner = decision.likeliest
    lines = [
        f"{EXPLANATIONS[winner.name].answer}: articles left out of the fit are predicted within "
        f"{winner.error_percent:.1f} % on average."
    ]
    others = [each for each in ranked if each.name != winner.name]
    worse = [each for each in others if each.error_percent > 1.5 * winner.error_percent]
    if worse:
        misses = _list([f"{_short(each)} by {each.error_percent:.1f} %" for each in worse])
        lines.append(f"Others miss by more: {misses}.")
    like = [each for each in others if each not in worse]
    if like:
        lines.append(
            f"{_list([_short(each) for each in like]).capitalize()} would predict about as well, "
            f"but the runs make {'it' if len(like) == 1 else 'them'} less likely "
            f"({_list([_percent(each.probability) for each in like])} "
            f"against {_percent(winner.probability)})."
        )
    return lines


def _no_answer(decision: Decision, ranked: Sequence[RivalRow]) -> str:
    """Why nothing is named."""
    likeliest, other = decision.likeliest, decision.foremost
    disagree = (
        f"Cannot tell: the two measures disagree. By all runs together {_short(likeliest)} is "
        f"the most probable ({_percent(likeliest.probability)}), but {_short(other)} predicts articles "
        "left out of the fit better: "
    )
    if decision.reason == "measures disagree":
        return disagree + (
            f"within {other.error_percent:.1f} % on average against {likeliest.error_percent:.1f} %, with a "
            f"weight of {_percent(other.weight)} against {_percent(likeliest.weight)}."
        )
    if decision.reason == "predicts worse":
        return (
            disagree
            + "the logarithm of their density is "
            + f"{other.log_density - likeliest.log_density:.1f} higher."
        )
    if decision.reason == "not decisive":
        close = _list([_figures(each) for each in ranked if each.probability > 0.05])
        return (
            "Cannot tell: by all runs together no explanation reaches a probability of "
            f"{100.0 * DECISIVE:.0f} %, at which one is named. {close[:1].upper()}{close[1:]}."
        )
    but = ", but these runs do not look like what it predicts of them" if decision.reason == "refuted" else ""
    return f"Cannot tell: by all runs together the most probable is {_figures(likeliest)}{but}."


def _figures(rival: RivalRow) -> str:
    """An explanation with what it is judged by, the criterion first."""
    return (
        f"{_short(rival)} (probability {_percent(rival.probability)}, left-out error "
        f"{rival.error_percent:.1f} %, weight {_percent(rival.weight)})"
    )


def _short(rival: RivalRow) -> str:
    return EXPLANATIONS[rival.name].short


def _percent(share: float) -> str:
    return "under 1 %" if share < 0.01 else "over 99 %" if share > 0.99 else f"{100.0 * share:.0f} %"


def say_empty(missing: Sequence[str]) -> tuple[str, ...]:
    """What can be said when nothing can be fitted."""
    return (
        "Cannot tell: no explanation can be compared with another yet.",
        *(f"{each}." for each in missing),
    )


def _list(words: Sequence[str]) -> str:
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} and {words[-1]}" if words else ""
