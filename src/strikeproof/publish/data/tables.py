"""The results as tables of plain numbers: the same columns in a bundle, on the page, and when recomputed.

Each column says its unit, what it means, and how far a number that is computed again may be off.
"""

from __future__ import annotations

import json
import math
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from operator import attrgetter
from typing import Any, Final, Literal, TypeAlias

from strikeproof.judge.records import RigControl
from strikeproof.language import comma_in_files, say, speaking
from strikeproof.plain_text import escape_json, write_csv_text
from strikeproof.publish.report import Report
from strikeproof.publish.texts import unit_words

__all__ = ["Cell", "Column", "DataTable", "page_tables", "result_tables", "write_csv", "write_json"]

Cell: TypeAlias = str | float | int | None
Kind: TypeAlias = Literal["string", "number", "integer"]

_RELATIVE: Final = 1e-6  # another processor or library rounds elsewhere; a wrong digit is far beyond it
_ABSOLUTE: Final = 1e-9
_COUNTED: Final = (
    0.005  # of a share that is counted out of some thousand reshuffles: a tie may fall otherwise
)


@dataclass(frozen=True, slots=True)
class Column:
    """One column.

    Parameters
    ----------
    relative, absolute
        A number computed again may be off by the larger of both: a share of itself, and in its unit.
        Texts and whole numbers must be the same.
    """

    name: str
    unit: str
    means: str
    kind: Kind = "number"
    relative: float = _RELATIVE
    absolute: float = _ABSOLUTE

    @property
    def head(self) -> str:
        """As it heads a CSV file."""
        return f"{self.name} [{self.unit}]" if self.unit else self.name


@dataclass(frozen=True, slots=True)
class DataTable:
    """A table; the first `keys` columns separate its rows."""

    name: str
    title: str
    columns: tuple[Column, ...]
    rows: tuple[tuple[Cell, ...], ...]
    keys: int = 1


def write_csv(table: DataTable) -> str:
    """The table as CSV with units in its heads, every digit of its numbers, and no cell that is a formula."""
    return write_csv_text(
        [[column.head for column in table.columns], *table.rows], decimal_comma=comma_in_files()
    )


def write_json(*tables: DataTable) -> str:
    """One table as a JSON object, or several as a list of them."""
    documents = [_document(each) for each in tables]
    whole: Any = documents[0] if len(documents) == 1 else documents
    return escape_json(json.dumps(whole, ensure_ascii=False, allow_nan=False, separators=(",", ":")))


def _document(table: DataTable) -> dict[str, Any]:
    columns = [
        {"name": each.name, "unit": each.unit, "type": each.kind, "means": each.means}
        for each in table.columns
    ]
    return {"table": table.name, "title": table.title, "columns": columns, "rows": table.rows}


def page_tables(report: Report) -> tuple[DataTable, ...]:
    """The small tables, which the page itself holds."""
    return (_articles(report), _runs(report), _rig(report), _summary(report), *_answers(report))


def result_tables(report: Report) -> tuple[DataTable, ...]:
    """All tables of a report."""
    return (*page_tables(report), _growth(report), *_calibration(report))


_Field: TypeAlias = tuple[Column, Callable[[Any], Any]]


def _text(name: str, means: str, read: Callable[[Any], Any]) -> _Field:
    return Column(name, "", means, "string"), read


def _count(name: str, means: str, read: Callable[[Any], Any]) -> _Field:
    return Column(name, "", means, "integer"), read


def _number(
    name: str, unit: str, means: str, read: Callable[[Any], Any], absolute: float = _ABSOLUTE
) -> _Field:
    return Column(name, unit, means, absolute=absolute), read


def _filled(
    name: str, title: str, fields: Sequence[_Field], things: Iterable[Any], keys: int = 1
) -> DataTable:
    rows = tuple(tuple(_cell(read(thing)) for _column, read in fields) for thing in things)
    return DataTable(name, title, tuple(column for column, _read in fields), rows, keys)


def _cell(value: Any) -> Cell:
    if isinstance(value, float):
        return float(value) if math.isfinite(value) else None
    return (value or None) if value is None or isinstance(value, str) else int(value)


def _articles(report: Report) -> DataTable:
    unit, currency, percent, of = unit_words(report.unit), report.campaign.currency, 1e-6, attrgetter
    fields = [
        _text("article", "what was compared", of("article")),
        _text("tool", "what it was driven by", of("tool")),
        _text("verdict", "against the reference with the same tool", of("verdict")),
        _count("runs", "runs that count", of("runs")),
        _count("excluded", "runs that are excluded, with a reason", of("set_aside")),
        _count("not_reached", "runs that never reached the level", of("not_reached")),
        _number("watched", "s", "shortest time such a run was watched", of("watched_s")),
        _number("median", unit, "median score", of("median")),
        _number("median_low", unit, "lower end of its interval", of("median_low")),
        _number("median_high", unit, "upper end of its interval", of("median_high")),
        _number("gain", "%", "over the reference", of("gain_percent"), percent),
        _number("gain_low", "%", "lower end, all comparisons together", of("low_percent"), percent),
        _number("gain_high", "%", "upper end, all comparisons together", of("high_percent"), percent),
        _number("p", "", "adjusted for all comparisons", of("p"), 1e-6),
        _number("p_randomisation", "", "by reshuffling within blocks", of("p_randomisation"), _COUNTED),
        _count("more_runs", "about how many more are needed for a verdict", of("more_runs")),
        _number("gain_with_excluded", "%", "with them", of("gain_percent_with_set_aside"), percent),
        _number("gain_low_with_excluded", "%", "lower end", of("low_percent_with_set_aside"), percent),
        _number("gain_high_with_excluded", "%", "upper end", of("high_percent_with_set_aside"), percent),
        _number("price", currency, "of the article", of("price")),
        _number(
            "gain_per_price", f"%/{currency}" if currency else "%", "gain by price", of("gain_per_price")
        ),
    ]
    return _filled(
        "articles", say("Each article against the reference"), fields, report.comparison.results, 2
    )


def _answers(report: Report) -> Iterator[DataTable]:
    """What is answered beside each article against the reference."""
    answers = report.answers
    if answers is None or answers.refused:
        return
    percent = 1e-6
    best = [
        _text("article", "a contender", lambda each: each[1].article),
        _text("tool", "what it was driven by", lambda each: each[0].tool),
        _count("runs", "those that count", lambda each: each[1].runs),
        _count("may_be_best", "1 where it cannot be ruled out", lambda each: int(each[1].may_be_best)),
        _number(
            "against_best", "%", "of the others, as seen", lambda each: each[1].against_best_percent, percent
        ),
        _number("behind", "%", "lower end, all together", lambda each: each[1].behind_percent, percent),
        _number("ahead", "%", "upper end, all together", lambda each: each[1].ahead_percent, percent),
        _count("place_first", "first place it may have", lambda each: each[1].ranks[0]),
        _count("place_last", "last place it may have", lambda each: each[1].ranks[1]),
        _number("chance_best", "", "share of draws", lambda each: each[1].chance, _COUNTED),
    ]
    contest = [(each, contender) for each in answers.best for contender in each.contenders]
    if contest:
        yield _filled("best", say("Each article against the best of the others"), best, contest, 2)
    if answers.pairs is not None:
        pairs = [
            _text("article", "the one that is better as seen", lambda each: each.asked.pair[0]),
            _text("against", "the other", lambda each: each.asked.pair[1]),
            _text("tool", "what both were driven by", lambda each: each.tool),
            _text("verdict", "on the first", lambda each: each.verdict),
            _number("difference", "%", "of the other", lambda each: each.percent, percent),
            _number("difference_low", "%", "lower end, all pairs", lambda each: each.low_percent, percent),
            _number("difference_high", "%", "upper end, all pairs", lambda each: each.high_percent, percent),
            _number("p", "", "adjusted for all pairs", lambda each: each.p, 1e-6),
        ]
        yield _filled("pairs", say("Each two articles against each other"), pairs, answers.pairs.found, 3)
    if answers.tools is not None:
        between = [
            _text("tool", "the one that gives more as seen", lambda each: each.asked.pair[0]),
            _text("other", "the other tool", lambda each: each.asked.pair[1]),
            _text("article", "what both drove", lambda each: each.tool),
            _text("verdict", "on the first", lambda each: each.verdict),
            _number("difference", "%", "of the other", lambda each: each.percent, percent),
            _number("difference_low", "%", "lower end, all tools", lambda each: each.low_percent, percent),
            _number("difference_high", "%", "upper end, all tools", lambda each: each.high_percent, percent),
            _number("p", "", "adjusted for all tools", lambda each: each.p, 1e-6),
        ]
        found = answers.tools.differences.found
        yield _filled("tools", say("The tools with the same article"), between, found, 3)
    if answers.tool_effects is not None:
        of = attrgetter
        apart = [
            _text("article", "over the reference", of("article")),
            _text("tool", "with this tool", of("tool")),
            _text("other", "against this one", of("other")),
            _text("verdict", "whether the gain holds", of("verdict")),
            _number("difference", "%", "of the ratios to the reference", of("percent"), percent),
            _number("difference_low", "%", "lower end, all together", of("low_percent"), percent),
            _number("difference_high", "%", "upper end, all together", of("high_percent"), percent),
            _number("p", "", "adjusted for all of them", of("p"), 1e-6),
        ]
        found_apart = answers.tool_effects.found
        yield _filled("gains_by_tool", say("Gains with one tool against another"), apart, found_apart, 3)


def _runs(report: Report) -> DataTable:
    unit, of = unit_words(report.unit), attrgetter
    fields = [
        _text("run", "its name on the sheet", of("row.run")),
        _count("order", "place in time, from 1", of("order")),
        _text("article", "what was driven", of("row.article")),
        _text("tool", "what drove it", of("row.tool")),
        _text("block", "runs close in time", of("row.block")),
        _text("started", "as the sheet or the log says", of("row.started")),
        _number("score", unit, report.quantity, of("score")),
        _number("score_uncertainty", unit, "standard uncertainty", of("standard_uncertainty")),
        _number("not_reached_in", "s", "watched for so long without reaching it", of("not_reached_s")),
        _number("clamp_load", "N", "the same reading as clamp load", of("clamp_load_n")),
        _number("torque_equivalent", "N·m", "the same reading as torque", of("torque_n_m")),
        _count("blows", "blows found", of("blows")),
        _number("blow_rate", "Hz", "of the blows", of("blow_rate_hz")),
        _text("flags", "what makes the run doubtful", lambda each: " ".join(kind for kind, _ in each.flags)),
        _text("excluded", "the reason, empty where the run counts", of("row.set_aside")),
        _text("only_ratio", "why the score is no more than a ratio", of("only_ratio")),
        _text("note", "a person's", of("row.note")),
        _text("log", "its file", of("row.log")),
        _text("log_sha256", "SHA-256 of that file", of("log_sha256")),
    ]
    return _filled("runs", say("Every run"), fields, sorted(report.runs, key=lambda each: each.order))


def _rig(report: Report) -> DataTable:
    unit = unit_words(report.unit)

    def limit(at: int) -> Callable[[RigControl], float | None]:
        return lambda each: None if each.limits is None else each.limits[at]

    fields = [
        _text("tool", "whose reference runs were charted", lambda each: each.tool),
        _text("state", "of the rig", lambda each: each.state),
        _number("drift", "%/run", "of the reference", lambda each: each.drift_percent_per_run),
        _number("drift_uncertainty", "%/run", "standard uncertainty", lambda each: each.drift_uncertainty),
        _number("centre", unit, "of the control chart", lambda each: each.centre),
        _number("lower_limit", unit, "of the control chart", limit(0)),
        _number("upper_limit", unit, "of the control chart", limit(1)),
        _count("signals", "rules of the chart that were broken", lambda each: len(each.signals)),
    ]
    return _filled("rig", say("The rig through the campaign"), fields, report.comparison.controls)


def _summary(report: Report) -> DataTable:
    columns = (
        Column("quantity", "", "what it is", "string"),
        Column("value", "", "in the unit of its row"),
        Column("unit", "", "of the value", "string"),
    )
    rows = tuple((name, _cell(value), unit or None) for name, value, unit in _facts(report))
    return DataTable("summary", say("What the results rest on"), columns, rows)


def _reading_unit(report: Report) -> str:
    """In English whoever reads the page: these tables are compared by others, word for word."""
    with speaking("en"):
        return f"{report.reading_unit}"


def _facts(report: Report) -> Iterator[tuple[str, float | None, str]]:
    found = report.comparison
    yield "margin of same", float(found.margin_percent), "%"
    yield "confidence of all comparisons together", 100.0 * found.confidence, "%"
    yield "confidence of the ranges of this look", 100.0 * found.interval_confidence, "%"
    yield "scatter of one run", found.residual_cv_percent, "%"
    yield "degrees of freedom", float(found.degrees_of_freedom), ""
    yield "critical value", found.critical_value, ""
    if report.seed is not None:
        yield "seed", float(report.seed), ""
    fit, budget = report.calibration, report.budget
    if fit is not None:
        for power, value in enumerate(fit.coefficients.tolist()):
            per = {0: "", 1: f"/({report.applied_unit})"}.get(power, f"/({report.applied_unit})^{power}")
            yield f"calibration coefficient {power}", value, f"{_reading_unit(report)}{per}"
        yield "calibration residual standard deviation", fit.residual_sd, _reading_unit(report)
    if budget is not None:
        yield "calibration budget made at", budget.at, report.applied_unit
        yield "calibration expanded uncertainty", budget.expanded_uncertainty, report.applied_unit


def _growth(report: Report) -> DataTable:
    unit = unit_words(report.level_unit)
    fields = [
        _text("run", "its name on the sheet", lambda each: each[0]),
        _count("blow", "from 1", lambda each: each[1]),
        _number("time", "s", "after the start", lambda each: each[2]),
        _number("level", unit, report.level_quantity, lambda each: each[3]),
    ]
    points = (
        (run.row.run, blow, time, level)
        for run in sorted(report.runs, key=lambda each: each.order)
        for blow, (time, level) in enumerate(
            zip(run.growth_time.tolist(), run.growth_level.tolist(), strict=True), start=1
        )
    )
    return _filled("growth", say("Growth of the level from blow to blow"), fields, points, 2)


def _calibration(report: Report) -> Iterator[DataTable]:
    fit = report.calibration
    if fit is None:
        return
    fields = [
        _count("point", "from 1", lambda each: each[0]),
        _number("applied", report.applied_unit, "by the reference instrument", lambda each: each[1]),
        _number("reading", _reading_unit(report), "of the rig", lambda each: each[2]),
        _number("residual", _reading_unit(report), "reading less curve", lambda each: each[3]),
    ]
    listed = zip(fit.applied.tolist(), fit.reading.tolist(), fit.residuals.tolist(), strict=True)
    points = ((at, *each) for at, each in enumerate(listed, start=1))
    yield _filled("calibration", say("Calibration points"), fields, points)
