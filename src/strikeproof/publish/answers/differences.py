"""One article against another, and what a person wrote, in words."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from strikeproof.judge.questions.differences import Difference, Differences, WhyNot
from strikeproof.language import retold, say, write_figures
from strikeproof.publish.answers.table import AnswerTable
from strikeproof.publish.texts import given
from strikeproof.publish.verdicts import NO_SCATTER, SIGNS, TOO_FEW, Sign
from strikeproof.quantity import write_number, write_percent

__all__ = ["difference_sentence", "difference_sign", "differences_note", "differences_table"]

_NONE: Final = "–"
_WHY: Final[Mapping[WhyNot, str]] = {
    "not run": say("not all of it ran with this tool"),
    "apart": say("they share no block, not even by way of other articles"),
    "no scatter": say("the runs do not say how much a score scatters"),
    "repeats": say("the runs repeat to the last digit, which no rig does"),
    "one run": say("one run may be a fluke"),
    "one block": say("one of them has runs in one block only"),
    "unconfirmed": say("only one of the two tests of the comparison with the reference shows it"),
    "no turns": say("all blocks of one were made before those of the other"),
    "weights": say("the margin fits only where each side weighs 1"),
    "order": say("every article had the same place in every block"),
    "no reference": say("the reference did not run beside both"),
    "misplaced": say("one run lies among those of the other state"),
    "reversed": say("they ran in the other order"),
}


def difference_sign(difference: Difference) -> Sign:
    """The sign of its verdict."""
    return SIGNS[difference.verdict]


def difference_sentence(difference: Difference, margin_percent: float) -> str:
    """What a difference says, only as strong as it is."""
    asked, tool, sign = difference.asked, difference.tool, difference_sign(difference)
    if sign.role in ("higher", "lower"):
        is_time = difference.verdict in ("sooner", "later")
        size = _size(difference)
        if asked.pair:
            facts = {"name": asked.pair[0], "word": sign.word, "other": asked.pair[1]}
            facts |= {"size": size, "tool": tool}
            if is_time:
                return say("{name} gets there {word} than {other} by {size} with {tool}.", **facts)
            return say("{name} is {word} than {other} by {size} with {tool}.", **facts)
        facts = {"text": asked.text, "word": sign.word, "size": size, "tool": tool}
        facts |= {"weight": _weight(difference)}
        if is_time:
            return say("“{text}” gets there {word} by {size} with {tool}.{weight}", **facts)
        return say("“{text}” is {word} by {size} with {tool}.{weight}", **facts)
    seen = _range(difference)
    if difference.verdict == "same":
        who = (
            say("{name} does the same as {other}", name=asked.pair[0], other=asked.pair[1])
            if asked.pair
            else say("“{text}” is nothing", text=asked.text)
        )
        return say(
            "{who} within the margin of {margin_percent} % with {tool}: {seen}.",
            who=who,
            margin_percent=given(margin_percent),
            tool=tool,
            seen=seen,
        )
    who = (
        say("between {name} and {other}", name=asked.pair[0], other=asked.pair[1])
        if asked.pair
        else say("whether “{text}” differs from 0", text=asked.text)
    )
    why = f" ({retold(_WHY[difference.why_not])})" if difference.why_not else ""
    tail = "" if difference.percent is None else say(" Seen so far: {seen}.", seen=seen)
    return say(
        "With {tool}: cannot tell {who}{why}.{tail}{weight}",
        tool=tool,
        who=who,
        why=why,
        tail=tail,
        weight=_weight(difference),
    )


def _weight(difference: Difference) -> str:
    """What a percentage means where a side does not weigh 1."""
    if difference.asked.is_ratio:
        return ""
    return say(
        " Each side weighs {side}: the percentage is of so many ratios multiplied, and the margin does "
        "not fit it.",
        side=given(difference.asked.side),
    )


def _size(difference: Difference) -> str:
    """`3.1 % (0.4 to 5.9 %)`, positive whichever way it goes, the smaller end first."""
    low, high, size = (
        each or 0.0 for each in (difference.low_percent, difference.high_percent, difference.percent)
    )
    if difference_sign(difference).role == "lower":
        low, high, size = -high, -low, -size
    return say(
        "{size} % ({low} to {high} %)",
        size=write_figures(f"{size:.1f}"),
        low=write_figures(f"{low:.1f}"),
        high=write_figures(f"{high:.1f}"),
    )


def _range(difference: Difference) -> str:
    if difference.percent is None:
        return _NONE
    return f"{write_percent(difference.percent)} ({_ends(difference)})"


def _ends(difference: Difference) -> str:
    if difference.low_percent is None or difference.high_percent is None:
        return NO_SCATTER if difference.why_not == "repeats" else TOO_FEW
    low = write_percent(difference.low_percent).removesuffix(" %")
    return say("{low} to {high}", low=low, high=write_percent(difference.high_percent))


def differences_table(found: Differences, tool: str) -> AnswerTable:
    """All that was asked with one tool, a row each."""
    chosen = [each for each in found.found if each.tool == tool]
    paired = all(each.asked.pair for each in chosen)
    heads = (say("Article"), say("against")) if paired else (say("Difference"),)
    return AnswerTable(
        say("Differences with {tool}", tool=tool),
        (*heads, say("Verdict"), say("Difference"), "p"),
        tuple(
            (
                difference_sign(each),
                (
                    *(
                        (name,)
                        for name in (each.asked.pair if paired and each.asked.pair else (each.asked.text,))
                    ),
                    (difference_sign(each).word,),
                    (_NONE,) if each.percent is None else (write_percent(each.percent), _ends(each)),
                    (_p(each.p),),
                ),
            )
            for each in chosen
        ),
        verdict=len(heads),
    )


def _p(value: float | None) -> str:
    return (
        _NONE
        if value is None
        else write_figures("< 0.001")
        if value < 0.001
        else write_figures(f"{value:.3f}")
    )


def differences_note(found: Differences) -> str:
    """What the intervals of a table hold."""
    if found.critical_value is None:
        return say("There are no intervals: the runs do not say how much a score scatters.")
    alone = found.comparisons == 1
    all_of_them = (
        say("Both") if found.comparisons == 2 else say("All {comparisons}", comparisons=found.comparisons)
    )
    many = (
        say("This interval holds")
        if alone
        else say("{all_of_them} intervals hold together", all_of_them=all_of_them)
    )
    law = say("Student’s t distribution") if alone else say("the multivariate t distribution")
    exact = "" if alone else say(" (Tukey’s pairs, exact for unequal runs). p is adjusted in the same way")
    saved = say(" The percentage is the time saved.") if found.timed else ""
    return say(
        "{many} with {confidence} %: standard error times {critical_value}, from {law} with "
        "{degrees_of_freedom} degrees of freedom and the runs as made{exact}.{saved}",
        many=many,
        confidence=write_figures(f"{100 * found.confidence:.4g}"),
        critical_value=write_number(found.critical_value, 4),
        law=law,
        degrees_of_freedom=found.degrees_of_freedom,
        exact=exact,
        saved=saved,
    )
