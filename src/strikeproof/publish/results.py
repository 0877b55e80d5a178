"""The table of results: the same columns and cells on the page, in the browser and in a terminal."""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final, TypeAlias

from strikeproof.judge.records import ArticleResult, Comparison
from strikeproof.language import say, write_figures
from strikeproof.publish.texts import unit_words
from strikeproof.publish.verdicts import Sign, late_words, range_words, sign_of
from strikeproof.quantity import write_number, write_percent

__all__ = ["Cell", "ResultTable", "result_table"]

Cell: TypeAlias = tuple[str, ...]
"""What a cell says, then what it says smaller below that."""
_NONE: Final = "–"


@dataclass(frozen=True, slots=True)
class ResultTable:
    """The results with one tool, the reference first and then by gain.

    The first column names the article, the second the verdict, whose sign comes before the cells of a row.
    """

    tool: str
    heads: tuple[str, ...]
    rows: tuple[tuple[Sign, tuple[Cell, ...]], ...]


def result_table(
    comparison: Comparison, tool: str, unit: str, currency: str, ratios: Collection[tuple[str, str]]
) -> ResultTable:
    """The results with one tool; columns in which no row has anything are left out.

    Parameters
    ----------
    unit
        Of a score, for people.
    ratios
        Articles, each with its tool, whose scores are no more than ratios.
    """
    results = sorted(
        (each for each in comparison.results if each.tool == tool),
        key=lambda each: (
            each.verdict != "reference",
            -(each.gain_percent if each.gain_percent is not None else -1e9),
        ),
    )
    shown = _Shown(unit_words(unit), {article for article, other in ratios if other == tool})
    columns = {head: [write(each, shown) for each in results] for head, write in _COLUMNS.items()}
    kept = {head: cells for head, cells in columns.items() if any(cell != (_NONE,) for cell in cells)}
    rows = zip(*kept.values(), strict=True)
    return ResultTable(
        tool,
        tuple(say(head, currency=currency) for head in kept),
        tuple((sign_of(each), cells) for each, cells in zip(results, rows, strict=True)),
    )


@dataclass(frozen=True, slots=True)
class _Shown:
    """Unit of a score, and the articles whose scores are no more than ratios."""

    unit: str
    ratios: Collection[str]


def _gain(result: ArticleResult, _shown: _Shown) -> Cell:
    if result.verdict == "reference":
        return (_NONE,)
    return (write_percent(result.gain_percent), range_words(result))


def _median(result: ArticleResult, shown: _Shown) -> Cell:
    if result.median is None:
        value = (
            _NONE
            if result.watched_s is None
            else say("over {watched_s} s", watched_s=write_figures(f"{result.watched_s:.3g}"))
        )
    else:
        value = f"{write_number(result.median)} {shown.unit}"
    ends = (result.median_low, result.median_high)
    spread = (
        "" if None in ends else say("{low} to {high}", low=write_number(ends[0]), high=write_number(ends[1]))
    )
    ratio = say("only a ratio") if result.article in shown.ratios else ""
    return (value, *filter(None, (late_words(result) or spread, ratio)))


def _runs(result: ArticleResult, _shown: _Shown) -> Cell:
    return (
        f"{result.runs}",
        *([say("+ {set_aside} excluded", set_aside=result.set_aside)] if result.set_aside else []),
    )


def _p(value: float | None) -> Cell:
    return (
        _NONE
        if value is None
        else write_figures("< 0.001")
        if value < 0.001
        else write_figures(f"{value:.3f}"),
    )


def _more(result: ArticleResult, _shown: _Shown) -> Cell:
    if result.verdict != "cannot tell":
        return (_NONE,)
    return (
        say("not known yet")
        if result.more_runs is None
        else say("about {more_runs}", more_runs=result.more_runs),
    )


def _worth(result: ArticleResult, _shown: _Shown) -> Cell:
    if result.gain_per_price is None or result.verdict == "reference":
        return (_NONE,)
    return (write_percent(result.gain_per_price, decimals=2),)


_COLUMNS: Final[Mapping[str, Callable[[ArticleResult, _Shown], Cell]]] = MappingProxyType(
    {
        say("Article"): lambda result, _shown: (result.article,),
        say("Verdict"): lambda result, _shown: (sign_of(result).word,),
        say("Gain"): _gain,
        say("Median"): _median,
        say("Runs"): _runs,
        "p": lambda result, _shown: _p(result.p),
        say("Second opinion"): lambda result, _shown: _p(result.p_randomisation),
        say("More runs"): _more,
        say("Price ({currency})"): lambda result, _shown: (
            _NONE if result.price is None else write_figures(f"{result.price:.2f}"),
        ),
        say("Gain per {currency}"): _worth,
    }
)
