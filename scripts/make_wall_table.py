"""Solve the wall around a broached hole once, in three dimensions, and print the table.

How it is run, outside the project's own environment (an hour on two cores, minutes where CuPy finds an
accelerator):

    python3 -m venv /tmp/wall && /tmp/wall/bin/pip install numpy scipy
    /tmp/wall/bin/python scripts/make_wall_table.py > src/strikeproof/parts/wall_table.py

One corner of a round bar with a hexagonal or square hole is meshed with twenty-noded bricks (reduced
integration); the others follow by rotation. The mate presses on a strip of one flat beside the corner, over
the engaged length from the mouth, with a force N and friction along the flat; the far end is held. Lengths
are over the width across flats F, N over F times the engaged length. The elastic solution gives the largest
tension in the fillet; the ideally plastic one the N at which the wall flows, with the layer under the strip
left elastic, since its own crushing is another check, and over a strip widened to FLATTENED: a narrow one
sinks in before the wall flows.
"""

from __future__ import annotations

import math
import sys
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from itertools import product

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import coo_array
from scipy.sparse.linalg import splu

try:
    import cupy
except ImportError:
    cupy = None

Floats = NDArray[np.float64]

SIDES = {"hexagon": 6, "square": 4}
RATIOS = {"hexagon": (0.4, 0.5, 0.6, 0.66, 0.72, 0.77), "square": (0.3, 0.4, 0.5, 0.55, 0.6, 0.64)}
ENGAGED = (0.25, 0.45, 0.8, 1.4)
FILLETS = (0.01, 0.03, 0.06)
FRICTIONS = (0.0, 0.15, 0.3)
STRIP, FLATTENED = 0.05, 0.12  # width of the pressed strip in use, and when all is about to flow
REACH = {"hexagon": 0.272, "square": 0.41}  # outer edge of the strip from the middle of the flat
BEYOND = 0.8  # depth of the hole beyond the engaged length
POISSON = 0.3
YIELD_STRAIN = 1 / 300


@dataclass(frozen=True)
class Case:
    """One wall: flats over outside diameter, engaged length and fillet over flats; how fine the mesh is."""

    kind: str
    ratio: float
    engaged: float
    fillet: float
    fine: float = 1.0
    strip: float = STRIP


@dataclass(frozen=True)
class Mesh:
    """Nodes (n, 3), bricks (e, 20), which are beside the strip, faces of the strip, and the cyclic pairs."""

    nodes: Floats
    bricks: NDArray[np.int64]
    column: NDArray[np.int64]
    layer: NDArray[np.int64]
    strip: NDArray[np.int64]
    master: NDArray[np.int64]
    held: NDArray[np.int64]
    fillet: tuple[int, int]
    shape: tuple[int, int, int]


# corner and edge nodes of a brick in doubled grid steps
LOCAL = np.array(
    [(i, j, k) for k in (0, 2) for j in (0, 2) for i in (0, 2)]
    + [(i, j, k) for i, j, k in product((0, 1, 2), repeat=3) if (i == 1) + (j == 1) + (k == 1) == 1]
)
SIGNS = LOCAL - 1.0


def shape_functions(at: Floats) -> tuple[Floats, Floats]:
    """Serendipity functions (20,) and their slopes (20, 3) at a point of the unit brick."""
    values, slopes = np.empty(20), np.empty((20, 3))
    for a, s in enumerate(SIGNS):
        f = np.array([1 - at[d] ** 2 if s[d] == 0 else 1 + s[d] * at[d] for d in range(3)])
        g = np.array([-2 * at[d] if s[d] == 0 else s[d] for d in range(3)])
        others = [f[1] * f[2], f[0] * f[2], f[0] * f[1]]
        if (s != 0).all():
            bracket = s @ at - 2
            values[a] = f.prod() / 8 * bracket
            slopes[a] = [(g[d] * bracket + f[d] * s[d]) * others[d] / 8 for d in range(3)]
        else:
            values[a] = f.prod() / 4
            slopes[a] = [g[d] * others[d] / 4 for d in range(3)]
    return values, slopes


GAUSS = [np.array(each) / math.sqrt(3) for each in product((-1.0, 1.0), repeat=3)]


def graded(start: float, end: float, count: int, growth: float) -> Floats:
    """Points from start to end, the steps growing by a factor in all."""
    steps = np.geomspace(1.0, growth, count)
    return start + (end - start) * np.concatenate(([0.0], np.cumsum(steps) / steps.sum()))


def halved(points: Floats) -> Floats:
    """With the middle of each step."""
    found = np.empty(2 * points.size - 1)
    found[::2], found[1::2] = points, (points[1:] + points[:-1]) / 2
    return found


def inner_points(case: Case) -> tuple[Floats, tuple[int, int], tuple[int, int]]:
    """Doubled points along one corner of the hole, from flat to flat; steps of the fillet and of the
    strip."""
    beta = math.pi / SIDES[case.kind]
    half = math.tan(beta) / 2
    tangent = half - case.fillet * math.tan(beta)
    n = lambda count: max(round(count * case.fine), 2)  # noqa: E731
    high = min(REACH[case.kind], tangent)
    low = high - case.strip
    across = n(3 if case.strip == STRIP else 5)
    far = -graded(tangent, 0.0, n(6), 8.0)[::-1]  # along the unloaded flat, towards the corner
    near: list[Floats] = [graded(high, low, across, 1.0), graded(low, 0.0, n(4), 4.0)]
    if tangent - high > 1e-9:
        near.insert(0, graded(tangent, high, 2, 1.0))
    arcs = n(8)
    first = halved(far)
    turn = halved(np.linspace(-beta, beta, arcs + 1))
    centre = (0.5 - case.fillet) / math.cos(beta)
    round_ = np.column_stack([centre + case.fillet * np.cos(turn), case.fillet * np.sin(turn)])
    flat = lambda s, side: np.column_stack(  # noqa: E731
        [
            0.5 * math.cos(beta) + s * math.sin(beta),
            side * (0.5 * math.sin(beta) - s * math.cos(beta)),
        ]
    )
    last = np.concatenate([halved(near[0]), *[halved(each)[1:] for each in near[1:]]])
    points = np.vstack([flat(-first, -1), round_[1:], flat(last, 1)[1:]])
    skip = 2 if len(near) == 3 else 0
    begin = far.size - 1
    strip = begin + arcs + skip
    return points, (begin, begin + arcs), (strip, strip + across)


def make_mesh(case: Case) -> Mesh:
    """One corner of the bar, from flat middle to flat middle."""
    beta = math.pi / SIDES[case.kind]
    inside, fillet, strip = inner_points(case)
    n = lambda count: max(round(count * case.fine), 2)  # noqa: E731
    angle = np.arctan2(inside[:, 1], inside[:, 0])
    outer_angle = 0.35 * np.linspace(-beta, beta, angle.size) + 0.65 * angle
    outside = np.column_stack([np.cos(outer_angle), np.sin(outer_angle)]) / case.ratio / 2
    wall = 0.5 / case.ratio - 0.5 / math.cos(beta)
    growth = max(2.0, wall / max(case.fillet, 0.01))
    across = halved(graded(0.0, 1.0, n(8), min(growth, 25.0)))
    along = halved(
        np.concatenate(
            [
                graded(0.0, case.engaged, n(4 if case.engaged < 1 else 6), 1.0),
                graded(case.engaged, case.engaged + BEYOND, n(4), 3.0)[1:],
            ]
        )
    )
    size = (angle.size, across.size, along.size)
    i, j, k = np.meshgrid(*map(np.arange, size), indexing="ij")
    wanted = (i % 2) + (j % 2) + (k % 2) <= 1
    number = np.full(size, -1)
    number[wanted] = np.arange(wanted.sum())
    plane = inside[i[wanted]] + across[j[wanted], None] * (outside[i[wanted]] - inside[i[wanted]])
    nodes = np.column_stack([plane, along[k[wanted]]])
    cells = tuple((each - 1) // 2 for each in size)
    a, b, c = (each.ravel() for each in np.meshgrid(*map(np.arange, cells), indexing="ij"))
    bricks = np.stack([number[2 * a + s[0], 2 * b + s[1], 2 * c + s[2]] for s in LOCAL], axis=1)
    pressed = (a >= strip[0]) & (a < strip[1]) & (b == 0) & (along[2 * c + 1] < case.engaged)
    master = np.arange(nodes.shape[0])
    ends = number[-1][number[-1] >= 0]
    master[ends] = number[0][number[0] >= 0]
    held = number[:, :, -1]
    return Mesh(
        nodes, bricks, a, b, np.flatnonzero(pressed), master, np.unique(held[held >= 0]), fillet, cells
    )


class Wall:
    """A meshed wall: its strain matrices, its loads, and its solver."""

    def __init__(self, case: Case) -> None:
        """Mesh it and work out what does not change."""
        self.case, self.mesh = case, make_mesh(case)
        mesh, e = self.mesh, self.mesh.bricks.shape[0]
        turn = 2 * math.pi / SIDES[case.kind]
        rotate = np.array(
            [[math.cos(turn), -math.sin(turn), 0], [math.sin(turn), math.cos(turn), 0], [0, 0, 1]]
        )
        spins = np.where((mesh.master[mesh.bricks] != mesh.bricks)[:, :, None, None], rotate, np.eye(3))
        where = mesh.nodes[mesh.bricks]
        self.strain, self.weight = np.zeros((e, 8, 6, 60)), np.zeros((e, 8))
        for g, at in enumerate(GAUSS):
            _values, slopes = shape_functions(at)
            jacobian = np.einsum("ad,eac->edc", slopes, where)
            self.weight[:, g] = -np.linalg.det(jacobian)  # round, outward, along is left-handed
            grad = np.einsum("edc,ac->eda", np.linalg.inv(jacobian), slopes)
            matrix = np.zeros((e, 6, 20, 3))
            for row, (p, q) in enumerate(((0, 0), (1, 1), (2, 2), (0, 1), (1, 2), (0, 2))):
                matrix[:, row, :, p] += grad[:, q]
                if p != q:
                    matrix[:, row, :, q] += grad[:, p]
            spun = np.einsum("eran,eanm->eram", matrix, spins)  # rotated nodes move with their masters
            self.strain[:, g] = spun.reshape(e, 6, 60)
        if (self.weight <= 0).any():
            raise ValueError(f"{case}: a brick is turned inside out")
        free = np.ones(mesh.nodes.shape[0], bool)
        free[mesh.held] = False
        free &= mesh.master == np.arange(mesh.nodes.shape[0])
        index = np.full((mesh.nodes.shape[0], 3), -1)
        index[free] = np.arange(3 * free.sum()).reshape(-1, 3)
        self.size = int(3 * free.sum())
        self.places = index[mesh.master[mesh.bricks]].reshape(e, 60)
        self.loads = self._loads(index)

    def _loads(self, index: NDArray[np.int64]) -> tuple[Floats, Floats]:
        """Nodal forces of N = F·engaged along the flat's normal, and of as much along the flat."""
        mesh, beta = self.mesh, math.pi / SIDES[self.case.kind]
        normal = np.array([math.cos(beta), math.sin(beta), 0])
        along = np.array([-math.sin(beta), math.cos(beta), 0])
        force = np.zeros(mesh.nodes.shape[0])
        points, weights = np.polynomial.legendre.leggauss(3)
        area = 0.0
        for (u, wu), (v, wv) in product(zip(points, weights, strict=True), repeat=2):
            values, slopes = shape_functions(np.array([u, -1.0, v]))
            tangents = np.einsum("ad,eac->edc", slopes, mesh.nodes[mesh.bricks[mesh.strip]])
            patch = np.linalg.norm(np.cross(tangents[:, 0], tangents[:, 2]), axis=1) * wu * wv
            np.add.at(force, mesh.bricks[mesh.strip], patch[:, None] * values)
            area += patch.sum()
        force *= self.case.engaged / area
        found = []
        for way in (normal, along):
            total = np.zeros(self.size)
            there = np.flatnonzero(force)
            total[index[there].ravel()] = (force[there, None] * way).ravel()
            found.append(total)
        return found[0], found[1]

    def solve(self, tangent: Floats, rights: Floats) -> Floats:
        """Displacements (size, m) under right sides (size, m), with a tangent (e, 8, 6, 6)."""
        count = self.places.shape[0]
        pulled = ((tangent @ self.strain) * self.weight[:, :, None, None]).reshape(count, 48, 60)
        stiff = self.strain.reshape(count, 48, 60).transpose(0, 2, 1) @ pulled
        rows = np.repeat(self.places[:, :, None], 60, axis=2)
        columns = np.repeat(self.places[:, None, :], 60, axis=1)
        keep = (rows >= 0) & (columns >= 0)
        if cupy is None:
            matrix = coo_array((stiff[keep], (rows[keep], columns[keep])), shape=(self.size, self.size))
            return splu(matrix.tocsc()).solve(rights).reshape(rights.shape)
        dense = cupy.zeros((self.size, self.size))
        flat = cupy.asarray(rows[keep] * self.size + columns[keep])
        cupy.add.at(dense.ravel(), flat, cupy.asarray(stiff[keep]))
        found = cupy.asnumpy(cupy.linalg.solve(dense, cupy.asarray(rights)))
        del dense, flat
        cupy.get_default_memory_pool().free_all_blocks()
        return found

    def strains(self, moved: Floats) -> Floats:
        """Strains (e, 8, 6) of displacements (size,)."""
        padded = np.append(moved, 0.0)
        return np.einsum("egri,ei->egr", self.strain, padded[self.places])

    def inner_force(self, stress: Floats) -> Floats:
        """Nodal forces (size,) of stresses (e, 8, 6)."""
        each = np.einsum("egri,egr,eg->ei", self.strain, stress, self.weight)
        total = np.zeros(self.size + 1)
        np.add.at(total, self.places, each)
        return total[:-1]


def elastic_matrix(modulus: float) -> Floats:
    """Hooke's law in the order xx, yy, zz, xy, yz, zx with engineering shears."""
    lame = modulus * POISSON / ((1 + POISSON) * (1 - 2 * POISSON))
    shear = modulus / (2 * (1 + POISSON))
    found = np.diag([2 * shear] * 3 + [shear] * 3)
    found[:3, :3] += lame
    return found


EXTRAPOLATE = np.array(
    [
        [np.prod([(1 + math.sqrt(3) * corner[d] * np.sign(at[d])) / 2 for d in range(3)]) for at in GAUSS]
        for corner in SIGNS[:8]
    ]
)
"""From the eight inner points to the corners, trilinear: rows (8, 8)."""


def fillet_tension(wall: Wall, stress: Floats) -> float:
    """Largest tension at the nodes of the fillet and, where that is larger, of the outside."""
    mesh = wall.mesh
    corners = np.einsum("cg,egs->ecs", EXTRAPOLATE, stress)
    nodes = mesh.bricks[:, :8]
    total, count = np.zeros((mesh.nodes.shape[0], 6)), np.zeros(mesh.nodes.shape[0])
    np.add.at(total, nodes, corners)
    np.add.at(count, nodes, 1.0)
    inside = (mesh.layer == 0) & (mesh.column >= mesh.fillet[0]) & (mesh.column < mesh.fillet[1])
    chosen = np.unique(nodes[inside][:, [0, 1, 4, 5]])
    mean = total[chosen] / count[chosen, None]
    x, y, z, xy, yz, xz = mean.T
    tensor = np.stack([np.stack([x, xy, xz], -1), np.stack([xy, y, yz], -1), np.stack([xz, yz, z], -1)], -2)
    return float(np.linalg.eigvalsh(tensor)[:, -1].max())


def solve_elastic(case: Case) -> list[float]:
    """Largest tension in the fillet under N = F·engaged, for each friction."""
    wall = Wall(case)
    law = np.broadcast_to(elastic_matrix(1.0), (*wall.weight.shape, 6, 6))
    moved = wall.solve(law, np.column_stack(wall.loads))
    normal, along = (wall.strains(moved[:, c]) @ elastic_matrix(1.0) for c in (0, 1))
    return [fillet_tension(wall, normal + mu * along) for mu in FRICTIONS]


def return_stress(trial: Floats, modulus: float, hard: float, strength: Floats) -> tuple[Floats, Floats]:
    """Stress after von Mises from an elastic trial, with the consistent tangent (Simo & Hughes, box 3.2)."""
    shear = modulus / (2 * (1 + POISSON))
    bulk = modulus / (3 * (1 - 2 * POISSON))
    mean = trial[..., :3].mean(axis=-1)
    deviator = trial.copy()
    deviator[..., :3] -= mean[..., None]
    norm = np.sqrt((deviator[..., :3] ** 2).sum(-1) + 2 * (deviator[..., 3:] ** 2).sum(-1))
    radius = math.sqrt(2 / 3) * strength
    over = np.maximum(norm - radius, 0.0)
    step = over / (2 * shear + 2 / 3 * hard)
    safe = np.maximum(norm, 1e-300)
    way = deviator / safe[..., None]
    stress = trial - (2 * shear * step)[..., None] * way
    theta = 1 - 2 * shear * step / safe
    theta_bar = np.where(over > 0, 1 / (1 + hard / (3 * shear)) - (1 - theta), 0.0)
    dev = np.diag([1.0] * 3 + [0.5] * 3)
    dev[:3, :3] -= 1 / 3
    one = np.array([1.0, 1, 1, 0, 0, 0])
    tangent = (
        bulk * np.outer(one, one)
        + 2 * shear * theta[..., None, None] * dev
        - 2 * shear * theta_bar[..., None, None] * way[..., :, None] * way[..., None, :]
    )
    return stress, tangent


def solve_limit(case: Case, friction: float) -> list[float]:
    """N over F·engaged·yield stress at which the wall flows: it gives 50 times as easily as at first.

    Stepped by the work-conjugate give of the load, from a hundredth of the elastic give on; a step that
    does not settle is taken in halves. Where the strip goes on to sink in, 1.5 times the elastic give of N
    = F·engaged·yield stress ends it. A hardening of a thousandth of the elastic modulus keeps the equations
    solvable.
    """
    wall = Wall(case)
    modulus, hard = 1 / YIELD_STRAIN, 1e-3 / YIELD_STRAIN
    law = elastic_matrix(modulus)
    compliance = np.linalg.inv(law)
    load = wall.loads[0] + friction * wall.loads[1]
    strength = np.ones_like(wall.weight)
    strength[wall.mesh.strip] = 1e6
    base = np.broadcast_to(law, (*wall.weight.shape, 6, 6))
    give = float(load @ wall.solve(base, load[:, None])[:, 0])
    moved, plastic, factor = np.zeros(wall.size), np.zeros((*wall.weight.shape, 6)), 0.0
    pace, reached = 0.04 * give, 0.0
    while reached < 1.5 and pace > 1e-3 * give:
        step = _settle(wall, law, (hard, strength), load, (moved, plastic, factor), pace)
        if step is None:
            pace /= 2
            continue
        after, stress, higher = step
        plastic = wall.strains(after) - stress @ compliance
        ahead = float(load @ after) / give
        slope = (higher - factor) / (ahead - reached)
        moved, factor, reached = after, higher, ahead
        if slope < 0.02:
            break
        pace *= 1.3
    return [factor]


def _settle(
    wall: Wall,
    law: Floats,
    metal: tuple[float, Floats],
    load: Floats,
    state: tuple[Floats, Floats, float],
    pace: float,
) -> tuple[Floats, Floats, float] | None:
    """One step of the give by Newton's method: displacements, stresses, load factor; None if it strays."""
    moved, plastic, factor = state
    modulus, (hard, strength) = 1 / YIELD_STRAIN, metal
    target = float(load @ moved) + pace
    after, higher = moved.copy(), factor
    for _turn in range(10):
        stress, tangent = return_stress((wall.strains(after) - plastic) @ law, modulus, hard, strength)
        short = higher * load - wall.inner_force(stress)
        gap = target - float(load @ after)
        small = 1e-3 * max(abs(higher), 0.01) * float(np.linalg.norm(load))
        if abs(gap) < 1e-6 * pace and np.linalg.norm(short) < small:
            return (after, stress, higher) if higher >= 0.9 * factor else None
        ways = wall.solve(tangent, np.column_stack([load, short]))
        more = (gap - float(load @ ways[:, 1])) / float(load @ ways[:, 0])
        after, higher = after + more * ways[:, 0] + ways[:, 1], higher + more
    return None


def answer(job: tuple[Case, float | None]) -> list[float]:
    """Tension in the fillet for each friction; with a friction the limit instead."""
    case, friction = job
    found = solve_elastic(case) if friction is None else solve_limit(case, friction)
    print(case, friction, found, file=sys.stderr, flush=True)
    return found


HEAD = '''"""Walls around broached holes, solved once in three dimensions, interpolated ever after.

Made by `scripts/make_wall_table.py` (twenty-noded bricks; see there for what is solved). At a hexagon of
ratio 0.66, engaged 0.45, fillet 0.03 a mesh finer by a quarter in every direction moves the tension in the
fillet from {one} to {two}
(frictions 0, 0.15, 0.3), and one finer by 1.4 the limit from {limit:.4f} to {finer:.4f}. Do not edit by hand:
run the maker again.
"""

from typing import Final

'''


def main() -> None:
    """Solve every wall and print the module."""
    workers = int(sys.argv[1]) if len(sys.argv) > 1 else 1
    probe = Case("hexagon", 0.66, 0.45, 0.03)
    coarse = 0.7  # the limit needs no fine fillet
    probes = [
        (probe, None),
        (Case(probe.kind, probe.ratio, probe.engaged, probe.fillet, 1.25), None),
        (Case(probe.kind, probe.ratio, probe.engaged, probe.fillet, coarse, FLATTENED), 0.15),
        (Case(probe.kind, probe.ratio, probe.engaged, probe.fillet, 1.0, FLATTENED), 0.15),
    ]
    elastic = [(Case(k, r, e, f), None) for k in SIDES for r, e, f in product(RATIOS[k], ENGAGED, FILLETS)]
    ends = (FRICTIONS[0], FRICTIONS[-1])
    limits = [
        (Case(k, r, e, 0.03, coarse, FLATTENED), mu)
        for k in SIDES
        for r, e, mu in product(RATIOS[k], ENGAGED, ends)
    ]
    jobs = [*probes, *limits, *elastic]
    with ProcessPoolExecutor(workers) as pool:
        found = dict(zip(jobs, pool.map(answer, jobs), strict=True))
    values = [found[each] for each in probes]
    one, two = ([round(v, 1) for v in values[i]] for i in (0, 1))
    print(HEAD.format(one=one, two=two, limit=values[2][0], finer=values[3][0]), end="")
    for name, grid in (("ENGAGED", ENGAGED), ("FILLETS", FILLETS), ("FRICTIONS", FRICTIONS), ("ENDS", ends)):
        print(f"{name}: Final = {grid}")
    print("RATIOS: Final[dict[str, tuple[float, ...]]] = {")
    for k, ratios in RATIOS.items():
        print(f'    "{k}": {ratios},')
    print("}\n")
    print("TENSION: Final[dict[str, tuple[tuple[tuple[tuple[float, ...], ...], ...], ...]]] = {")
    for k in SIDES:
        print(f'    "{k}": (')
        for r in RATIOS[k]:
            print("        (")
            for e in ENGAGED:
                cells = (tuple(round(v, 3) for v in found[Case(k, r, e, f), None]) for f in FILLETS)
                print(f"            ({', '.join(map(str, cells))}),")
            print("        ),")
        print("    ),")
    print("}")
    print(
        '"""By ratio, engaged length, fillet, friction: tension in the fillet over N/(F·engaged length)."""\n'
    )
    print("LIMIT: Final[dict[str, tuple[tuple[tuple[float, ...], ...], ...]]] = {")
    for k in SIDES:
        print(f'    "{k}": (')
        for r in RATIOS[k]:
            cells = (
                tuple(round(found[Case(k, r, e, 0.03, coarse, FLATTENED), mu][0], 4) for mu in ends)
                for e in ENGAGED
            )
            print(f"        ({', '.join(map(str, cells))}),")
        print("    ),")
    print("}")
    print('"""By ratio, engaged length, friction of ENDS: N/(F·engaged length·yield) at which it flows."""')


if __name__ == "__main__":
    main()
