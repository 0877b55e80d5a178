"""One article against another, and what a person wrote, in words."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from strikeproof.judge.questions.differences import Difference, Differences, WhyNot
from strikeproof.publish.answers.table import AnswerTable
from strikeproof.publish.texts import given
from strikeproof.publish.verdicts import NO_SCATTER, SIGNS, TOO_FEW, Sign
from strikeproof.quantity import write_number, write_percent

__all__ = ["difference_sentence", "difference_sign", "differences_note", "differences_table"]

_NONE: Final = "–"
_WHY: Final[Mapping[WhyNot, str]] = {
    "not run": "not all of it ran with this tool",
    "apart": "they share no block, not even by way of other articles",
    "no scatter": "the runs do not say how much a score scatters",
    "repeats": "the runs repeat to the last digit, which no rig does",
    "one run": "one run may be a fluke",
    "one block": "one of them has runs in one block only",
    "unconfirmed": "one alone of the two tests of the comparison with the reference shows it",
    "no turns": "all blocks of one were made before those of the other",
    "weights": "the margin fits only where each side weighs 1",
    "order": "every article had the same place in every block",
    "no reference": "the reference did not run beside both",
    "misplaced": "one run lies among those of the other state",
    "reversed": "they ran in the other order",
}


def difference_sign(difference: Difference) -> Sign:
    """The sign of its verdict."""
    return SIGNS[difference.verdict]


def difference_sentence(difference: Difference, margin_percent: float) -> str:
    """What a difference says, only as strong as it is."""
    asked, tool, sign = difference.asked, difference.tool, difference_sign(difference)
    if sign.role in ("higher", "lower"):
        how = "gets there" if difference.verdict in ("sooner", "later") else "is"
        size = _size(difference)
        if asked.pair:
            return f"{asked.pair[0]} {how} {sign.word} than {asked.pair[1]} by {size} with {tool}."
        return f"“{asked.text}” {how} {sign.word} by {size} with {tool}.{_weight(difference)}"
    seen = _range(difference)
    if difference.verdict == "same":
        who = (
            f"{asked.pair[0]} does the same as {asked.pair[1]}"
            if asked.pair
            else f"“{asked.text}” is nothing"
        )
        return f"{who} within the margin of {given(margin_percent)} % with {tool}: {seen}."
    who = (
        f"between {asked.pair[0]} and {asked.pair[1]}"
        if asked.pair
        else f"whether “{asked.text}” differs from 0"
    )
    why = f" ({_WHY[difference.why_not]})" if difference.why_not else ""
    tail = "" if difference.percent is None else f" Seen so far: {seen}."
    return f"With {tool}: cannot tell {who}{why}.{tail}{_weight(difference)}"


def _weight(difference: Difference) -> str:
    """What a percentage means where a side does not weigh 1."""
    if difference.asked.is_ratio:
        return ""
    return (
        f" Each side weighs {given(difference.asked.side)}: the percentage is of so many ratios multiplied, "
        "and the margin does not fit it."
    )


def _size(difference: Difference) -> str:
    """`3.1 % (0.4 to 5.9 %)`, positive whichever way it goes, the smaller end first."""
    low, high, size = (
        each or 0.0 for each in (difference.low_percent, difference.high_percent, difference.percent)
    )
    if difference_sign(difference).role == "lower":
        low, high, size = -high, -low, -size
    return f"{size:.1f} % ({low:.1f} to {high:.1f} %)"


def _range(difference: Difference) -> str:
    if difference.percent is None:
        return _NONE
    return f"{write_percent(difference.percent)} ({_ends(difference)})"


def _ends(difference: Difference) -> str:
    if difference.low_percent is None or difference.high_percent is None:
        return NO_SCATTER if difference.why_not == "repeats" else TOO_FEW
    low = write_percent(difference.low_percent).removesuffix(" %")
    return f"{low} to {write_percent(difference.high_percent)}"


def differences_table(found: Differences, tool: str) -> AnswerTable:
    """All that was asked with one tool, a row each."""
    chosen = [each for each in found.found if each.tool == tool]
    paired = all(each.asked.pair for each in chosen)
    heads = ("Article", "against") if paired else ("Difference",)
    return AnswerTable(
        f"Differences with {tool}",
        (*heads, "Verdict", "Difference", "p"),
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
    return _NONE if value is None else "< 0.001" if value < 0.001 else f"{value:.3f}"


def differences_note(found: Differences) -> str:
    """What the intervals of a table hold."""
    if found.critical_value is None:
        return "There are no intervals: the runs do not say how much a score scatters."
    alone = found.comparisons == 1
    all_of_them = "Both" if found.comparisons == 2 else f"All {found.comparisons}"
    many = "This interval holds" if alone else f"{all_of_them} intervals hold together"
    law = "Student’s t" if alone else "the multivariate t"
    exact = "" if alone else " (Tukey’s pairs, exact for unequal runs). p is adjusted alike"
    saved = " The percentage is the time saved." if found.timed else ""
    return (
        f"{many} with {100 * found.confidence:.4g} %: standard error times "
        f"{write_number(found.critical_value, 4)}, from {law} distribution with "
        f"{found.degrees_of_freedom} degrees of freedom and the runs as made{exact}.{saved}"
    )
