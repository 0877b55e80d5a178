"""A closed drum: a tube that two caps hold, on a socket."""

from __future__ import annotations

import math

import numpy as np
import pytest
from tests.unit.parts.examples import article, socket

from strikeproof.errors import BadInput
from strikeproof.parts import work_out

WELD = {"kind": "weld", "throat_mm": 3}


def _cap(name, at, length=6, **changes):
    return {
        "name": name,
        "shape": "disc",
        "outer_diameter_mm": 90,
        "length_mm": length,
        "material": "S355J2",
        "carrier": "socket",
        "at_mm": at,
        "bond": WELD,
    } | changes


def _shell(**changes):
    return {
        "name": "shell",
        "shape": "tube",
        "outer_diameter_mm": 100,
        "bore_mm": 90,
        "length_mm": 50,
        "material": "S355J2",
        "carrier": "drive cap",
        "second_carrier": "bolt cap",
        "bond": WELD,
    } | changes


def _lead():
    return {
        "name": "lead",
        "shape": "fill",
        "bore_mm": 34,
        "length_mm": 38,
        "material": "lead",
        "carrier": "shell",
        "at_mm": 6,
    }


def _drum(second=6.0, **changes):
    parts = socket(), _cap("drive cap", 15), _cap("bolt cap", 65 - second, second), _shell(**changes)
    return work_out(article(*parts, _lead()))


def _disc(outer, inner, length, density):
    return math.pi / 32 * density * length * (outer**4 - inner**4)


def test_inertia_of_a_drum_by_hand():
    """Sum of hollow cylinders, I = πρL(D⁴ − d⁴)/32; densities of steel and lead 7850 and 11340 kg/m³."""
    found = {part.name: part.polar_inertia for part in _drum().parts}
    assert found["shell"] == pytest.approx(_disc(0.100, 0.090, 0.050, 7850), rel=2e-3)
    assert found["drive cap"] == pytest.approx(_disc(0.090, 0.034, 0.006, 7850), rel=2e-3)
    assert found["lead"] == pytest.approx(_disc(0.090, 0.034, 0.038, 11340), rel=2e-3)


def _lowest(second):
    """Lowest own frequency with the socket held: by the two bodies, and by all three with each bond apart.
    [Hz]"""
    caps, drum = _drum(second).riders
    apart = {
        name: work_out(article(socket(), _cap(name, at, length))).riders[0]
        for name, at, length in (("drive cap", 15, 6), ("bolt cap", 65 - second, second))
    }
    one, other = apart["drive cap"], apart["bolt cap"]
    assert caps.stiffness == pytest.approx(one.stiffness + other.stiffness)
    held = [drum.stiffness / 2] * 2  # two seams alike
    three = np.array(
        [
            [one.stiffness + held[0], 0, -held[0]],
            [0, other.stiffness + held[1], -held[1]],
            [-held[0], -held[1], sum(held)],
        ]
    )
    two = np.array([[caps.stiffness + drum.stiffness, -drum.stiffness], [-drum.stiffness, drum.stiffness]])
    return (
        _frequency(two, [caps.inertia, drum.inertia]),
        _frequency(three, [one.inertia, other.inertia, drum.inertia]),
    )


def _frequency(stiffness, inertias):
    root = 1 / np.sqrt(inertias)
    return math.sqrt(np.linalg.eigvalsh(stiffness * np.outer(root, root))[0]) / (2 * math.pi)


def test_two_caps_turn_as_one_body():
    """Exact for caps alike; within 1 % where one is three times as thick (eigenvalues of all)."""
    assert _lowest(6.0)[0] == pytest.approx(_lowest(6.0)[1], rel=1e-9)
    assert _lowest(18.0)[0] == pytest.approx(_lowest(18.0)[1], rel=1e-2)


def test_both_seams_are_welded_priced_and_loaded():
    found = _drum()
    assert [line.to for line in found.welds if line.part == "shell"] == ["drive cap", "bolt cap"]
    assert [rider.name for rider in found.riders] == ["drive cap + bolt cap", "shell"]
    weld = 0.003 * math.pi * 0.034 * 0.017 * 345e6 / math.sqrt(3)  # 345 MPa above 16 mm
    strong = {check.part: check.holds_to for check in found.checks if check.mode == "weld"}
    assert strong["drive cap"] == pytest.approx(2 * weld, rel=1e-6)


def test_a_shell_must_reach_both_caps():
    with pytest.raises(BadInput, match="does not reach"):
        _drum(length_mm=30, at_mm=0)
    with pytest.raises(BadInput, match="another part"):
        _drum(second_carrier="drive cap")
