"""From a chart to SVG and PNG, always the same bytes for the same data.

Figures are made without the plotting shell, so no figure is stored behind the caller's back. In the
page one drawing serves light and dark: each colour becomes a style variable of its role.
"""

from __future__ import annotations

import io
import re
import warnings
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Any, TypeAlias

import matplotlib as mpl
from matplotlib.axes import Axes
from matplotlib.figure import Figure, FigureBase
from matplotlib.ticker import ScalarFormatter

from strikeproof.language import mark_decimals
from strikeproof.publish.colours import COLOURS, light

__all__ = ["NARROW", "WIDE", "Chart", "Rows", "Sheet", "finish_axes", "render_png", "render_svg", "themed"]


Rows: TypeAlias = Iterable[Sequence[object]]
"""As a CSV file has them."""


@dataclass(frozen=True, slots=True)
class Sheet:
    """What a chart is drawn on: width in pixels and the size of its letters."""

    name: str
    width: int
    letters: float
    points: int
    """Most points that a curve needs at this width."""

    @property
    def narrow(self) -> bool:
        """Whether it is held in one hand."""
        return self.width < 500


WIDE = Sheet("wide", 860, 13.0, 72)
NARROW = Sheet("narrow", 328, 12.0, 40)


@dataclass(frozen=True, slots=True)
class Chart:
    """One chart: a file name, a title, what it shows in words, and how to draw it on a sheet.

    `section` is where the page has it, a key of `gallery.SECTIONS`. `draw` fills a figure; `height` says how
    many pixels it needs on a sheet. `key` explains its lines where there is no page around it. `rows` are
    the numbers behind it, a head first.
    """

    name: str
    section: str
    title: str
    says: str
    height: Callable[[Sheet], int]
    draw: Callable[[FigureBase, Sheet], None]
    key: str = ""
    rows: Callable[[], Rows] = tuple


def render_svg(chart: Chart, sheet: Sheet = WIDE, *, heading: tuple[str, ...] = ()) -> str:
    """The chart as an SVG document in light colours, below lines that say what it is and whose."""
    text = io.StringIO()
    with _style(chart, sheet):
        figure = _drawn(chart, sheet, heading)
        figure.savefig(text, format="svg", metadata={"Date": None, "Creator": None})
    return _own_ids(text.getvalue(), f"{chart.name}-{sheet.name}")


def render_png(
    chart: Chart, sheet: Sheet = WIDE, *, heading: tuple[str, ...] = (), scale: float = 2.0
) -> bytes:
    """The chart as a PNG picture of `scale` times the page's resolution, in light colours."""
    raw = io.BytesIO()
    with _style(chart, sheet):
        figure = _drawn(chart, sheet, heading)
        figure.savefig(raw, format="png", dpi=72 * scale, metadata={"Software": None})
    return raw.getvalue()


def themed(svg: str) -> str:
    """The bare `<svg>` element of a drawing, with style variables in place of colours.

    The title is the caller's to give; declarations, metadata and fixed sizes are dropped so that
    the element can stand inside a page and take the width it is given.
    """
    body = svg[svg.index("<svg") :]
    body = re.sub(r"<metadata>.*?</metadata>\s*", "", body, flags=re.DOTALL)
    body = re.sub(r'(<svg[^>]*?) width="[^"]*"', r"\1", body, count=1)
    body = re.sub(r'(<svg[^>]*?) height="[^"]*"', r"\1", body, count=1)
    body = re.sub(r' xmlns(:xlink)?="[^"]*"', "", body)
    for colour in COLOURS.values():
        body = body.replace(colour.light, f"var(--{colour.role})")
    body = re.sub(r"font-family: [^;\"]*", "font-family: inherit", body)
    body = re.sub(r"font: ([\d.]+px) [^;\"]*", r"font: \1 inherit", body)
    return re.sub(r"\s*\n\s*", "\n", body).strip()


def finish_axes(axes: Axes, *, x: str | None = None, y: str | None = None) -> None:
    """Name the axes and leave only the lines that carry something."""
    if x is not None:
        axes.set_xlabel(x)
    if y is not None:
        axes.set_ylabel(y)
    for axis in (axes.xaxis, axes.yaxis):
        if type(axis.get_major_formatter()) is ScalarFormatter:
            axis.set_major_formatter(_Figures())
    axes.spines[["top", "right"]].set_visible(False)
    axes.set_axisbelow(True)


class _Figures(ScalarFormatter):
    """The usual numbers of an axis, with the decimal mark of the language."""

    def __call__(self, x: float, pos: int | None = None) -> str:
        return mark_decimals(super().__call__(x, pos))


@contextmanager
def _style(chart: Chart, sheet: Sheet) -> Iterator[None]:
    salt = f"{chart.name}-{sheet.name}"
    chosen = {**_STYLE, "font.size": sheet.letters, "svg.hashsalt": salt}
    with mpl.rc_context(chosen), warnings.catch_warnings():
        # A letter the picture's face lacks becomes a box there; in the page it is still the letter.
        warnings.filterwarnings("ignore", message="Glyph .* missing from font")
        yield


def _drawn(chart: Chart, sheet: Sheet, heading: tuple[str, ...]) -> Figure:
    inch, line = 72.0, 1.5 * sheet.letters
    above, below = line * len(heading) + 6, chart.height(sheet)
    total = above + below if heading else below
    figure = Figure(figsize=(sheet.width / inch, total / inch), dpi=inch, layout="constrained")
    pads = figure.get_layout_engine()
    if pads is not None:
        pads.set(w_pad=0.03, h_pad=0.04, wspace=0.03)  # type: ignore[call-arg]  # the stub knows only the base
    if not heading:
        chart.draw(figure, sheet)
        _mark_ticks(figure)
        return figure
    top, bottom = figure.subfigures(2, 1, height_ratios=(above, below), squeeze=False)[:, 0]
    for place, text in enumerate(heading):
        weight = "normal" if place else "bold"
        top.text(0.005, 1 - (place * line + 4) / above, text, va="top", fontweight=weight)
    chart.draw(bottom, sheet)
    _mark_ticks(figure)
    return figure


def _mark_ticks(figure: Figure) -> None:
    """Write the numbers along the axes with the decimal mark of the language that is spoken."""
    if mark_decimals(".") == ".":
        return
    for axes in figure.axes:
        for axis in (axes.xaxis, axes.yaxis):
            if type(axis.get_major_formatter()) is ScalarFormatter:
                axis.set_major_formatter(_Ticks())


class _Ticks(ScalarFormatter):
    def __call__(self, x: float, pos: int | None = None) -> str:
        return mark_decimals(super().__call__(x, pos))


def _own_ids(svg: str, prefix: str) -> str:
    """Ids that nothing refers to go; the rest get the chart's name, so that charts share a page."""
    used = set(re.findall(r'(?:url\(#|href="#)([^")]+)', svg))
    svg = re.sub(r' id="([^"]+)"', lambda m: f' id="{prefix}-{m[1]}"' if m[1] in used else "", svg)
    return re.sub(r'(url\(#|href="#)([^")]+)', rf"\g<1>{prefix}-\g<2>", svg)


_STYLE: dict[Any, Any] = {
    "font.family": ["DejaVu Sans"],
    "svg.fonttype": "none",  # letters stay letters: small, searchable, in the page's own face
    "text.color": light("ink"),
    "axes.edgecolor": light("soft"),
    "axes.labelcolor": light("ink"),
    "axes.facecolor": "none",
    "axes.linewidth": 0.8,
    "axes.titlesize": "medium",
    "axes.titlelocation": "left",
    "text.parse_math": False,  # a dollar sign in a name is a dollar sign
    "axes.titlecolor": light("ink"),
    "axes.labelsize": "medium",
    "axes.grid": True,
    "axes.unicode_minus": True,
    "grid.color": light("rule"),
    "grid.linewidth": 0.6,
    "xtick.color": light("soft"),
    "ytick.color": light("soft"),
    "xtick.labelcolor": light("ink"),
    "ytick.labelcolor": light("ink"),
    "xtick.major.size": 0,
    "ytick.major.size": 0,
    "figure.facecolor": light("paper"),
    "savefig.facecolor": light("paper"),
    "figure.edgecolor": light("paper"),
    "savefig.edgecolor": light("paper"),
    "patch.linewidth": 0,
    "legend.frameon": False,
    "path.simplify": True,
}
