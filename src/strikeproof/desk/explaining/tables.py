"""An explanation for a terminal: sentences first, then rows of text."""

from __future__ import annotations

from strikeproof.explain import Explanation, Split
from strikeproof.publish.explain import say_share, tell_caveats, tell_parameter, tell_sentences
from strikeproof.quantity import write_percent

__all__ = ["explanation_lines", "explanation_tables"]

Rows = list[tuple[str, ...]]

_TESTS_SHOWN = 5


def explanation_lines(explanation: Explanation) -> list[str]:
    """The answer in sentences, then what stands beside it, marked with `!`."""
    return [*tell_sentences(explanation), *(f"! {each}" for each in tell_caveats(explanation))]


def explanation_tables(explanation: Explanation) -> list[Rows]:
    """Tables of rivals, articles, unknowns and next tests, each with a header; empty ones are left out."""
    tables = (_rivals(explanation), _articles(explanation), _unknowns(explanation), _tests(explanation))
    return [rows for rows in tables if len(rows) > 1]


def _rivals(explanation: Explanation) -> Rows:
    head = ("rival", "misses by", "weight", "probability", "elpd", "says")
    return [
        head,
        *(
            (
                each.name,
                f"{each.error_percent:.1f} %",
                say_share(each.weight),
                say_share(each.probability),
                f"{each.elpd:.1f}",
                each.says,
            )
            for each in explanation.rivals
        ),
    ]


def _articles(explanation: Explanation) -> Rows:
    head = (
        "tool",
        "article",
        "measured",
        "left out, foretold",
        "90 %",
        "inertia",
        "stiffness",
        "gap",
        "bond",
    )
    return [
        head,
        *(
            (
                each.tool,
                each.article,
                write_percent(each.measured_percent),
                write_percent(each.predicted_percent),
                f"{write_percent(each.low)} to {write_percent(each.high)}",
                *_parts(each.split),
            )
            for each in explanation.articles
        ),
    ]


def _parts(split: Split | None) -> tuple[str, ...]:
    return ("–",) * 4 if split is None else tuple(write_percent(each) for each in split.as_json().values())


def _unknowns(explanation: Explanation) -> Rows:
    rows = [tell_parameter(each) for each in explanation.parameters]
    head = ("unknown", "unit", "now", "90 %", "before", "learned")
    return [
        head,
        *(tuple(row[key] for key in ("name", "unit", "now", "range", "before", "learned")) for row in rows),
    ]


def _tests(explanation: Explanation) -> Rows:
    rows = explanation.next[:_TESTS_SHOWN]
    return [
        ("bits", "rivals", "unknowns", "next test"),
        *(
            (f"{each.bits:.1f}", f"{each.bits_rivals:.1f}", f"{each.bits_parameters:.1f}", each.setup)
            for each in rows
        ),
    ]
