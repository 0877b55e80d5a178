import re
from dataclasses import replace
from functools import cache
from pathlib import Path
from xml.etree import ElementTree

import numpy as np
import pytest
from matplotlib.figure import Figure
from tests.unit.publish.explain.sample import sample_why
from tests.unit.publish.sample import sample_report

from strikeproof.errors import BadInput
from strikeproof.publish.charts.run_order import drift_line
from strikeproof.publish.drawing import NARROW, WIDE, Chart, Sheet, render_png, render_svg, themed
from strikeproof.publish.explain import why_charts
from strikeproof.publish.gallery import SECTIONS, chart_heading, draw_charts, find_charts, write_charts
from strikeproof.publish.labels import Box, place_labels

NAMES = ["gain", "tools", "growth-air-a", "growth-oil-b", "run-order", "calibration", "price"]
CHARTS = {chart.name: chart for chart in find_charts(sample_report())}


@cache
def svg_of(name: str, sheet: Sheet) -> str:
    return render_svg(CHARTS[name], sheet)


def test_every_kind_of_chart_is_there() -> None:
    assert list(CHARTS) == NAMES


EVERY = {**CHARTS, **{chart.name: chart for chart in why_charts(sample_why())}}


@pytest.mark.parametrize("chart", EVERY.values(), ids=EVERY.keys())
def test_every_chart_has_a_section_words_and_its_numbers(chart: Chart) -> None:
    assert chart.section in SECTIONS and chart.title and chart.says
    head, *rows = (tuple(row) for row in chart.rows())
    assert rows and all(isinstance(each, str) and each for each in head)
    assert {len(row) for row in rows} == {len(head)}


@pytest.mark.parametrize("name", NAMES)
def test_a_chart_is_the_same_bytes_every_time(name: str) -> None:
    assert render_svg(CHARTS[name]) == svg_of(name, WIDE)


def test_a_picture_is_the_same_bytes_every_time() -> None:
    assert render_png(CHARTS["gain"]) == render_png(CHARTS["gain"])
    assert render_png(CHARTS["gain"]).startswith(b"\x89PNG")


@pytest.mark.parametrize("sheet", [WIDE, NARROW], ids=["wide", "narrow"])
@pytest.mark.parametrize("name", NAMES)
def test_no_raw_colour_is_left_in_a_themed_chart(name: str, sheet: Sheet) -> None:
    drawn = themed(svg_of(name, sheet))
    assert "var(--ink)" in drawn
    assert not re.search(r"#[0-9a-fA-F]{3,8}(?=[;\"' ])", re.sub(r'(href="|url\()#[^")]*', "", drawn))
    assert not re.search(r"(fill|stroke): (?!none|var\()", drawn)
    assert "http" not in drawn


@pytest.mark.parametrize("name", NAMES)
def test_every_letter_has_a_themed_colour(name: str) -> None:
    for style in re.findall(r'<text style="([^"]*)"', themed(svg_of(name, WIDE))):
        assert "fill: var(--ink)" in style


@pytest.mark.parametrize("name", NAMES)
def test_a_chart_file_is_well_formed_and_without_a_date(name: str) -> None:
    svg = svg_of(name, WIDE)
    ElementTree.fromstring(svg)
    assert "<dc:date>" not in svg


@pytest.mark.parametrize("sheet", [WIDE, NARROW], ids=["wide", "narrow"])
@pytest.mark.parametrize("name", NAMES)
def test_every_axis_names_its_unit(name: str, sheet: Sheet) -> None:
    """Each panel has its labels, or the figure has one for all; a panel of named rows needs none upright."""
    figure = Figure()
    CHARTS[name].draw(figure, sheet)
    for axes in figure.axes:
        if not axes.axison:
            continue
        across = axes.get_xlabel() or figure.get_supxlabel() or figure.axes[-1].get_xlabel()
        upright = axes.get_ylabel() or figure.get_supylabel()
        assert re.search(r"\(.+\)", across), across
        assert name in ("gain", "tools") or re.search(r"\(.+\)", upright), upright


def test_set_aside_runs_stay_on_the_charts_hollow() -> None:
    figure = Figure()
    CHARTS["run-order"].draw(figure, WIDE)
    rings = [line for line in figure.axes[0].lines if line.get_label() == "excluded"]
    aside = [run for run in sample_report().runs if run.row.set_aside is not None and run.row.tool == "air-a"]
    assert [len(line.get_xdata()) for line in rings] == [len(aside)] == [1]
    assert rings[0].get_markerfacecolor() == "none"


def test_the_gain_chart_shows_the_intervals_that_were_judged() -> None:
    figure = Figure()
    CHARTS["gain"].draw(figure, WIDE)
    ends = [
        tuple(line.get_xdata())
        for axes in figure.axes
        for line in axes.lines
        if len(line.get_xdata()) == 2 and line.get_linewidth() == 2.2
    ]
    judged = [
        (each.low_percent, each.high_percent)
        for each in sample_report().comparison.results
        if each.verdict != "reference"
    ]
    assert np.array(sorted(ends)) == pytest.approx(np.array(sorted(judged)))


def test_the_drift_line_passes_the_centre_and_has_the_stated_slope() -> None:
    rig = sample_report().comparison.controls[0]
    (first, low), *_, (last, high) = drift_line(rig)
    assert (high / low) ** (1 / (last - first)) - 1 == pytest.approx((rig.drift_percent_per_run or 0) / 100)
    assert np.sqrt(low * high) == pytest.approx(rig.centre, rel=1e-3)


def test_names_with_markup_signs_and_dollars_are_drawn_as_they_are() -> None:
    report = sample_report()
    name = "a<b & $c$"
    runs = tuple(
        replace(run, row=replace(run.row, article=name)) if run.row.article == "deep-24" else run
        for run in report.runs
    )
    charts = {chart.name: chart for chart in find_charts(replace(report, runs=runs))}
    drawn = render_svg(charts["growth-air-a"])
    assert "a&lt;b &amp; $c$" in drawn


def test_a_name_that_the_picture_face_lacks_raises_no_warning() -> None:
    chart = Chart("odd", "x", "x", "x", lambda _: 60, lambda figure, _: figure.suptitle("套筒") and None)
    assert "套筒" in render_svg(chart)
    assert render_png(chart)


def test_charts_without_data_are_left_out() -> None:
    report = sample_report()
    bare = tuple(replace(run, growth_time=np.empty(0), growth_level=np.empty(0)) for run in report.runs)
    left = find_charts(replace(report, runs=bare, calibration=None))
    assert [chart.name for chart in left] == ["gain", "tools", "run-order", "price"]


def test_an_article_whose_gain_nothing_bounds_is_in_the_price_chart() -> None:
    """None of its runs reached the level: only one end of its interval is known."""
    report = sample_report()
    (chosen, *_rest) = [
        each for each in report.comparison.results if each.verdict != "reference" and each.price
    ]
    late = replace(chosen, gain_percent=None, low_percent=None, high_percent=-12.0, verdict="later")
    results = tuple(late if each is chosen else each for each in report.comparison.results)
    charts = find_charts(replace(report, comparison=replace(report.comparison, results=results)))
    drawn = render_svg(next(chart for chart in charts if chart.name == "price"))
    assert drawn.count(late.article) >= svg_of("price", WIDE).count(late.article) > 0


def test_charts_are_written_as_svg_and_png(tmp_path: Path) -> None:
    report = replace(sample_report(), calibration=None)
    bare = tuple(replace(run, growth_time=np.empty(0), growth_level=np.empty(0)) for run in report.runs)
    report = replace(report, runs=bare)
    written = write_charts(report, tmp_path / "new" / "charts")
    assert {path.name for path in written} == set(draw_charts(report))
    assert all(path.stat().st_size > 1000 for path in written)


def test_a_picture_of_simulated_runs_says_so_without_its_page() -> None:
    chart = CHARTS["gain"]
    bare = replace(sample_report(), calibration=None, runs=sample_report().runs[:0])
    assert draw_charts(bare) == {}
    real = replace(sample_report(), campaign=replace(sample_report().campaign, simulated=False))
    assert (
        "SIMULATED" in chart_heading(sample_report(), chart)[1]
        and "SIMULATED" not in chart_heading(real, chart)[1]
    )
    assert "SIMULATED runs: 24 mm" in render_svg(chart, heading=chart_heading(sample_report(), chart))


def test_a_folder_that_cannot_be_made_is_told(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("x")
    with pytest.raises(BadInput, match="charts cannot be written"):
        write_charts(sample_report(), tmp_path / "file")


def test_labels_hide_neither_each_other_nor_a_point() -> None:
    rng = np.random.default_rng(3)
    points = [(float(x), float(y)) for x, y in rng.uniform(40, (360, 260), (10, 2))]
    points += [(200.0, 150.0), (204.0, 152.0)]
    marks = [Box(x - 5, y - 5, x + 5, y + 5) for x, y in points]
    spots = place_labels(points, [(60.0, 14.0)] * len(points), marks, Box(0, 0, 400, 300))
    boxes = [spot.box for spot in spots]
    assert all(one.shared(other) == 0 for place, one in enumerate(boxes) for other in boxes[:place])
    assert all(box.shared(mark) == 0 for box in boxes for mark in marks)
    assert all(box.outside(Box(0, 0, 400, 300)) == pytest.approx(0) for box in boxes)


def test_a_lone_label_stands_right_of_its_point() -> None:
    (spot,) = place_labels([(50.0, 50.0)], [(40.0, 12.0)], [], Box(0, 0, 200, 100))
    assert spot.side == 1 and spot.across > 0 and spot.up == 0 and spot.box.left > 50
