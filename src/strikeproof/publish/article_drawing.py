"""The drawing of an article as a file: SVG for a page, DXF for the workshop, PDF for print."""

from __future__ import annotations

import importlib
import io
import warnings
from pathlib import Path
from typing import Any, Final

import matplotlib as mpl
from matplotlib.figure import Figure
from matplotlib.patches import Polygon

from strikeproof.campaign.whole_file import write_whole
from strikeproof.errors import BadInput, StrikeproofError
from strikeproof.parts import Sheet, Stroke, Words, write_svg

__all__ = ["write_drawing", "write_dxf", "write_pdf"]

_MM_PER_INCH: Final = 25.4
_POINTS_PER_MM: Final = 72 / _MM_PER_INCH
_WIDTHS: Final = {"outline": 1.4, "thin": 0.5, "centre": 0.5, "arrow": 0.1}
_HATCHES: Final = ("////", "\\\\\\\\", "///", "\\\\\\", "xxx", "...")
_INK: Final = "#1b1b1b"


def write_drawing(sheet: Sheet, path: Path) -> None:
    """Write the drawing in the format of the file's ending: .svg, .dxf or .pdf.

    Raises
    ------
    BadInput
        If the ending is another one.
    StrikeproofError
        If a DXF is asked for and its writer is not installed, or the file cannot be written.
    """
    ending = path.suffix.lower()
    if ending == ".svg":
        content = write_svg(sheet).encode()
    elif ending == ".dxf":
        content = write_dxf(sheet).encode()
    elif ending == ".pdf":
        content = write_pdf(sheet)
    else:
        raise BadInput(
            f"{path.name!r} ends in {ending!r}",
            where="drawing",
            allowed=".svg, .dxf, .pdf",
            fix="choose one of them",
        )
    write_whole(path, content)


def write_pdf(sheet: Sheet) -> bytes:
    """One page at full size, the same bytes for the same drawing."""
    (left, bottom), (width, height) = sheet.corner, sheet.size
    raw = io.BytesIO()
    with mpl.rc_context({"pdf.fonttype": 42, "hatch.linewidth": 0.4}), warnings.catch_warnings():
        # A sign the face lacks becomes a box; the size beside it is still shown.
        warnings.filterwarnings("ignore", message="Glyph .* missing from font")
        figure = Figure(figsize=(width / _MM_PER_INCH, height / _MM_PER_INCH))
        axes = figure.add_axes((0.0, 0.0, 1.0, 1.0))
        axes.set(xlim=(left, left + width), ylim=(bottom, bottom + height))
        axes.set_axis_off()
        for stroke in sheet.strokes:
            axes.add_patch(_patch(stroke))
        for words in sheet.words:
            _say(axes, words)
        figure.savefig(raw, format="pdf", metadata={"CreationDate": None, "Title": sheet.title})
    return raw.getvalue()


def _patch(stroke: Stroke) -> Polygon:
    hatch = _HATCHES[(stroke.hatch - 1) % len(_HATCHES)] if stroke.hatch else None
    filled = stroke.style == "arrow" or stroke.hatch is not None
    return Polygon(
        stroke.points,
        closed=stroke.closed,
        fill=filled,
        facecolor=_INK if stroke.style == "arrow" else "white",
        edgecolor=_INK,
        linewidth=_WIDTHS[stroke.style],
        linestyle=(0, (16, 3, 3, 3)) if stroke.style == "centre" else "solid",
        hatch=hatch,
    )


def _say(axes: Any, words: Words) -> None:
    align = {"start": "left", "middle": "center", "end": "right"}[words.anchor]
    axes.text(
        *words.at,
        words.text,
        fontsize=words.height * _POINTS_PER_MM,
        ha=align,
        va="baseline",
        rotation=words.turned,
        rotation_mode="anchor",
        color=_INK,
    )


def _ezdxf() -> Any:
    try:
        return importlib.import_module("ezdxf")
    except ImportError as cause:
        raise StrikeproofError(
            "a DXF drawing needs the package ezdxf, which is not installed",
            "install it with `pip install ezdxf`, or write .svg or .pdf",
        ) from cause


_LAYERS: Final = {
    "outline": (7, 50),
    "thin": (8, 18),
    "centre": (1, 18),
    "arrow": (8, 18),
}  # colour, width in 0.01 mm


def write_dxf(sheet: Sheet) -> str:
    """DXF R2010 text in millimetres: a layer for outlines, thin lines, centre lines, hatches and words.

    Raises
    ------
    StrikeproofError
        If the package that writes DXF is not installed.
    """
    ezdxf = _ezdxf()
    document = ezdxf.new("R2010", setup=True, units=4)  # 4 is millimetres in $INSUNITS
    for name, (colour, width) in _LAYERS.items():
        kind = "CENTER" if name == "centre" else "CONTINUOUS"
        document.layers.add(name, color=colour, lineweight=width, linetype=kind)
    document.layers.add("hatch", color=8)
    document.layers.add("words", color=7)
    space = document.modelspace()
    for stroke in sheet.strokes:
        _add_stroke(space, stroke)
    for words in sheet.words:
        _add_words(space, words)
    text = io.StringIO()
    document.write(text)
    return text.getvalue()


def _add_stroke(space: Any, stroke: Stroke) -> None:
    space.add_lwpolyline(stroke.points, close=stroke.closed, dxfattribs={"layer": stroke.style})
    if stroke.style == "arrow":
        space.add_hatch(color=8, dxfattribs={"layer": "arrow"}).paths.add_polyline_path(
            stroke.points, is_closed=True
        )
    if stroke.hatch:
        hatch = space.add_hatch(color=8, dxfattribs={"layer": "hatch"})
        hatch.set_pattern_fill("ANSI31", scale=0.6, angle=(0, 90, 15, 105, 165, 75)[(stroke.hatch - 1) % 6])
        hatch.paths.add_polyline_path(stroke.points, is_closed=True)


def _add_words(space: Any, words: Words) -> None:
    from_enum = importlib.import_module("ezdxf.enums").TextEntityAlignment
    align = {"start": from_enum.LEFT, "middle": from_enum.CENTER, "end": from_enum.RIGHT}[words.anchor]
    text = space.add_text(
        words.text,
        height=words.height,
        rotation=words.turned,
        dxfattribs={"layer": "words", "style": "OpenSans"},
    )
    text.set_placement(words.at, align=align)
