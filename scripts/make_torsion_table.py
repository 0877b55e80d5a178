"""Solve the St Venant torsion problem once for sections without a closed form and print the table.

How it is run, outside the project's own environment because the solver is large:

    python3 -m venv /tmp/sect && /tmp/sect/bin/pip install sectionproperties
    /tmp/sect/bin/python scripts/make_torsion_table.py > src/strikeproof/parts/torsion_table.py

Every section is meshed with six-noded triangles; the corners of a broached hole carry a fillet of
`FILLET` times its width across flats, so that their stress is finite and the mesh resolves it.
"""

from __future__ import annotations

import math
import sys
from dataclasses import dataclass
from importlib.metadata import version

import numpy as np
from sectionproperties.analysis import Section
from sectionproperties.pre import Geometry
from shapely.geometry import Polygon

FILLET = 0.03
CIRCLE_POINTS = 240
FILLET_POINTS = 10
MESH = 2.0e-4  # largest triangle, as a share of the square of the outside diameter

HOLES = {
    "square": (0.2, 0.3, 0.4, 0.45, 0.5, 0.55, 0.6, 0.63, 0.65, 0.665, 0.68),
    "hexagon": (0.2, 0.3, 0.4, 0.5, 0.6, 0.65, 0.7, 0.75, 0.78, 0.8, 0.815, 0.83),
    "twelve-point": (0.2, 0.3, 0.4, 0.5, 0.6, 0.65, 0.7, 0.75, 0.78, 0.8, 0.815, 0.83),
}
BORES = (0.0, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.85, 0.9, 0.93, 0.95, 0.96, 0.97)
SIDES = {"square": 4, "hexagon": 6}


@dataclass(frozen=True)
class Solved:
    """A solved section: its torsion constant, and the nodes with their shear per unit torque."""

    constant: float
    radius: np.ndarray
    shear: np.ndarray


def circle(diameter: float) -> Polygon:
    """A polygon of the circle's own area, so that the discretisation does not bias the constant."""
    step = 2 * math.pi / CIRCLE_POINTS
    radius = diameter / 2 * math.sqrt(step / math.sin(step))
    turns = np.arange(CIRCLE_POINTS) * step
    return Polygon(np.column_stack([radius * np.cos(turns), radius * np.sin(turns)]))


def prism(sides: int, flats: float) -> Polygon:
    """A regular polygon given by its width across flats."""
    turns = (np.arange(sides) + 0.5) * 2 * math.pi / sides
    radius = flats / 2 / math.cos(math.pi / sides)
    return Polygon(np.column_stack([radius * np.cos(turns), radius * np.sin(turns)]))


def hole(kind: str, flats: float) -> Polygon:
    """A broached hole with filleted corners."""
    sharp = prism(4 if kind == "square" else 6, flats)
    if kind == "twelve-point":
        turns = np.arange(24) * math.pi / 12
        corner, valley = flats / 2 / math.cos(math.pi / 6), flats / 2 / math.cos(math.pi / 12)
        radii = np.where(np.arange(24) % 2 == 0, corner, valley)
        sharp = Polygon(np.column_stack([radii * np.cos(turns), radii * np.sin(turns)]))
    fillet = FILLET * flats
    return sharp.buffer(-fillet, join_style="mitre", mitre_limit=20).buffer(fillet, quad_segs=FILLET_POINTS)


def solve(shape: Polygon, size: float) -> Solved:
    """The torsion constant and the shear of every node under a unit torque."""
    section = Section(Geometry(shape).create_mesh(mesh_sizes=MESH * size**2))
    section.calculate_geometric_properties()
    section.calculate_warping_properties()
    stress = section.calculate_stress(mzz=1.0).get_stress()[0]["sig_zxy_mzz"]
    nodes = np.asarray(section.mesh["vertices"])
    return Solved(float(section.get_j()), np.hypot(nodes[:, 0], nodes[:, 1]), np.asarray(stress))


def holed_round(kind: str, ratio: float) -> tuple[float, float, float, float]:
    """Ratio, equivalent bore, surface and corner shear of a round of diameter 1 with a broached hole."""
    solved = solve(circle(1.0).difference(hole(kind, ratio)), 1.0)
    corner = ratio / 2 * (math.sqrt(2) if kind == "square" else 1 / math.cos(math.pi / 6))
    bore = (1.0 - 32 / math.pi * solved.constant) ** 0.25 / ratio
    outside = solved.radius > 0.4985
    inside = solved.radius < 1.01 * corner  # only the hole's own neighbourhood
    surface = solved.shear[outside].max() * solved.constant / 0.5
    notch = solved.shear[inside].max() * solved.constant / corner
    return ratio, bore, surface, notch


def bored_prism(kind: str, ratio: float) -> tuple[float, float, float]:
    """Ratio, torsion constant over flats^4 and largest shear of a prism of flats 1 with a round bore."""
    shape = prism(SIDES[kind], 1.0)
    solved = solve(shape.difference(circle(ratio)) if ratio else shape, 1.0)
    return ratio, solved.constant, solved.shear.max() * solved.constant / 0.5


HEAD = '''"""St Venant torsion of sections without a closed form: solved once, interpolated ever after.

Made by `scripts/make_torsion_table.py` with sectionproperties {solver} (six-noded triangles of at
most {mesh:g} of the outside width squared; fillet in the corners of a hole {fillet:g} of its width
across flats). Do not edit by hand: run the maker again.
"""

from typing import Final

FILLET: Final = {fillet}
"""Corner fillet of the solved holes over their width across flats."""

'''


def main() -> None:
    """Solve every section and print the module."""
    print(HEAD.format(solver=version("sectionproperties"), mesh=MESH, fillet=FILLET), end="")
    print("HOLED_ROUND: Final[dict[str, tuple[tuple[float, float, float, float], ...]]] = {")
    for kind, ratios in HOLES.items():
        print(f'    "{kind}": (')
        for ratio in ratios:
            print("        ({:g}, {:.6f}, {:.4f}, {:.4f}),".format(*holed_round(kind, ratio)), flush=True)
            print(kind, ratio, file=sys.stderr)
        print("    ),")
    print("}")
    print('"""Flats over outside diameter; equivalent round bore over flats; shear at the outer surface over')
    print("T·(D/2)/J; shear in the filleted corner over T·(half across corners)/J." + '"""\n')
    print("BORED_PRISM: Final[dict[str, tuple[tuple[float, float, float], ...]]] = {")
    for kind in SIDES:
        print(f'    "{kind}": (')
        for ratio in BORES:
            print("        ({:g}, {:.6f}, {:.4f}),".format(*bored_prism(kind, ratio)), flush=True)
            print(kind, ratio, file=sys.stderr)
        print("    ),")
    print("}")
    print('"""Bore over flats; torsion constant over flats^4; largest shear over T·(flats/2)/J."""')


if __name__ == "__main__":
    main()
