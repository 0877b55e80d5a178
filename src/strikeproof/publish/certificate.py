"""One campaign on two sheets of paper: what, how, result, uncertainty, and who signs for it."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator
from typing import Final

from markupsafe import Markup

from strikeproof.language import retold, say, say_many, speaking, write_figures
from strikeproof.publish.colours import theme_css
from strikeproof.publish.data.tables import page_tables, write_json
from strikeproof.publish.documents import find_template, read_piece
from strikeproof.publish.report import Report
from strikeproof.publish.summary import what_was_done
from strikeproof.publish.tables import facts, protocol_rows
from strikeproof.publish.texts import given, sentence, unit_words
from strikeproof.publish.uncertainty import calibration_view
from strikeproof.publish.verdicts import gain_words, rig_sentences, sign_of
from strikeproof.quantity import write_freedom, write_number

__all__ = ["identification", "write_certificate"]

_MOST_LIMITS: Final = 6
_CALIBRATION: Final = (
    say("Curve"),
    say("Range"),
    say("Lack of fit"),
    say("Repeatability"),
    say("Hysteresis"),
    say("Resolution"),
)


def identification(report: Report) -> str:
    """Sixteen signs that the same results from the same files have, and no others."""
    with speaking("en"):
        content = write_json(*page_tables(report)) + "".join(digest for _name, digest in report.hashes)
    digest = hashlib.sha256(content.encode()).hexdigest()[:16].upper()
    return " ".join(digest[place : place + 4] for place in range(0, 16, 4))


def write_certificate(report: Report) -> str:
    """The certificate as one HTML document; all words from outside are escaped."""
    limits = tuple(
        dict.fromkeys(map(retold, (*report.doubts, *report.warnings, *report.comparison.warnings)))
    )
    return find_template("certificate.html").render(
        report=report,
        comparison=report.comparison,
        identification=identification(report),
        done=what_was_done(report),
        facts=facts(report),
        protocol=protocol_rows(report),
        results=list(_results(report)),
        uncertainty=list(_uncertainty(report)),
        calibration=_calibration(report),
        budget=_budget(report),
        rigs=[" ".join(rig_sentences(rig)) for rig in report.comparison.controls],
        limits=limits[:_MOST_LIMITS],
        more=_say_more(len(limits) - _MOST_LIMITS),
        range_confidence=write_figures(f"{100 * report.comparison.interval_confidence:.4g}"),
        sentence=sentence,
        style=Markup(theme_css() + read_piece("page.css")),
    )


def _results(report: Report) -> Iterator[dict[str, object]]:
    unit = unit_words(report.unit)
    for tool in report.tools:
        rows = [each for each in report.comparison.results if each.tool == tool]
        yield {
            "tool": tool,
            "rows": [
                {
                    "article": each.article,
                    "sign": sign_of(each),
                    "gain": gain_words(each),
                    "median": "–" if each.median is None else f"{write_number(each.median)} {unit}",
                    "runs": say("{runs} + {aside} excluded", runs=each.runs, aside=each.set_aside)
                    if each.set_aside
                    else str(each.runs),
                }
                for each in rows
            ],
        }


def _uncertainty(report: Report) -> Iterator[tuple[str, str]]:
    found = report.comparison
    yield (
        say("Ranges of the gains"),
        say(
            "{confidence} % for all comparisons together (Dunnett)",
            confidence=write_figures(f"{100 * found.interval_confidence:.4g}"),
        ),
    )
    if found.residual_cv_percent is not None:
        freedom = write_freedom(found.degrees_of_freedom)
        yield say("Scatter of one run"), f"{write_number(found.residual_cv_percent, 2)} % ({freedom})"
    yield say("Same within"), f"{given(found.margin_percent)} %"
    aside = sum(run.row.set_aside is not None for run in report.runs)
    yield (
        say("Runs"),
        say("{runs}; {aside} excluded with a reason", runs=len(report.runs), aside=aside),
    )


def _say_more(limits: int) -> str:
    """How many are not on the certificate."""
    if limits <= 0:
        return ""
    return say_many(
        "{count} more limit on the page of this campaign.",
        "{count} more limits on the page of this campaign.",
        limits,
    )


def _calibration(report: Report) -> list[tuple[str, str]]:
    view = calibration_view(report)
    rows = view["rows"] if view else ()
    assert isinstance(rows, list | tuple)
    shown = {retold(each) for each in _CALIBRATION}
    return [each for each in rows if retold(each[0]) in shown]


def _budget(report: Report) -> str:
    view = calibration_view(report)
    budget = view["budget"] if view else None
    return str(budget["says"]) if isinstance(budget, dict) else ""
