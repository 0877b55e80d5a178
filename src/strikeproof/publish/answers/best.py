"""Which article is the best with a tool, in words no stronger than the figures."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Final

from strikeproof.judge.questions.best import DRAWS, Best, Contender, LeftOut, Unknown
from strikeproof.language import retold, say, say_many, write_figures
from strikeproof.publish.answers.table import AnswerTable
from strikeproof.publish.texts import given, join_words
from strikeproof.publish.verdicts import SIGNS, Sign
from strikeproof.quantity import write_percent

__all__ = ["best_notes", "best_sentence", "best_sign", "best_table", "excluded_sentence"]

_NONE: Final = "–"
_UNKNOWN: Final[Mapping[Unknown, str]] = {
    "none": say("no {kind} has enough runs to be compared"),
    "alone": say("only one {kind} has enough runs to be compared"),
    "no scatter": say("the runs do not say how much a score scatters; repeat the runs"),
    "order": say("each {kind} had its own place in the order; shuffle it"),
}
_LEFT_OUT: Final[Mapping[LeftOut, str]] = {
    "one run": say("one run may be a fluke"),
    "one block": say("runs in one block only"),
    "apart": say("no block in common with the others, not even by way of other articles"),
}
_HELD: Final = {
    "article": say("only one of the two tests of the comparison with the reference shows a difference"),
    "tool": say("no pair by itself shows that it is behind"),
}
_KINDS: Final = {"article": say("article"), "tool": say("tool")}
_MOST_NAMED: Final = 6


def _counted(kind: str, number: int) -> str:
    if kind == "tool":
        return say_many("of {count} tool", "of {count} tools", number)
    return say_many("of {count} article", "of {count} articles", number)


def best_sign(best: Best) -> Sign:
    """Settled, or not."""
    return SIGNS["higher"] if len(best.possible) == 1 else SIGNS["cannot tell"]


def best_sentence(best: Best, margin_percent: float, currency: str, kind: str = "article") -> str:
    """Which is best with a tool, what else may be, and what was left out; or which tool with an article."""
    if best.unknown is not None:
        why = say(_UNKNOWN[best.unknown], kind=_KINDS[kind])
        return say(
            "With {tool}: cannot tell which is best: {why}.{left_out}",
            tool=best.tool,
            why=why,
            left_out=_left_out(best),
        )
    first, possible = best.contenders[0], best.possible
    if len(possible) == 1:
        said = say(
            "With {tool} {article} is the best {many}, {against_best_percent} % ahead of the next in these "
            "runs.",
            tool=best.tool,
            article=possible[0].article,
            many=_counted(kind, len(best.contenders)),
            against_best_percent=write_figures(f"{possible[0].against_best_percent:.1f}"),
        )
        return f"{said}{_left_out(best)}"
    named = [each.article for each in possible[:_MOST_NAMED]]
    named += [say("{named} more", named=len(possible) - len(named))] if len(possible) > len(named) else []
    whole = len(possible) == len(best.contenders)
    said = say(
        "With {tool}: cannot tell which is best: {word}{named}.",
        tool=best.tool,
        word=say("any of ") if whole else "",
        named=join_words(named, "or"),
    )
    leader = _leader(first, margin_percent) + _held(possible, kind)
    return f"{said} {leader}{_cheapest(possible, currency)}{_left_out(best)}"


def _held(possible: Sequence[Contender], kind: str) -> str:
    """Who may be best for want of a sure pair alone."""
    held = [each.article for each in possible if each.held]
    if not held:
        return ""
    return say(" {held} cannot be ruled out: {why}.", held=join_words(held[:_MOST_NAMED]), why=_HELD[kind])


def _leader(first: Contender, margin_percent: float) -> str:
    behind = -first.behind_percent
    if behind == 0.0:
        return say("{article} is the best in these runs.", article=first.article)
    within = (
        say(", within the margin of {margin_percent} %", margin_percent=given(margin_percent))
        if behind < margin_percent
        else ""
    )
    return say(
        "{article}, the best in these runs, is at most {behind} % behind the best{within}.",
        article=first.article,
        behind=write_figures(f"{behind:.1f}"),
        within=within,
    )


def _cheapest(possible: Sequence[Contender], currency: str) -> str:
    priced = [each for each in possible if each.price is not None]
    if len(priced) < len(possible):
        return ""
    least = min(priced, key=lambda each: each.price or 0.0)
    return say(
        " The cheapest of these is {article} ({price} {currency}).",
        article=least.article,
        price=write_figures(f"{least.price:.2f}"),
        currency=currency,
    )


def excluded_sentence(best: Best, with_excluded: Sequence[Best]) -> str:
    """What would be said if the excluded runs counted, where that differs; else nothing."""
    other = next((each for each in with_excluded if each.tool == best.tool), None)
    if other is None or best.unknown is not None or other.unknown is not None:
        return ""
    one, two = ({each.article for each in found.possible} for found in (best, other))
    if one == two:
        return ""
    named = join_words([each.article for each in other.possible[:_MOST_NAMED]], "or")
    more = len(other.possible) - _MOST_NAMED
    tail = say(" or {more} more", more=more) if more > 0 else ""
    return say(
        " This rests on the excluded runs: with them it might be {named}{tail}.", named=named, tail=tail
    )


def _left_out(best: Best) -> str:
    said = [f"{name} ({retold(_LEFT_OUT[why])})" for name, why in best.left_out]
    return say(" Left out: {said}.", said=join_words(said)) if said else ""


def best_table(best: Best, currency: str) -> AnswerTable | None:
    """Every contender against the best of the others; None where nothing can be said."""
    if not best.contenders:
        return None
    priced = any(each.price is not None for each in best.contenders)
    heads = (
        say("Article"),
        say("Verdict"),
        say("Against the best of the others"),
        say("Place"),
        say("Chance to be best"),
        say("Runs"),
    )
    return AnswerTable(
        say("Which is best with {tool}", tool=best.tool),
        (*heads, say("Price ({currency})", currency=currency)) if priced else heads,
        tuple((_row_sign(best, each), _cells(best, each, priced=priced)) for each in best.contenders),
        verdict=1,
    )


def _row_sign(best: Best, contender: Contender) -> Sign:
    if not contender.may_be_best:
        return SIGNS["lower"]
    return best_sign(best)


def _cells(best: Best, contender: Contender, *, priced: bool) -> tuple[tuple[str, ...], ...]:
    low, high = contender.ranks
    word = (
        say("ruled out")
        if not contender.may_be_best
        else say("the best")
        if len(best.possible) == 1
        else say("may be best")
    )
    behind = write_percent(contender.behind_percent).removesuffix(" %")
    ends = say("{low} to {high}", low=behind, high=write_percent(contender.ahead_percent))
    cells = (
        (contender.article,),
        (word,),
        (write_percent(contender.against_best_percent), ends),
        (f"{low}" if low == high else say("{low} to {high}", low=low, high=high),),
        (_chance(contender.chance),),
        (f"{contender.runs}",),
    )
    price = (_NONE if contender.price is None else write_figures(f"{contender.price:.2f}"),)
    return (*cells, price) if priced else cells


def _chance(chance: float) -> str:
    if chance < 0.01:
        return "< 1 %"
    return "> 99 %" if chance > 0.99 else f"{100 * chance:.0f} %"


def best_notes(best: Sequence[Best], confidence: float) -> tuple[str, ...]:
    """What the columns mean and assume."""
    if not any(each.contenders for each in best):
        return ()
    tools = say(" of all tools") if len(best) > 1 else ""
    return (
        say(
            "The range against the best of the others holds for all articles{tools} together with "
            "{confidence} % (Hsu 1984): an article whose range ends at 0 % is ruled out as the best, "
            "unless that rests on a difference from the reference that the comparison did not confirm. "
            "That is one-sided, so the best may be settled where two of them cannot be separated. The "
            "places hold for all articles{tools} together with {confidence} %, from all pairs.",
            tools=tools,
            confidence=write_figures(f"{100 * confidence:.4g}"),
        ),
        say(
            "The chance to be best is the share of {draws} draws around what was measured. It takes "
            "every difference for as likely as any other before the runs, and scatter for a bell curve; "
            "among articles that are really equal it still prefers the luckiest.",
            draws=DRAWS,
        ),
        say(
            "All of this is about the specimens that were run: how specimens of one article differ is "
            "not in it."
        ),
    )
