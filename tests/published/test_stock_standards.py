"""Stock against the standards, typed here a second time.

Sources
-------
ASME B36.10M, pipe: outside diameters in inches (from memory), walls as in the `fluids` library's tables.
EN 10255 (walls of BS 1387), tube; outside diameters from memory.
ISO 4032 nuts, ISO 7089 washers; DIN 6334 long nuts and DIN 934 nuts (from memory).
ISO 1174-1 drive squares (from memory); ASA B5.38-1958 in inches.
"""

from __future__ import annotations

import math

import pytest

from strikeproof.errors import NotFound
from strikeproof.parts.stock import drive_square, find_stock, stock_names


@pytest.mark.parametrize(
    ("size", "inches", "walls"),
    [
        ("1/2", 0.840, (2.77, 3.73, 4.78)),
        ("3/4", 1.050, (2.87, 3.91, 5.56)),
        ("1", 1.315, (3.38, 4.55, 6.35)),
        ("1 1/4", 1.660, (3.56, 4.85, 6.35)),
        ("1 1/2", 1.900, (3.68, 5.08, 7.14)),
        ("2", 2.375, (3.91, 5.54, 8.74)),
        ("2 1/2", 2.875, (5.16, 7.01, 9.53)),
        ("3", 3.500, (5.49, 7.62, 11.13)),
    ],
)
def test_pipe_after_asme_b36_10m(size, inches, walls):
    """Millimetres in the standard are rounded to 0.1 mm: 0.06 mm of tolerance."""
    for schedule, wall in zip((40, 80, 160), walls, strict=True):
        item = find_stock(f"pipe NPS {size} sch {schedule}")
        assert item.outer.size == pytest.approx(inches * 0.0254, abs=0.06e-3)
        assert item.bore is not None
        assert (item.outer.size - item.bore.size) / 2 == pytest.approx(wall * 1e-3)


def test_tube_after_en_10255():
    for size, outside, medium, heavy in ((15, 21.3, 2.6, 3.2), (32, 42.4, 3.2, 4.0), (80, 88.9, 4.0, 5.0)):
        for weight, wall in (("medium", medium), ("heavy", heavy)):
            item = find_stock(f"tube DN {size} {weight}")
            assert item.outer.size == pytest.approx(outside * 1e-3)
            assert item.bore is not None
            assert item.bore.size == pytest.approx((outside - 2 * wall) * 1e-3)


def test_mass_per_metre_of_nps_2_schedule_40():
    """ASME B36.10M, Table 1: 5.44 kg/m with steel of 7850 kg/m³ (from memory); three digits printed."""
    item = find_stock("pipe NPS 2 sch 40")
    assert item.bore is not None
    assert (item.outer.area - item.bore.area) * 7850 == pytest.approx(5.44, rel=2e-3)


@pytest.mark.parametrize(
    ("thread", "flats", "height"),
    [
        ("M12", 18, 10.8),
        ("M16", 24, 14.8),
        ("M20", 30, 18),
        ("M24", 36, 21.5),
        ("M30", 46, 25.6),
        ("M36", 55, 31),
    ],
)
def test_nuts_after_iso_4032_and_din_6334(thread, flats, height):
    """ISO 4032: across flats and largest height. DIN 6334: the same flats, three diameters long."""
    nut, long = find_stock(f"nut {thread}"), find_stock(f"long nut {thread}")
    assert (nut.outer.kind, nut.outer.size) == ("hexagon", pytest.approx(flats * 1e-3))
    assert nut.length == pytest.approx(height * 1e-3)
    assert long.outer.size == pytest.approx(flats * 1e-3)
    assert long.length == pytest.approx(3 * float(thread[1:]) * 1e-3)


def test_old_nuts_differ_where_din_934_does():
    for thread, flats in (("M10", 17), ("M12", 19), ("M14", 22), ("M22", 32)):
        assert find_stock(f"old nut {thread}").outer.size == pytest.approx(flats * 1e-3)


def test_nut_bore_is_the_minor_diameter_of_iso_724():
    """ISO 724: D1 of M24 is 20.752 mm."""
    bore = find_stock("nut M24").bore
    assert bore is not None
    assert bore.size == pytest.approx(20.752e-3, abs=1e-6)


def test_washer_after_iso_7089():
    item = find_stock("washer M20")
    assert item.bore is not None
    assert (item.bore.size, item.outer.size, item.length) == pytest.approx((21e-3, 37e-3, 3e-3))


@pytest.mark.parametrize(
    ("nominal", "male_inches", "female_inches"),
    [
        (6.3, (0.247, 0.252), (0.253, 0.258)),
        (10, (0.372, 0.377), (0.378, 0.383)),
        (12.5, (0.497, 0.502), (0.503, 0.508)),
        (20, (0.747, 0.752), (0.753, 0.758)),
        (25, (0.997, 1.002), (1.004, 1.009)),
        (40, (1.498, 1.503), (1.505, 1.510)),
    ],
)
def test_drive_squares_of_the_two_standards_meet(nominal, male_inches, female_inches):
    """ISO 1174-1 in the middle of its limits lies by the limits of ASA B5.38; ISO's holes may be wider."""
    square = drive_square(nominal * 1e-3)
    low, high = (each * 0.0254 for each in male_inches)
    assert low - 0.05e-3 <= square.male <= high + 0.05e-3
    low, high = (each * 0.0254 for each in female_inches)
    assert low - 0.05e-3 <= square.female <= high + 0.2e-3
    assert math.isclose(drive_square(square.male).male, square.male)


@pytest.mark.parametrize("name", stock_names())
def test_every_name_of_stock_is_found(name):
    assert find_stock(name).name == name


def test_a_misspelt_name_gets_the_nearest():
    with pytest.raises(NotFound, match="long nut M24"):
        find_stock("long nuts M24")
