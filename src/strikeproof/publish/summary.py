"""The first sentences of the page: what came out, a sentence or two a tool."""

from __future__ import annotations

from strikeproof.judge.records import ArticleResult, Comparison
from strikeproof.language import say, say_many
from strikeproof.publish.report import Report
from strikeproof.publish.texts import given, join_words
from strikeproof.publish.verdicts import COUNTED, SIGNS, gain_words, sign_of

__all__ = ["summary", "what_was_done"]


def what_was_done(report: Report) -> str:
    """One sentence on the size and kind of the test."""
    protocol = report.campaign.protocol
    others = len({run.row.article for run in report.runs} - {report.campaign.reference})
    reference = report.campaign.reference
    compared = say_many(
        "{count} article was compared with {reference}",
        "{count} articles were compared with {reference}",
        others,
        reference=reference,
    )
    return say(
        "{compared} on {name}, {tools}, {runs} of {duration_s} s {turning}.",
        compared=compared if others else say("Only {reference} was run", reference=reference),
        name=report.rig_words,
        tools=say_many("with {count} tool", "with {count} tools", len(report.tools)),
        runs=say_many("in {count} run", "in {count} runs", len(report.runs)),
        duration_s=given(protocol.duration_s),
        turning=report.campaign.turning,
    )


def summary(report: Report) -> tuple[str, ...]:
    """A sentence or two for each tool, and which of several planned looks this is."""
    said = (_tool_summary(report.comparison, tool) for tool in report.tools)
    return (*said, *filter(None, [report.comparison.look]))


def _tool_summary(comparison: Comparison, tool: str) -> str:
    rows = [each for each in comparison.results if each.tool == tool and each.verdict != "reference"]
    if not rows:
        return say(
            "With {tool} only {reference} was run: no article to compare it with.",
            tool=tool,
            reference=comparison.reference,
        )
    known = {"reference": comparison.reference, "margin": given(comparison.margin_percent)}
    parts = [
        COUNTED[verdict](number, **known)
        for verdict in SIGNS
        if verdict in COUNTED and (number := sum(each.verdict == verdict for each in rows))
    ]
    return say(
        "With {tool}, {articles}: {parts}.{surest}",
        tool=tool,
        articles=say_many("of {count} article", "of {count} articles", len(rows)),
        parts=join_words(parts),
        surest=_surest(rows),
    )


def _surest(rows: list[ArticleResult]) -> str:
    """The gain that is the largest even at the low end of its range."""
    gains = [each for each in rows if sign_of(each).role == "higher"]
    if not gains:
        return ""
    best = max(gains, key=lambda each: each.low_percent if each.low_percent is not None else -1e9)
    return say(
        " Largest gain at the low end of its range: {article}, {gain}.",
        article=best.article,
        gain=gain_words(best),
    )
