"""A sheet as SVG text."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from strikeproof.parts.sheet import Sheet, Stroke, Style, Words
from strikeproof.plain_text import xml_text

__all__ = ["write_svg"]

_STYLES: Final[dict[Style, str]] = {
    "outline": 'stroke-width="0.5" fill="none"',
    "thin": 'stroke-width="0.2" fill="none"',
    "centre": 'stroke-width="0.2" stroke-dasharray="8 1.5 1.5 1.5" fill="none"',
    "arrow": 'stroke="none" fill="#1b1b1b"',
}
_HATCHES: Final = 6


def write_svg(sheet: Sheet) -> str:
    """One self-contained SVG document, a millimetre to a millimetre."""
    return "\n".join(_lines(sheet)) + "\n"


def _lines(sheet: Sheet) -> Iterator[str]:
    (left, bottom), (width, height) = sheet.corner, sheet.size
    top = -(bottom + height)
    box = f"{left:.2f} {top:.2f} {width:.2f} {height:.2f}"
    yield (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width:.2f}mm" height="{height:.2f}mm" '
        f'viewBox="{box}" role="img">'
    )
    yield f"<title>{xml_text(sheet.title)}</title>"
    yield "<defs>"
    for number in range(_HATCHES):
        yield _hatch(number)
    yield "</defs>"
    yield f'<rect x="{left:.2f}" y="{top:.2f}" width="{width:.2f}" height="{height:.2f}" fill="#ffffff"/>'
    yield '<g stroke="#1b1b1b" stroke-linejoin="round" stroke-linecap="round">'
    yield from (_stroke(each) for each in sheet.strokes)
    yield "</g>"
    # A white rim keeps letters readable where a line passes behind them.
    yield (
        '<g fill="#1b1b1b" font-family="sans-serif" stroke="#ffffff" stroke-width="0.7" '
        'stroke-linejoin="round" paint-order="stroke">'
    )
    yield from (_words(each) for each in sheet.words)
    yield "</g>"
    yield "</svg>"


def _hatch(number: int) -> str:
    """Neighbouring parts are hatched at another angle and pitch (ISO 128-50 asks for a difference)."""
    angle = (45, -45, 60, -60, 30, -30)[number % _HATCHES]
    pitch = (2.0, 2.0, 1.4, 1.4, 2.6, 2.6)[number % _HATCHES]
    return (
        f'<pattern id="h{number}" width="{pitch}" height="{pitch}" patternUnits="userSpaceOnUse" '
        f'patternTransform="rotate({angle})">'
        f'<path d="M0 0V{pitch}" stroke="#1b1b1b" stroke-width="0.2"/></pattern>'
    )


def _stroke(stroke: Stroke) -> str:
    points = " ".join(f"{x:.3f},{-y:.3f}" for x, y in stroke.points)
    style = _STYLES[stroke.style]
    if stroke.hatch is not None:
        face = f"url(#h{(stroke.hatch - 1) % _HATCHES})" if stroke.hatch else "#ffffff"
        style = style.replace('fill="none"', f'fill="{face}"')
    return f'<{"polygon" if stroke.closed else "polyline"} points="{points}" {style}/>'


def _words(words: Words) -> str:
    x, y = words.at[0], -words.at[1]
    turn = f' transform="rotate({-words.turned:g} {x:.2f} {y:.2f})"' if words.turned else ""
    return (
        f'<text x="{x:.2f}" y="{y:.2f}" font-size="{words.height:g}" text-anchor="{words.anchor}"{turn}>'
        f"{xml_text(words.text)}</text>"
    )
