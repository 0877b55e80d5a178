"""One specimen or the product, in words."""

from __future__ import annotations

from collections.abc import Sequence

from strikeproof.judge.questions.specimens import Product
from strikeproof.language import say, say_many, write_figures
from strikeproof.publish.answers.panel import Panel
from strikeproof.publish.texts import given, join_words
from strikeproof.publish.verdicts import SIGNS
from strikeproof.quantity import write_number, write_percent

__all__ = ["product_panel"]


def product_panel(found: Sequence[Product], reference: str, margin_percent: float) -> Panel:
    """What several specimens say of the product, a sentence or two a tool."""
    return Panel(
        "product",
        say("One specimen or the product"),
        tuple((SIGNS[each.verdict], _said(each, reference, margin_percent)) for each in found),
        (),
        tuple(_note(each) for each in found),
    )


def _said(found: Product, reference: str, margin_percent: float) -> str:
    whose = say("The product that {specimens} are specimens of", specimens=join_words(found.specimens))
    sign = SIGNS[found.verdict]
    low, high, size = found.low_percent, found.high_percent, found.percent
    if sign.role == "lower":
        low, high, size = -high, -low, -size
    if sign.role in ("higher", "lower"):
        facts: dict[str, object] = {
            "name": whose,
            "word": sign.word,
            "other": reference,
            "size": write_figures(f"{size:.1f}"),
            "low": write_figures(f"{low:.1f}"),
            "high": write_figures(f"{high:.1f}"),
            "tool": found.tool,
        }
        said = (
            say("{name} gets there {word} than {other} by {size} % ({low} to {high} %) with {tool}.", **facts)
            if found.verdict in ("sooner", "later")
            else say("{name} is {word} than {other} by {size} % ({low} to {high} %) with {tool}.", **facts)
        )
        return f"{said} {_scatter(found)}"
    seen = say(
        "{size} ({low} to {high})",
        size=write_percent(size),
        low=write_percent(low).removesuffix(" %"),
        high=write_percent(high),
    )
    if found.verdict == "same":
        within = say(
            "does the same as {reference} within the margin of {margin_percent} %",
            reference=reference,
            margin_percent=given(margin_percent),
        )
        return say(
            "{whose} {within} with {tool}: {seen}. {scatter}",
            whose=whose,
            within=within,
            tool=found.tool,
            seen=seen,
            scatter=_scatter(found),
        )
    cannot = say(
        "cannot tell whether it differs from {reference} with {tool}", reference=reference, tool=found.tool
    )
    return say(
        "{whose}: {cannot}. Seen so far: {seen}. {scatter}",
        whose=whose,
        cannot=cannot,
        seen=seen,
        scatter=_scatter(found),
    )


def _scatter(found: Product) -> str:
    p = (
        write_figures("p < 0.001")
        if found.p_scatter < 0.001
        else f"p = {write_figures(f'{found.p_scatter:.3f}')}"
    )
    if found.scatter_percent == 0.0:
        return say("Its specimens differ no more than runs do (F test, {p}).", p=p)
    size = write_number(found.scatter_percent, 2)
    return say(
        "Its specimens scatter by {size} % beyond what runs do (standard deviation; F test, {p}).",
        size=size,
        p=p,
    )


def _note(found: Product) -> str:
    holds = say(
        "With {tool} the interval holds with {confidence} %",
        tool=found.tool,
        confidence=write_figures(f"{100 * found.confidence:.4g}"),
    )
    many, freedom = (
        say_many("from {count} specimen", "from {count} specimens", len(found.specimens)),
        write_number(found.degrees_of_freedom, 2),
    )
    return say(
        "{holds} for the mean of all specimens there are, {many} taken at random ({freedom} degrees "
        "of freedom): more specimens help more than more runs.",
        holds=holds,
        many=many,
        freedom=freedom,
    )
