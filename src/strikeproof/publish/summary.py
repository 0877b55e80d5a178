"""The first sentences of the page: what came out, a sentence or two a tool."""

from __future__ import annotations

from strikeproof.judge.records import ArticleResult, Comparison
from strikeproof.publish.report import Report
from strikeproof.publish.texts import count, given, join_words
from strikeproof.publish.verdicts import SIGNS, gain_words, sign_of

__all__ = ["summary", "what_was_done"]


def what_was_done(report: Report) -> str:
    """One sentence on the size and kind of the test."""
    protocol = report.campaign.protocol
    others = len({run.row.article for run in report.runs} - {report.campaign.reference})
    reference = report.campaign.reference
    compared = f"{count(others, 'article')} {'was' if others == 1 else 'were'} compared with {reference}"
    return (
        f"{compared if others else f'Only {reference} was run'} on {report.campaign.rig.name}, "
        f"with {count(len(report.tools), 'tool')}, in {count(len(report.runs), 'run')} "
        f"of {given(protocol.duration_s)} s {report.campaign.turning}."
    )


def summary(report: Report) -> tuple[str, ...]:
    """A sentence or two for each tool, and which of several planned looks this is."""
    said = (_tool_summary(report.comparison, tool) for tool in report.tools)
    return (*said, *filter(None, [report.comparison.look]))


def _tool_summary(comparison: Comparison, tool: str) -> str:
    rows = [each for each in comparison.results if each.tool == tool and each.verdict != "reference"]
    if not rows:
        return f"With {tool} only {comparison.reference} was run: no article to compare it with."
    known = {"reference": comparison.reference, "margin": given(comparison.margin_percent)}
    parts = [
        f"{number} {sign.counted.format(**known)}"
        for verdict, sign in SIGNS.items()
        if (number := sum(each.verdict == verdict for each in rows))
    ]
    return f"With {tool}, of {count(len(rows), 'article')}: {join_words(parts)}.{_surest(rows)}"


def _surest(rows: list[ArticleResult]) -> str:
    """The gain that is the largest even at the low end of its range."""
    gains = [each for each in rows if sign_of(each).role == "higher"]
    if not gains:
        return ""
    best = max(gains, key=lambda each: each.low_percent if each.low_percent is not None else -1e9)
    return f" Largest gain at the low end of its range: {best.article}, {gain_words(best)}."
