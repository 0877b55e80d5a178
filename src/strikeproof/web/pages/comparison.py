"""What was found: the rig first, then verdicts in plain words, the tables and the charts."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import partial
from html import escape

from strikeproof.desk.publishing.views import (
    AnswerPanel,
    AnswerRows,
    ChartSection,
    ComparisonView,
    Mark,
    ToolResults,
)
from strikeproof.desk.runs.run_list import campaign_state
from strikeproof.web.drawings import show_drawing, sign_markup
from strikeproof.web.elements import (
    Cell,
    Drawn,
    button,
    field,
    html,
    notes,
    on_value,
    section,
    table,
    tag,
    tied,
)
from strikeproof.web.frame import View, nothing_yet, page
from strikeproof.web.site import Site
from strikeproof.web.tasks import ASK, COMPARE
from strikeproof.web.working import fill, working

__all__ = ["register"]

_MANY = 12  # rows of a table that is closed at first
_RESULTS = "found"  # the section of the charts that stand with the results


def register(site: Site) -> None:
    """Make the page's route."""

    @page(site, "/comparison", "Comparison")
    async def comparison(view: View) -> None:
        if view.campaign is None:
            nothing_yet(view, "Nothing to compare yet", "Load a campaign folder, or record runs at the rig.")
            return
        await fill(
            "Comparing",
            lambda found: _show(view, found),
            COMPARE,
            site.workspace,
            view.campaign,
            view.units.mapping,
            state=campaign_state(site.workspace, view.campaign),
        )


def _show(view: View, found: ComparisonView) -> None:
    notes(found.alarms, "Read this before the results")
    if found.uncalibrated:
        notes([found.uncalibrated], "Only ratios")
    for text in found.summary:
        tag("p", text, "lead")
    if not found.alarms:
        for text in found.rig:
            tag("p", text, "quiet")
    with section("What was found"):
        for each in found.tools:
            _say(each)
        if _RESULTS in found.charts:
            for drawing in found.charts[_RESULTS].drawings:
                show_drawing(view, drawing)
        for each in found.tools:
            _results(found, each)
        _set_aside(found)
    for panel in found.answers:
        with section(panel.heading):
            show_panel(panel, partial(_draw, view, found.charts.get(panel.key)))
    with section("Ask your own"):
        _ask(view)
    _rest(view, found)


def _say(results: ToolResults) -> None:
    if not results.said:
        return
    tag("h3", f"With {results.tool}")
    _sentences(results.said)


def _sentences(said: Sequence[tuple[Mark, str]]) -> None:
    if said:
        items = (f"<li>{_sign(mark)}<span>{escape(tied(text))}</span></li>" for mark, text in said)
        html("".join(items), "ul", "says")


def _results(found: ComparisonView, results: ToolResults) -> None:
    table(
        results.heads,
        [_row(mark, cells) for mark, cells in results.rows],
        caption=f"Results with {results.tool}, gains over {found.reference}",
        numbers=range(2, len(results.heads)),
    )


def show_panel(panel: AnswerPanel, draw: Callable[[], None] | None = None) -> None:
    """Sentences, charts, tables and small print of an answer; a long table is closed at first."""
    _sentences(panel.said)
    if draw is not None:
        draw()
    for each in panel.tables:
        if len(each.rows) > _MANY:
            with tag("details", classes="more"):
                tag("summary", f"Show {len(each.rows)} rows: {each.caption}")
                _answer_table(each)
        else:
            _answer_table(each)
    for text in panel.notes:
        tag("p", text, "quiet")


def _answer_table(rows: AnswerRows) -> None:
    table(
        rows.heads,
        [
            [
                _verdict(mark, cell[0]) if place == rows.verdict else _lines(*cell)
                for place, cell in enumerate(cells)
            ]
            for mark, cells in rows.rows
        ],
        caption=rows.caption,
        numbers=range(rows.verdict + 1, len(rows.heads)),
    )


def _ask(view: View) -> None:
    """A difference as a person writes it, and a place for its answer."""
    tag(
        "p",
        "Write a difference between articles with +, - and mean(...): it is judged with every tool that ran "
        "all of them.",
        "quiet",
    )
    asked = {"text": ""}
    typed = field("Difference", hint="such as mean(ring-27, ring-33) - plain; names with spaces in quotes")
    on_value(typed, lambda text: asked.update(text=text), "input", wait_s=0.2)

    async def answer() -> None:
        await working(
            place, "Working it out", show_panel, ASK, view.site.workspace, asked["text"], view.campaign
        )

    button("Work it out", answer)
    place = tag("div", classes="place", role="status")


def _row(mark: Mark, cells: Sequence[tuple[str, ...]]) -> list[Cell]:
    (article,), (word,), *rest = cells
    return [article, _verdict(mark, word), *(_lines(*each) for each in rest)]


def _verdict(mark: Mark, word: str) -> Drawn:
    return Drawn(f'<span class="verdict v-{mark.role}">{_sign(mark)} {escape(word)}</span>')


def _lines(first: str, *below: str) -> Cell:
    small = "".join(f"<small>{escape(tied(each))}</small>" for each in below)
    return Drawn(f"{escape(tied(first))}{small}") if below else first


def _sign(mark: Mark) -> str:
    return sign_markup(mark.role, mark.path, hollow=mark.hollow)


def _set_aside(found: ComparisonView) -> None:
    if not found.set_aside:
        return
    tag("h3", "Without and with the excluded runs")
    table(
        ("Article", "Tool", "Gain without them", "Gain with them"),
        [(each["article"], each["tool"], each["without"], each["with"]) for each in found.set_aside],
        caption="Gains without and with the excluded runs",
    )


def _draw(view: View, charts: ChartSection | None) -> None:
    for drawing in charts.drawings if charts else ():
        show_drawing(view, drawing)


def _rest(view: View, found: ComparisonView) -> None:
    shown = {_RESULTS, *(panel.key for panel in found.answers)}
    for key, each in found.charts.items():
        if key not in shown:
            with section(each.heading):
                if each.says:
                    tag("p", each.says, "quiet")
                for drawing in each.drawings:
                    show_drawing(view, drawing)
    if found.warnings:
        with section("What limits these results"):
            for text in found.warnings:
                tag("p", text)
