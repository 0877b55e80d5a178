"""A dimensioned half-section of an article with its part list: cut above the axis, outside below."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Final

from strikeproof.errors import BadInput
from strikeproof.parts.article import Article, Cut
from strikeproof.parts.layout import Placed, place
from strikeproof.parts.materials import MaterialBook
from strikeproof.parts.properties import ArticleProperties
from strikeproof.parts.section_view import draw_bodies
from strikeproof.parts.sheet import Point, Sheet, Stroke, Style, Words, circle, dimension
from strikeproof.plain_text import xml_text
from strikeproof.quantity import write_number

__all__ = ["draw_article", "write_svg"]

_MM: Final = 1e3
_ROW: Final = 5.0
_STEP: Final = 7.0
_SIGNS: Final = {"round": "⌀", "square": "□", "hexagon": "⬡", "twelve-point": "12pt "}
_COLUMNS: Final = (0.0, 8.0, 40.0, 86.0, 130.0, 150.0, 182.0)
_HEADS: Final = ("no.", "part", "stock or shape", "material", "mass g", "inertia kg·mm²", "bond")


@dataclass(frozen=True, slots=True)
class _Frame:
    """Its ends along the axis, its largest radius, and the step from one dimension line to the next. [mm]"""

    left: float
    right: float
    radius: float
    step: float


def draw_article(
    article: Article,
    properties: ArticleProperties,
    materials: MaterialBook | None = None,
    *,
    part_list: bool = True,
    letters: float = 1.0,
) -> Sheet:
    """The article on a sheet, in millimetres at full size, its axis along x.

    Parameters
    ----------
    article
        Its parts are drawn.
    properties
        The same article worked out: diameters, masses and bonds.
    materials
        The person's own.
    part_list
        Whether its parts are listed below it.
    letters
        How much larger than usual the figures are, for a drawing that is shown small.

    Raises
    ------
    BadInput
        If the article has no parts.
    NotFound
        If a material or a carrier is not there.
    """
    if not article.parts:
        raise BadInput(
            "no part to draw",
            where=f"article {article.name!r}",
            allowed="an article with [[article.part]] tables",
            fix="describe it by its dimensions",
        )
    placed = place(article, materials)
    frame = _Frame(
        min(each.start for each in placed) * _MM,
        max(each.end for each in placed) * _MM,
        max(part.outer_diameter for part in properties.parts) / 2 * _MM,
        _STEP * letters,
    )
    items = (
        *draw_bodies(placed),
        Stroke(((frame.left - 6, 0.0), (frame.right + 6, 0.0)), "centre"),
        *_lengths(placed, frame),
        *_depths(placed, frame),
        *_widths(placed, frame),
        *_holes(placed),
        *_balloons(placed, frame),
    )
    items = tuple(_larger(item, letters) for item in items)
    if not part_list:
        return _sheet(article.name, items)
    foot = min(y for x, y in _points(items)) - 10
    return _sheet(article.name, (*items, *_part_list(article, properties, (frame.left, foot))))


def _larger(item: Stroke | Words, letters: float) -> Stroke | Words:
    return replace(item, height=item.height * letters) if isinstance(item, Words) else item


def _points(items: Iterable[Stroke | Words]) -> Iterator[Point]:
    for item in items:
        if isinstance(item, Stroke):
            yield from item.points
        else:
            yield item.at


def _sheet(title: str, items: Sequence[Stroke | Words]) -> Sheet:
    xs, ys = zip(*_points(items), strict=True)
    words = tuple(item for item in items if isinstance(item, Words))
    widest = max(each.at[0] + 0.62 * each.height * len(each.text) for each in words)
    left, bottom = min(xs) - 8, min(ys) - 8
    return Sheet(
        title,
        (left, bottom),
        (max(*xs, widest) + 8 - left, max(ys) + 8 - bottom),
        tuple(item for item in items if isinstance(item, Stroke)),
        words,
    )


def _number(value: float) -> str:
    return write_number(round(value, 2), 4).rstrip("0").rstrip(".") if value % 1 else f"{value:.0f}"


def _lengths(placed: Sequence[Placed], frame: _Frame) -> Iterator[Stroke | Words]:
    """Below: the length of every part that is not the whole, then the whole."""
    level = -frame.radius - frame.step
    whole = round(frame.right - frame.left, 6)
    told: set[tuple[float, float]] = {(round(frame.left, 3), round(frame.right, 3))}
    for each in placed:
        ends = each.start * _MM, each.end * _MM
        if (round(ends[0], 3), round(ends[1], 3)) in told:
            continue
        told.add((round(ends[0], 3), round(ends[1], 3)))
        radius = -each.part.outer.size / 2 * _MM
        yield from dimension(
            (ends[0], radius),
            (ends[1], radius),
            ((ends[0], level), (ends[1], level)),
            _number(ends[1] - ends[0]),
        )
        level -= frame.step
    yield from dimension(
        (frame.left, 0.0), (frame.right, 0.0), ((frame.left, level), (frame.right, level)), _number(whole)
    )


def _blind(placed: Placed) -> Iterator[Cut]:
    for cut in placed.part.cuts:
        if cut.kind not in ("cross hole", "chamfer") and cut.depth < placed.part.length * (1 - 1e-9):
            yield cut


def _depths(placed: Sequence[Placed], frame: _Frame) -> Iterator[Stroke | Words]:
    """Above: how deep each blind cut goes, and where a cross hole is."""
    level = frame.radius + frame.step
    for each in placed:
        spans = [
            (each.start, each.start + cut.depth) if cut.end == "drive" else (each.end - cut.depth, each.end)
            for cut in _blind(each)
        ]
        spans += [(each.start, each.start + cut.at) for cut in each.part.cuts if cut.kind == "cross hole"]
        for start, end in spans:
            a, b = start * _MM, end * _MM
            top = each.part.outer.size / 2 * _MM
            yield from dimension((a, top), (b, top), ((a, level), (b, level)), _number(b - a))
            level += frame.step


def _widths(placed: Sequence[Placed], frame: _Frame) -> Iterator[Stroke | Words]:
    """At the right: every outside, the smallest next to the article."""
    sizes: dict[tuple[str, float], float] = {}
    for each in placed:
        kind = each.part.outer.kind
        for size, at in ((each.part.outer.size, each.start), (each.part.outer_end, each.end)):
            key = (kind, round(size * _MM, 3))
            sizes[key] = max(sizes.get(key, at * _MM), at * _MM)
    x = frame.right + frame.step
    for (shape, size), at in sorted(sizes.items(), key=lambda item: item[0][1]):
        ends = (at, size / 2), (at, -size / 2)
        yield from dimension(*ends, ((x, size / 2), (x, -size / 2)), f"{_SIGNS[shape]}{_number(size)}")
        x += frame.step


def _holes(placed: Sequence[Placed]) -> Iterator[Words]:
    """On the axis: what each hole is."""
    for each in placed:
        told = set()
        for body in each.solid.slices:
            if body.hole is None or (body.hole.kind, body.hole.size) in told or each.part.carrier:
                continue
            told.add((body.hole.kind, body.hole.size))
            at = (each.start + (body.start + body.end) / 2) * _MM
            text = f"{_SIGNS[body.hole.kind]}{_number(body.hole.size * _MM)}"
            yield Words((at, 1.0), text, 2.5)


def _balloons(placed: Sequence[Placed], frame: _Frame) -> Iterator[Stroke | Words]:
    """At the left: the number of each part with a line to it, outermost on top so that no lines cross."""
    targets = [(*_target(each), number) for number, each in enumerate(placed, start=1)]
    y = frame.radius
    for x, height, number in sorted(targets, key=lambda each: (-each[1], -each[0])):
        centre = frame.left - 14.0, y
        yield Stroke(((x, height), (centre[0] + 3.2, y)), "thin")
        yield Stroke(circle(centre, 3.2), "thin", closed=True)
        yield Words((centre[0], y - 1.1), str(number))
        y -= 8.5


def _target(each: Placed) -> Point:
    """A point in the cut face of a part, near its drive end."""
    outside = each.part.outer.size / 2
    if not each.solid.slices:
        return (each.start + each.part.length / 4) * _MM, (outside - each.part.length / 2) * _MM
    body = each.solid.slices[0]
    inside = body.hole.size / 2 if body.hole else 0.0
    return (each.start + min(2e-3, each.part.length / 2)) * _MM, (outside + inside) / 2 * _MM


def _part_list(article: Article, properties: ArticleProperties, corner: Point) -> Iterator[Stroke | Words]:
    left, top = corner
    rows = [_HEADS]
    for number, (part, facts) in enumerate(zip(article.parts, properties.parts, strict=True), start=1):
        what = part.stock or part.shape
        mass, inertia = write_number(facts.mass * 1e3, 3), write_number(facts.polar_inertia * 1e6, 3)
        bond = facts.bond if part.carrier or number > 1 else "–"
        rows.append((str(number), part.name, what, facts.material, mass, inertia, bond))
    total = write_number(properties.mass * 1e3, 3), write_number(properties.polar_inertia * 1e6, 3)
    rows.append(("", "whole article", "", "", *total, ""))
    for row, cells in enumerate(rows):
        y = top - _ROW * (row + 1)
        for x, cell in zip(_COLUMNS, cells, strict=True):
            yield Words((left + x, y + 1.3), cell[:26], 2.8, "start")
        yield Stroke(((left, y), (left + _COLUMNS[-1] + 22, y)), "thin")
    y = top - _ROW * (len(rows) + 2)
    yield Words((left, y), f"{article.name} – millimetres, half-section", 3.6, "start")


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
