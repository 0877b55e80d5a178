"""One specimen or the product, in words."""

from __future__ import annotations

from collections.abc import Sequence

from strikeproof.judge.questions.specimens import Product
from strikeproof.publish.answers.panel import Panel
from strikeproof.publish.texts import count, given, join_words
from strikeproof.publish.verdicts import SIGNS
from strikeproof.quantity import write_number, write_percent

__all__ = ["product_panel"]


def product_panel(found: Sequence[Product], reference: str, margin_percent: float) -> Panel:
    """What several specimens say of the product, a sentence or two a tool."""
    return Panel(
        "product",
        "One specimen or the product",
        tuple((SIGNS[each.verdict], _said(each, reference, margin_percent)) for each in found),
        (),
        tuple(_note(each) for each in found),
    )


def _said(found: Product, reference: str, margin_percent: float) -> str:
    whose = f"The product that {join_words(found.specimens)} are specimens of"
    sign = SIGNS[found.verdict]
    low, high, size = found.low_percent, found.high_percent, found.percent
    if sign.role == "lower":
        low, high, size = -high, -low, -size
    if sign.role in ("higher", "lower"):
        how = "gets there" if found.verdict in ("sooner", "later") else "is"
        said = f"{whose} {how} {sign.word} than {reference} by {size:.1f} % ({low:.1f} to {high:.1f} %)"
        return f"{said} with {found.tool}. {_scatter(found)}"
    seen = f"{write_percent(size)} ({write_percent(low).removesuffix(' %')} to {write_percent(high)})"
    if found.verdict == "same":
        within = f"does the same as {reference} within the margin of {given(margin_percent)} %"
        return f"{whose} {within} with {found.tool}: {seen}. {_scatter(found)}"
    cannot = f"cannot tell whether it differs from {reference} with {found.tool}"
    return f"{whose}: {cannot}. Seen so far: {seen}. {_scatter(found)}"


def _scatter(found: Product) -> str:
    p = "p < 0.001" if found.p_scatter < 0.001 else f"p = {found.p_scatter:.3f}"
    if found.scatter_percent == 0.0:
        return f"Its specimens differ no more than runs do (F test, {p})."
    size = write_number(found.scatter_percent, 2)
    return f"Its specimens scatter by {size} % beyond what runs do (standard deviation; F test, {p})."


def _note(found: Product) -> str:
    holds = f"With {found.tool} the interval holds with {100 * found.confidence:.4g} %"
    many, freedom = count(len(found.specimens), "specimen"), write_number(found.degrees_of_freedom, 2)
    return (
        f"{holds} for the mean of all specimens there are, from {many} taken at random ({freedom} degrees of "
        "freedom): more specimens help more than more runs."
    )
