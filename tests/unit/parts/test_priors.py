"""Articles of usual dimensions against figures computed for this project with independent scripts."""

from __future__ import annotations

import pytest
from tests.unit.parts.examples import article, extension, socket

from strikeproof.parts import find_material, work_out
from strikeproof.parts.sections import twist
from strikeproof.parts.shapes import Outline


@pytest.mark.parametrize(("flats", "expected"), [(12.7e-3, 28.9e3), (19.05e-3, 146e3)])
def test_a_drive_square_ten_millimetres_long(flats, expected):
    """G·J/L in N·m/rad; 1.5 % because their G was 79 GPa."""
    steel = find_material("4140 at 45 HRC")
    found = steel.shear_modulus * twist(Outline("square", flats), None).constant / 0.010
    assert found == pytest.approx(expected, rel=0.015)


@pytest.mark.parametrize(
    ("length", "diameter", "expected"),
    [(75, 15.5, 6.0e3), (125, 15.5, 3.6e3), (250, 15.5, 1.8e3), (100, 22, 18e3), (250, 22, 7.3e3)],
)
def test_extensions(length, diameter, expected):
    """Stiffness of the shank in N·m/rad; 3 % because the figures are rounded and the diameter is fitted."""
    assert work_out(article(extension(length, diameter))).stiffness == pytest.approx(expected, rel=0.03)


def test_a_long_extension_has_two_or_three_lumps():
    assert len(work_out(article(extension(250))).lumps) == 3
    assert len(work_out(article(extension(75))).lumps) == 1


def _plain(diameter, length, flats, drive, depth):
    cut = [
        {"kind": "square drive", "size_mm": drive, "depth_mm": 1.3 * drive},
        {"kind": "hexagon", "size_mm": flats, "depth_mm": depth},
        {"kind": "bore", "size_mm": 0.9 * drive},
    ]
    return article(socket(outer_diameter_mm=diameter, length_mm=length, cut=cut))


@pytest.mark.parametrize(
    ("sizes", "expected"),
    [
        ((28, 38, 19, 12.5, 12), 1.4e-5),
        ((34, 80, 24, 12.5, 45), 6e-5),
        ((43, 50, 30, 12.5, 20), 1e-4),
        ((54, 57, 36, 20, 25), 2.7e-4),
    ],
)
def test_reference_sockets(sizes, expected):
    """Polar inertia in kg·m² within a third: their dimensions are not told, these are usual ones."""
    assert work_out(_plain(*sizes)).polar_inertia == pytest.approx(expected, rel=0.33)


def test_the_wall_of_a_socket_is_stiffer_than_its_contacts():
    """Common practice, no source: hexagon, wall and head together have 15e3 to 100e3 N·m/rad."""
    assert work_out(article(socket())).stiffness > 100e3
