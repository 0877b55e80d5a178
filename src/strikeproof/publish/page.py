"""The page: one file that holds the whole comparison and needs nothing else."""

from __future__ import annotations

import base64
import hashlib
from collections.abc import Callable, Iterator, Mapping, Sequence

from markupsafe import Markup

from strikeproof.language import comma_in_files, retold, say, say_many, speaking
from strikeproof.publish.answers import Panel, panels_of
from strikeproof.publish.colours import theme_css
from strikeproof.publish.data.tables import page_tables, write_csv, write_json
from strikeproof.publish.documents import find_template, read_piece
from strikeproof.publish.explain import why_section
from strikeproof.publish.gallery import SECTIONS, find_charts, page_drawing
from strikeproof.publish.report import Report
from strikeproof.publish.summary import summary, what_was_done
from strikeproof.publish.tables import (
    facts,
    flag_rows,
    protocol_rows,
    results_of,
    run_rows,
    said,
    set_aside_rows,
)
from strikeproof.publish.texts import given, sentence
from strikeproof.publish.uncertainty import calibration_view
from strikeproof.publish.verdicts import SIGNS, alarms, rig_sentences
from strikeproof.quantity import write_number

__all__ = ["write_page"]


def write_page(
    report: Report, progress: Callable[[int, int], None] | None = None, more: Sequence[Panel] = ()
) -> str:
    """The report as one self-contained HTML document; `more` are answers that it does not hold itself.

    Every word that came from outside (names, notes, reasons) is escaped, and the page's own policy lets
    nothing run but its one script. `progress` is called with how many charts are drawn, and of how many.
    """
    drawn: dict[str, list[dict[str, object]]] = {section: [] for section in SECTIONS}
    charts = list(find_charts(report))
    for count, chart in enumerate(charts):
        if progress is not None:
            progress(count, len(charts))
        drawn[chart.section].append(page_drawing(chart))
    script = read_piece("page.js")
    panels = (*panels_of(report), *more)
    return find_template("page.html").render(
        report=report,
        campaign=report.campaign,
        timed=report.timed,
        words={verdict: sign.word for verdict, sign in SIGNS.items()},
        comparison=report.comparison,
        done=what_was_done(report),
        summary=summary(report),
        alarms=alarms(report.comparison),
        calm=rig_sentences(report.comparison.rig)[0],
        facts=facts(report),
        protocol=protocol_rows(report),
        said=[(tool, said(report, tool)) for tool in report.tools],
        rigs=[(rig, rig_sentences(rig)) for rig in report.comparison.controls],
        results=[results_of(report, tool) for tool in report.tools],
        set_aside=set_aside_rows(report.comparison),
        runs=run_rows(report),
        flags=flag_rows(report),
        shown={
            "clamp": _extra(report, "clamp_load_n", ("N", "kN", "lbf")),
            "torque": _extra(report, "torque_n_m", ("N·m", "kN·m", "lbf·ft", "lbf·in")),
        },
        calibration=calibration_view(report),
        charts=drawn,
        above={
            key: say(says, reference=report.comparison.reference)
            for key, (_, says) in SECTIONS.items()
            if says
        },
        panels=panels,
        parts=_parts(drawn, panels, why=report.why is not None),
        why=why_section(report.why),
        warnings=tuple(dict.fromkeys((*report.warnings, *report.comparison.warnings))),
        made_by=_made_by(report),
        data=list(_data_files(report)),
        confidence=given(100 * report.comparison.confidence),
        range_confidence=f"{100 * report.comparison.interval_confidence:.4g}",
        number=write_number,
        given=given,
        sentence=sentence,
        style=Markup(theme_css() + read_piece("page.css")),
        script=Markup(script),
        script_hash=base64.b64encode(hashlib.sha256(script.encode()).digest()).decode(),
    )


def _parts(
    drawn: Mapping[str, Sequence[object]], panels: Sequence[Panel], *, why: bool
) -> list[tuple[str, str]]:
    """The parts of this report, as its list of contents names them."""
    parts = [
        ("tested", say("What was tested and how")),
        ("cautions", say("Cautions")),
        *((key, heading) for key, (heading, _says) in SECTIONS.items()),
        ("runs", say("Every run")),
        ("method", say("Method")),
        ("data", say("Data, and how to compute this again")),
    ]
    shown = {key for key in ("growth", "price") if drawn[key]} | ({"why"} if why else set())
    listed = [(key, name) for key, name in parts if key not in ("growth", "price", "why") or key in shown]
    listed = [each for each in listed if each[0] not in {panel.key for panel in panels} | {"tools"}]
    after = [key for key, _ in listed].index("found") + 1
    return [*listed[:after], *((each.key, each.heading) for each in panels), *listed[after:]]


def _made_by(report: Report) -> list[tuple[str, str]]:
    rows = [
        (say("Program"), f"strikeproof {report.version}"),
        (say("Made"), report.made),
    ]
    return rows if report.seed is None else [*rows, (say("Seed of the random numbers"), str(report.seed))]


def _data_files(report: Report) -> Iterator[dict[str, str]]:
    """The small tables as files within the page."""
    with speaking("en", decimal_comma=comma_in_files()):  # units and codes, the same in every language
        tables = page_tables(report)
    for table in tables:
        says = say("CSV, {rows}", rows=say_many("{count} row", "{count} rows", len(table.rows)))
        yield _data_file(f"{table.name}.csv", retold(table.title), says, "text/csv", write_csv(table))
    yield _data_file("results.json", say("All of these"), "JSON", "application/json", write_json(*tables))


def _data_file(file: str, title: str, says: str, media: str, content: str) -> dict[str, str]:
    packed = base64.b64encode(content.encode()).decode()
    return {
        "file": file,
        "title": title,
        "says": says,
        "address": f"data:{media};charset=utf-8;base64,{packed}",
    }


def _extra(report: Report, field: str, same_kind: tuple[str, ...]) -> bool:
    """Whether a second reading of the score is known and says more than the score itself."""
    return report.unit not in same_kind and any(getattr(run, field) is not None for run in report.runs)
