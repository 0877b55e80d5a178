"""The chart that a person zooms, on the page and on the wire.

A chart's `source` answers in this form: two 32-bit counts (points, curves), the points' times as 64-bit
floats, then each curve's values as 32-bit floats, all little-endian. `pack` writes it.
"""

from __future__ import annotations

import json
import struct
from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np

from strikeproof.plain_json import to_json
from strikeproof.quantity import FloatArray
from strikeproof.web.fragments import render
from strikeproof.web.look import PALETTE

__all__ = ["band", "curve", "line", "pack", "points", "span", "ticks", "trace_chart"]


def trace_chart(
    title: str,
    *,
    about: str,
    name: str,
    x: str,
    y: str,
    source: str | None = None,
    csv: str | None = None,
    data: Sequence[Sequence[float | None]] | None = None,
    curves: Sequence[Mapping[str, Any]] = (),
    overlays: Sequence[Mapping[str, Any]] = (),
    zoomable: bool = True,
    height: str = "clamp(16rem, 45vh, 34rem)",
) -> str:
    """The markup of a chart of samples that come window by window, or of curves that are given.

    It begins by itself (`assets/trace_chart.js`) on a page whose head has `chart_head.html`.

    Parameters
    ----------
    title, about
        Its caption, and what it shows, in a sentence, for who does not see it.
    name
        Of the files that it is saved as, without an ending.
    x, y
        What the axes show, with the unit.
    source
        Where to ask for a window: gets `start`, `end` and `points`, answers in the form of `pack`.
    csv
        Where to ask for every sample of the window as CSV; without it the drawn numbers are saved.
    data
        Times and one list a curve, in place of `source`; None leaves a gap.
    curves
        How each curve is drawn, from `curve`.
    overlays
        What is drawn over or under the curves, from `band`, `span`, `ticks`, `line`, `points`.
    """
    given = {
        "title": title,
        "about": about,
        "name": name,
        "x": x,
        "y": y,
        "source": source,
        "csv": csv,
        "data": data,
        "curves": curves or [{"label": y, "role": "higher"}],
        "overlays": overlays,
        "zoomable": zoomable,
        "colours": {role: pair[0] for role, pair in PALETTE.items()},
    }
    words = json.dumps(to_json({key: value for key, value in given.items() if value is not None}))
    return render("trace_chart", chart=given, words=words, height=height)


def curve(label: str, role: str = "higher", **how: Any) -> dict[str, Any]:
    """How a curve is drawn: `role` names its colour; `width`, `dash`, `points`, `stepped` as wanted."""
    return {"label": label, "role": role, **how}


def band(
    x: Sequence[float], low: Sequence[float], high: Sequence[float], role: str = "band"
) -> dict[str, Any]:
    """An area between two lines, behind the curves."""
    return {"kind": "band", "x": list(x), "low": list(low), "high": list(high), "role": role}


def span(start: float, end: float, role: str = "band") -> dict[str, Any]:
    """A stretch of time, behind the curves."""
    return {"kind": "span", "from": start, "to": end, "role": role}


def ticks(x: Sequence[float], role: str = "lower") -> dict[str, Any]:
    """Short strokes at the foot, shown once they stand apart."""
    return {"kind": "ticks", "x": list(x), "role": role}


def line(x: Sequence[float], y: Sequence[float | None], role: str = "soft", **how: Any) -> dict[str, Any]:
    """A line with times of its own; `dash` and `width` as wanted."""
    return {"kind": "line", "x": list(x), "y": list(y), "role": role, **how}


def points(x: Sequence[float], y: Sequence[float | None], role: str = "ink", **how: Any) -> dict[str, Any]:
    """Dots with times of their own; `hollow` and `size` as wanted."""
    return {"kind": "points", "x": list(x), "y": list(y), "role": role, **how}


def pack(time: FloatArray, *values: FloatArray) -> bytes:
    """A window of samples as a chart reads it.

    Parameters
    ----------
    time, values : (n,)
        Times in order, and one array a curve; NaN leaves a gap.
    """
    head = struct.pack("<II", len(time), len(values))
    return (
        head
        + np.asarray(time, "<f8").tobytes()
        + b"".join(np.asarray(each, "<f4").tobytes() for each in values)
    )
