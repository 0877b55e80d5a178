import re
from functools import cache
from xml.etree import ElementTree

import numpy as np
import pytest
from matplotlib.figure import Figure
from tests.unit.publish.explain.sample import GAINS, TOOLS, bare_why, sample_why

from strikeproof.publish.drawing import NARROW, WIDE, Sheet, render_png, render_svg, themed
from strikeproof.publish.explain import why_charts

CHARTS = {chart.name: chart for chart in why_charts(sample_why())}
NAMES = ["why-weights", "why-left-out", "why-inertia", "why-split", "why-energy", "why-blow"]
SHEETS = pytest.mark.parametrize("sheet", [WIDE, NARROW], ids=["wide", "narrow"])


@cache
def drawn(name: str, sheet: Sheet) -> str:
    return render_svg(CHARTS[name], sheet)


def test_every_kind_of_chart_is_there_under_a_name_of_its_own() -> None:
    assert list(CHARTS) == NAMES
    assert all(chart.section == "why" and chart.says and chart.key for chart in CHARTS.values())


@SHEETS
@pytest.mark.parametrize("name", NAMES)
def test_a_chart_is_well_formed_and_follows_light_and_dark(name: str, sheet: Sheet) -> None:
    ElementTree.fromstring(drawn(name, sheet))
    page = themed(drawn(name, sheet))
    assert "var(--ink)" in page and "http" not in page
    assert not re.search(r"(fill|stroke): (?!none|var\(|url\()", page)


@pytest.mark.parametrize("name", NAMES)
def test_a_chart_is_the_same_bytes_every_time(name: str) -> None:
    assert render_svg(CHARTS[name]) == drawn(name, WIDE)


def test_a_picture_can_be_made() -> None:
    assert render_png(CHARTS["why-weights"]).startswith(b"\x89PNG")


def test_every_article_is_named_with_every_tool() -> None:
    for name in ("why-left-out", "why-split"):
        assert all(drawn(name, WIDE).count(f">{article}<") == len(TOOLS) for article in GAINS)


def test_the_bars_end_where_the_foretelling_does() -> None:
    figure = Figure()
    CHARTS["why-left-out"].draw(figure, WIDE)
    ends = sorted(
        tuple(line.get_xdata()) for axes in figure.axes for line in axes.lines if line.get_lw() == 9
    )
    rows = sorted((row.low, row.high) for row in sample_why().explanation.articles)
    assert np.array(ends) == pytest.approx(np.array(rows))


def test_an_article_that_nobody_foresaw_is_marked_in_words() -> None:
    assert drawn("why-left-out", WIDE).count("not predicted") == len(TOOLS)


def test_the_parts_of_a_gain_add_up_to_the_figure_beside_them() -> None:
    figure = Figure()
    CHARTS["why-split"].draw(figure, WIDE)
    for axes, tool in zip(figure.axes, TOOLS, strict=True):
        rows = sample_why().rows(tool)
        widths = np.zeros(len(rows))
        for bar in axes.patches:
            widths[round(bar.get_y() + bar.get_height() / 2)] += bar.get_width()
        assert widths == pytest.approx([row.split.total for row in rows if row.split])


def test_articles_stand_at_their_inertia_and_measured_gain() -> None:
    figure = Figure()
    CHARTS["why-inertia"].draw(figure, WIDE)
    dots = {
        (round(float(line.get_xdata()[0]), 6), round(float(line.get_ydata()[0]), 6))
        for line in figure.axes[0].lines
        if line.get_marker() == "o"
    }
    assert dots == {(100.0, 0.0)} | {(round(1e6 * inertia, 6), gain) for inertia, gain in GAINS.values()}


def test_the_winner_among_the_rivals_has_the_accent() -> None:
    figure = Figure()
    CHARTS["why-weights"].draw(figure, WIDE)
    widths = [bar.get_width() for bar in figure.axes[0].patches]
    colours = {bar.get_width(): bar.get_facecolor() for bar in figure.axes[0].patches}
    assert widths == pytest.approx([100 * each.weight for each in sample_why().explanation.rivals])
    assert sum(colour == colours[80.0] for colour in colours.values()) == 1


def test_both_blows_are_named_on_their_charts() -> None:
    for name in ("why-energy", "why-blow"):
        assert "plain-24" in drawn(name, WIDE) and "ring-24" in drawn(name, NARROW)


def test_what_cannot_be_explained_has_no_charts() -> None:
    assert why_charts(None) == ()
    assert why_charts(bare_why("Cannot tell.")) == ()
