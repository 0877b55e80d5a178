"""An article as a solid model, for those who installed the optional CAD extra."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from functools import reduce
from importlib import import_module
from importlib.util import find_spec
from operator import add
from pathlib import Path
from typing import Any, Final

from strikeproof.errors import BadInput
from strikeproof.parts import Article, Material
from strikeproof.parts.layout import Placed, place
from strikeproof.parts.shapes import Outline
from strikeproof.parts.solids import Slice

__all__ = ["require_cad", "write_step"]

_PACKAGE: Final = "build123d"

_MM: Final = 1e3
_SIDES: Final = {"square": 4, "hexagon": 6}


def write_step(article: Article, path: Path, materials: Mapping[str, Material] | None = None) -> None:
    """The article as STEP, a body a part, its axis along z from the drive end, in millimetres.

    Raises
    ------
    BadInput
        If the package that makes solids is not installed.
    """
    cad = _cad()
    bodies = []
    for each in place(article, materials):
        body = _body(cad, each)
        body.label = each.part.name
        bodies.append(body)
    whole = cad.Compound(label=article.name, children=bodies)
    cad.export_step(whole, str(path))


def require_cad() -> None:
    """That the package that makes solids is there, found without the seconds that it takes to load.

    Raises
    ------
    BadInput
        If it is not installed.
    """
    if find_spec(_PACKAGE) is None:
        raise BadInput(
            "a STEP file needs the optional extra `cad`, which is not installed",
            where="--step",
            allowed="SVG, PDF and DXF without it",
            fix="install it with `pip install 'strikeproof[cad]'` (about 1 GB), or leave --step out",
        )


def _cad() -> Any:
    require_cad()
    return import_module(_PACKAGE)


def _body(cad: Any, each: Placed) -> Any:
    """All slices of a part in one body, cross holes taken out."""
    if not each.solid.slices:
        radius = each.part.length / 2 * _MM
        mean = each.part.outer.size / 2 * _MM - radius
        return cad.Solid.make_torus(mean, radius).moved(_at(cad, each, each.start * _MM + radius))
    x, y = _off(each)
    back = (-x, -y) if each.bore_on_axis else (0.0, 0.0)  # of its bore
    whole: Any = reduce(add, (_slice(cad, piece, back) for piece in each.solid.slices))
    for hole in _cross_holes(cad, each):
        whole = whole - hole
    return whole.moved(_at(cad, each, each.start * _MM))


def _at(cad: Any, each: Placed, z: float) -> Any:
    return cad.Location((*_off(each), z))


def _off(each: Placed) -> tuple[float, float]:
    off, towards = each.part.eccentric * _MM, each.part.towards
    return off * math.cos(towards), off * math.sin(towards)


def _slice(cad: Any, piece: Slice, back: tuple[float, float]) -> Any:
    body = _prism(cad, piece.outer, piece.outer_end, piece.length)
    if piece.hole is not None:
        hole = _prism(cad, piece.hole, piece.hole.size, piece.length)
        body = body - hole.moved(cad.Location((*back, 0.0)))
    return body.moved(cad.Location((0, 0, piece.start * _MM)))


def _prism(cad: Any, outline: Outline, end: float, length: float) -> Any:
    """A cylinder, a cone or a straight prism on the plane z = 0."""
    high = length * _MM
    if outline.kind == "round" and end == outline.size:
        return cad.Solid.make_cylinder(outline.size / 2 * _MM, high)
    if outline.kind == "round":
        return cad.Solid.make_cone(outline.size / 2 * _MM, end / 2 * _MM, high)
    if outline.kind == "twelve-point":
        hexagon = Outline("hexagon", outline.size)
        return _prism(cad, hexagon, hexagon.size, length) + _prism(cad, hexagon, hexagon.size, length).rotate(
            cad.Axis.Z, 30
        )
    sides = _SIDES[outline.kind]
    sketch = cad.RegularPolygon(radius=outline.corners / 2 * _MM, side_count=sides)
    return cad.Solid.extrude(sketch.face(), cad.Vector(0, 0, high))


def _cross_holes(cad: Any, each: Placed) -> Iterator[Any]:
    reach = each.part.outer.corners * _MM
    for cut in each.part.cuts:
        if cut.kind == "cross hole":
            # One wall: from the axis outwards. Two: right through.
            start = -reach if cut.walls == 2 else 0.0
            plane = cad.Plane(origin=(start, 0, cut.at * _MM), z_dir=(1, 0, 0))
            yield cad.Solid.make_cylinder(cut.size / 2 * _MM, reach - start, plane)
