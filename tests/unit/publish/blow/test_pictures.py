from __future__ import annotations

import io
import itertools
import re
import warnings
from dataclasses import replace
from xml.etree import ElementTree

import matplotlib as mpl
import numpy as np
import pytest
from matplotlib.axes._base import _AxesBase
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from PIL import Image
from tests.unit.publish.blow.bench import CASES, case

from strikeproof.drivetrain import Optimum, find_optimum
from strikeproof.errors import BadInput
from strikeproof.publish.blow import (
    Grown,
    SweptScore,
    energy_chart,
    growth_chart,
    picture_png,
    picture_svg,
    slow_motion_chart,
    swept_chart,
)
from strikeproof.publish.blow.growth import growth_curve
from strikeproof.publish.blow.heading import head_lines
from strikeproof.publish.blow.slow_motion import _bars
from strikeproof.publish.blow.strokes import spread, strokes_of_bodies
from strikeproof.publish.blow.swept import _number
from strikeproof.publish.colours import COLOURS
from strikeproof.publish.drawing import NARROW, WIDE, Chart, Sheet, _drawn, _style, themed

SHEETS = pytest.mark.parametrize("sheet", [WIDE, NARROW], ids=["wide", "narrow"])


def swept(**changes) -> SweptScore:
    values = tuple(np.geomspace(2e-5, 2e-3, 30))
    scores = tuple(3e5 + 1e5 * np.exp(-(np.log(np.array(values) / 6e-4) ** 2)))
    torques = tuple(3.1e-3 * np.array(scores))
    beyond = tuple(score > 3.9e5 for score in scores)
    given = {"start": 6e-5, "optimum": find_optimum(values, scores), **changes}
    return SweptScore("article polar inertia", "kg·m²", values, scores, torques, beyond, **given)


def charts() -> dict[str, Chart]:
    plain = case()
    runs = [Grown(name, case(name).chain, case(name).run) for name in ("plain", "cam", "extension")]
    found = {
        "growth": growth_chart(runs[:1], marked=8),
        "several": growth_chart(runs),
        "sweep": swept_chart(swept()),
        "sweep at its end": swept_chart(swept(optimum=Optimum(2e-3, 4e5, True), start=1.0)),
    }
    for name in CASES:
        found[f"blow {name}"] = slow_motion_chart(case(name).story)
        found[f"energy {name}"] = energy_chart(case(name).ledger, case(name).story.contacts)
    assert plain.story.events
    return found


CHARTS = charts()
ALL = pytest.mark.parametrize("name", list(CHARTS))


def boxes(chart: Chart, sheet: Sheet) -> tuple[list[tuple[str, object]], tuple[float, float]]:
    """Every text that is seen, with its box in pixels, and the size of the picture."""
    with _style(chart, sheet), warnings.catch_warnings():
        figure = _drawn(chart, sheet, head_lines(chart, "air wrench, ring socket", sheet))
        canvas = FigureCanvasAgg(figure)
        canvas.draw()
        unseen = _never_drawn(figure)
        texts = [
            text for text in figure.findobj(mpl.text.Text) if text.get_visible() and text.get_text().strip()
        ]
        shown = [(text.get_text(), text.get_window_extent()) for text in texts if id(text) not in unseen]
        return shown, canvas.get_width_height()


def _never_drawn(figure: Figure) -> set[int]:
    """Labels that the library keeps for ticks outside the limits, or for axes that are off."""
    found: set[int] = set()
    for axes in figure.findobj(_AxesBase):
        for axis, (low, high) in ((axes.xaxis, axes.get_xlim()), (axes.yaxis, axes.get_ylim())):
            room = 1e-6 * abs(high - low)
            for tick in [*axis.get_major_ticks(), *axis.get_minor_ticks()]:
                inside = min(low, high) - room <= tick.get_loc() <= max(low, high) + room
                if not inside or not axes.axison:
                    found |= {id(tick.label1), id(tick.label2)}
    return found


@SHEETS
@ALL
def test_no_word_hides_another_or_leaves_the_picture(name, sheet):
    shown, (width, height) = boxes(CHARTS[name], sheet)
    inside = [(text, box) for text, box in shown if box.width > 0]
    for text, box in inside:
        assert box.x0 >= -1.5 and box.x1 <= width + 1.5, text
        assert box.y0 >= -1.5 and box.y1 <= height + 1.5, text
    for (one, first), (two, second) in itertools.combinations(inside, 2):
        across = min(first.x1, second.x1) - max(first.x0, second.x0)
        up = min(first.y1, second.y1) - max(first.y0, second.y0)
        assert across < 1.5 or up < 0.45 * min(first.height, second.height), (one, two)


@SHEETS
@ALL
def test_a_picture_says_that_it_is_simulated_on_itself(name, sheet):
    svg = picture_svg(CHARTS[name], "air wrench, ring socket", sheet)
    assert "SIMULATED: air wrench" in svg and "simulated" in svg.lower().replace("simulated: air", "")
    ElementTree.fromstring(svg)


@ALL
def test_every_colour_has_its_dark_twin(name):
    svg = picture_svg(CHARTS[name], "air wrench")
    used = set(re.findall(r"(?:fill|stroke): (#[0-9a-f]{6})", svg.split("</style>", 1)[1]))
    assert used <= {colour.light for colour in COLOURS.values()}
    for colour in used:
        assert f'[style*="fill: {colour}"]' in svg
    drawn = themed(svg)
    assert not re.search(r"(?:fill|stroke): #", drawn.split("</style>", 1)[1])


@ALL
def test_pictures_are_the_same_bytes_every_time(name):
    assert picture_svg(CHARTS[name], "a") == picture_svg(CHARTS[name], "a")


def test_a_png_is_a_picture_twice_as_wide_as_its_sheet():
    for sheet in (WIDE, NARROW):
        picture = Image.open(io.BytesIO(picture_png(CHARTS["growth"], "a", sheet)))
        assert picture.width == 2 * sheet.width


@ALL
def test_axes_name_their_units(name):
    figure = Figure()
    CHARTS[name].draw(figure, WIDE)
    seen = [axes for axes in figure.axes if axes.axison and axes.get_ylabel()]
    assert name.startswith("energy") or seen
    for axes in seen:
        assert re.search(r"\(.+\)", axes.get_ylabel())
    for axes in figure.axes:
        if axes.axison and axes.get_xlabel():
            assert re.search(r"\(.+\)", axes.get_xlabel())


def test_the_growth_curve_is_the_run_s():
    run = case().run
    figure = Figure()
    CHARTS["growth"].draw(figure, WIDE)
    time, load = figure.axes[0].lines[0].get_data()
    assert np.array_equal(time, np.append(0.0, run.time))
    assert load[[0, -1]] == pytest.approx([run.start_load / 1e3, run.clamp_load[-1] / 1e3], rel=1e-12)
    assert growth_curve(run)[1].size == run.time.size + 1
    with pytest.raises(BadInput, match="no run"):
        growth_chart([])


def test_the_torque_axis_is_the_chain_s_factor():
    one = case()
    figure = Figure()
    FigureCanvasAgg(figure)
    CHARTS["growth"].draw(figure, WIDE)
    figure.canvas.draw()
    axes = figure.axes[0]
    (other,) = axes.child_axes
    top = axes.get_ylim()[1]
    assert other.get_ylim()[1] == pytest.approx(1e3 * top * one.chain.torque_per_load)


def test_bars_torques_and_load_come_from_the_record():
    one = case()
    figure = Figure()
    CHARTS["blow plain"].draw(figure, WIDE)
    angles, bars, torques, load, _words = figure.axes
    assert np.array_equal(angles.lines[-1].get_xdata(), [1.012, 1.045]) or angles.lines
    curves = [line for line in torques.lines if len(line.get_xdata()) == one.story.time.size]
    for place, curve in enumerate(curves[: len(one.story.contacts)]):
        assert np.array_equal(curve.get_ydata(), one.blow.motion.torques[:, place])
    assert np.array_equal(curves[-1].get_ydata(), one.story.needed)
    (clamp,) = [line for line in load.lines if len(line.get_xdata()) == one.story.time.size]
    assert clamp.get_ydata() == pytest.approx(one.blow.motion.clamp_load / 1e3)
    lengths = [patch.get_width() for patch in bars.patches]
    assert sum(lengths) == pytest.approx(one.story.end * len(_bars(one.story)))


def test_every_state_differs_without_colour():
    """Filled, hatched or empty: the face tells, whatever the hue."""
    from strikeproof.publish.blow.slow_motion import _FACES

    faces = {(face["facecolor"] != COLOURS["paper"].light, face.get("hatch")) for face in _FACES.values()}
    assert len(faces) == len(_FACES)


def test_strokes_of_a_chain_differ_by_more_than_colour():
    names = [
        "hammer",
        "anvil",
        "extension 1",
        "extension 2",
        "extension 3",
        "article",
        "ring",
        "head",
        "thread",
    ]
    strokes = strokes_of_bodies(names)
    assert len({(stroke.role, stroke.dashes) for stroke in strokes}) == len(names)


def test_the_sweep_marks_best_and_start_at_their_values():
    found = swept()
    figure = Figure()
    swept_chart(found).draw(figure, WIDE)
    axes = figure.axes[0]
    assert axes.get_xscale() == "log"
    at = {line.get_marker(): line for line in axes.lines if line.get_marker() in ("D", "o")}
    (best,) = [line for line in axes.lines if line.get_marker() == "D"]
    assert float(best.get_xdata()[0]) == found.optimum.value
    assert float(best.get_ydata()[0]) == found.optimum.score / 1e3
    rings = [line for line in axes.lines if line.get_markersize() == 11]
    assert float(rings[0].get_xdata()[0]) == 6e-5 and at
    assert float(rings[0].get_ydata()[0]) == pytest.approx(found.score_at(6e-5) / 1e3)
    gain = 100 * (found.optimum.score / found.score_at(6e-5) - 1)
    assert f"+{gain:.3g}"[:4] in axes.get_title(loc="left")
    hollow = [line for line in axes.lines if line.get_markerfacecolor() == COLOURS["paper"].light]
    assert len(hollow[0].get_xdata()) == sum(found.beyond)


def test_a_best_beyond_a_limit_is_a_stop_and_the_best_within_is_marked():
    found = swept()
    assert found.overstressed and found.best_within is not None
    within = max(score for score, passed in zip(found.scores, found.beyond, strict=True) if not passed)
    assert found.best_within[1] == within
    figure = Figure()
    swept_chart(found).draw(figure, WIDE)
    axes = figure.axes[0]
    title = axes.get_title(loc="left")
    assert "Stop:" in title and f"best within the limits {within / 1e3:.1f} kN" in title
    (mark,) = [line for line in axes.lines if line.get_marker() == "s"]
    assert float(mark.get_ydata()[0]) == within / 1e3
    nowhere = replace(found, beyond=(True,) * len(found.values))
    assert nowhere.best_within is None
    safe = replace(found, beyond=(False,) * len(found.values))
    assert not safe.overstressed and "limit" not in swept_chart(safe).says


def test_the_score_between_points_is_read_on_the_axis_of_the_picture():
    found = swept()
    middle = float(np.sqrt(found.values[3] * found.values[4]))
    assert found.score_at(middle) == pytest.approx((found.scores[3] + found.scores[4]) / 2)
    assert found.score_at(1.0) is None


def test_a_short_range_is_drawn_evenly_and_outside_starts_are_told():
    values = (1.0, 1.5, 2.0)
    plain = SweptScore(
        "x", "", values, (1e3, 2e3, 1e3), (3.0, 6.0, 3.0), (False,) * 3, Optimum(1.5, 2e3, False), 9.0
    )
    figure = Figure()
    swept_chart(plain).draw(figure, WIDE)
    assert figure.axes[0].get_xscale() == "linear"
    assert "outside the sweep" in figure.axes[0].get_title(loc="left")


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (3.2e-4, "3.2·10⁻⁴"),
        (1e-4, "10⁻⁴"),
        (0.25, "0.25"),
        (1200.0, "1200"),
        (2e6, "2·10⁶"),
        (0.0, "0"),
        (-2.0, "−2"),
    ],
)
def test_numbers_are_written_for_people(value, text):
    assert _number(value) == text


def test_places_are_spread_apart_in_order():
    rng = np.random.default_rng(5)
    for _ in range(50):
        places = rng.uniform(0, 1, 8)
        moved = spread(list(places), 0.1, 0.0, 1.0)
        order = np.argsort(places)
        assert np.all(np.diff(np.array(moved)[order]) >= 0.1 - 1e-9)
        assert min(moved) >= -1e-9 and max(moved) <= 1 + 1e-9
    assert spread([], 1.0, 0.0, 1.0) == []
