"""A number with its unit becomes plain SI, and only units of the kind that is asked for are taken."""

import math

import pint
import pytest

from strikeproof.errors import BadInput
from strikeproof.quantity import (
    KINDS,
    ending_of,
    from_si,
    is_arbitrary,
    kind_of_unit,
    parse_in_unit,
    parse_quantity,
    to_si,
    unit_label,
    unit_ratio,
)
from strikeproof.quantity.unit_table import ENDINGS, UNITS, find_factors


@pytest.mark.parametrize(
    ("unit", "kind", "si"),
    [
        # NIST Special Publication 811 (2008), appendix B.8, factors as printed there
        ("lbf", "force", 4.448222),
        ("kip", "force", 4.448222e3),
        ("kp", "force", 9.80665),
        ("kgf", "force", 9.80665),
        ("ozf", "force", 2.780139e-1),
        ("tonf", "force", 8.896443e3),  # "ton-force (2000 lbf)"
        ("lbf·ft", "torque", 1.355818),
        ("lbf·in", "torque", 1.129848e-1),
        ("ozf·in", "torque", 7.061552e-3),
        ("kgf·m", "torque", 9.80665),
        ("lb·ft²", "inertia", 4.214011e-2),
        ("lb·in²", "inertia", 2.926397e-4),
        ("psi", "pressure", 6.894757e3),
        ("ksi", "pressure", 6.894757e6),
        ("kgf/cm²", "pressure", 9.80665e4),
        ("bar", "pressure", 1e5),
        ("lb", "mass", 4.535924e-1),
        ("oz", "mass", 2.834952e-2),
        ("slug", "mass", 1.459390e1),
        ("in", "length", 2.54e-2),
        ("ft", "length", 3.048e-1),
        ("mil", "length", 2.54e-5),
        ("lbf/in", "stiffness", 1.751268e2),
        ("rpm", "rotation speed", 1.047198e-1),
        ("ft·lbf", "energy", 1.355818),
    ],
)
def test_units_are_worth_what_the_published_table_says(unit: str, kind: str, si: float) -> None:
    assert to_si(1.0, unit, kind) == pytest.approx(si, rel=5e-7)


_LIBRARY = pint.UnitRegistry(cache_folder=None)
_LIBRARY_NAMES = {
    "force": ("N", "kN", "MN", "mN", "daN", "lbf", "klbf", "kip", "ozf", "kgf", "gram_force"),
    "length": ("m", "mm", "cm", "um", "in", "ft", "thou"),
    "mass": ("kg", "g", "mg", "t", "lb", "oz", "slug"),
    "pressure": ("Pa", "hPa", "kPa", "MPa", "GPa", "bar", "mbar", "psi", "ksi", "atm"),
    "time": ("s", "ms", "us", "ns", "min", "h"),
    "angle": ("rad", "mrad", "deg", "turn"),
    "voltage": ("V", "mV", "uV", "kV"),
    "torque": ("N*m", "kN*m", "lbf*ft", "lbf*in", "ozf*in", "kgf*m", "kgf*cm"),
    "inertia": ("kg*m**2", "g*cm**2", "lb*in**2", "lb*ft**2", "slug*ft**2", "oz*in**2"),
    "stiffness": ("N/m", "N/mm", "kN/mm", "lbf/in"),
    "torsional stiffness": ("N*m/rad", "N*m/deg", "lbf*ft/deg"),
    "energy": ("J", "kJ", "mJ", "ft*lbf"),
    "density": ("kg/m**3", "g/cm**3", "lb/in**3"),
}


@pytest.mark.parametrize(
    ("unit", "kind"), [(unit, kind) for kind, units in _LIBRARY_NAMES.items() for unit in units]
)
def test_units_are_worth_what_a_units_library_says(unit: str, kind: str) -> None:
    """Pint, a general-purpose library of units, which knows no torque from an energy."""
    si = {"inertia": "kg*m**2", "torque": "N*m", "torsional stiffness": "N*m/rad", "density": "kg/m**3"}
    expected = _LIBRARY.Quantity(1.0, unit).to(si.get(kind, KINDS[kind].si))
    ours = {"gram_force": "gf"}.get(unit, unit)
    assert to_si(1.0, ours, kind) == pytest.approx(float(expected.magnitude), rel=1e-12)


@pytest.mark.parametrize("kind", sorted(UNITS))
def test_every_spelling_of_the_table_means_one_thing(kind: str) -> None:
    for row in UNITS[kind]:
        for spelling in map(str, row[1:]):
            assert find_factors(spelling, kind) == (row[0],), spelling
    assert kind in KINDS


@pytest.mark.parametrize(
    ("text", "kind", "expected"),
    [
        ("10 s", "time", 10.0),
        ("500 ms", "time", 0.5),
        ("0,5 s", "time", 0.5),
        ("12 min", "time", 720.0),
        ("400 N m", "torque", 400.0),
        ("400 N·m", "torque", 400.0),
        ("400Nm", "torque", 400.0),
        ("90 psi", "pressure", 90 * 6894.757),
        ("6.2 bar", "pressure", 6.2e5),
        ("2 deg", "angle", math.radians(2)),
        ("6e-5 kg m2", "inertia", 6e-5),
        ("24 mm", "length", 0.024),
        ("1.5 in", "length", 0.0381),
        ("1.1 lb", "mass", 1.1 * 0.45359237),
        ('1/2"', "length", 0.0127),
        ("3/4 in", "length", 0.01905),
        ("1 1/16 in", "length", 17 / 16 * 0.0254),
        ("1-1/16 in.", "length", 17 / 16 * 0.0254),
        ("1½ inch", "length", 0.0381),
        ("3/4-inch", "length", 0.01905),
        ("43,337.2 lbf", "force", 43337.2 * 4.4482216152605),
        ("43.337,2 lbf", "force", 43337.2 * 4.4482216152605),
        ("43 337,2 lbf", "force", 43337.2 * 4.4482216152605),
        ("43'337.2 lbf", "force", 43337.2 * 4.4482216152605),
        ("−12.5 N", "force", -12.5),
    ],
)
def test_a_quantity_as_people_write_it(text: str, kind: str, expected: float) -> None:
    assert parse_quantity(text, kind) == pytest.approx(expected, rel=1e-6)


_FOOT_POUND = 0.3048 * 0.45359237 * 9.80665  # exact: NIST SP 811 (2008), appendix B.6 (foot, pound, gravity)


@pytest.mark.parametrize(
    ("spelling", "expected"),
    [
        *(
            (each, 300 * _FOOT_POUND)
            for each in ("ft-lb", "ft-lbs", "lb-ft", "lbf·ft", "foot-pounds", "lbf ft")
        ),
        *(
            (each, 300 * _FOOT_POUND)
            for each in ("Ft. Lbs.", "FT-LBS", "ft.lb", "lb ft", "lbft", "pound-feet")
        ),
        *((each, 25 * _FOOT_POUND) for each in ("in-lb", "in lbs", "lbf*in", "inch-pounds")),
        *((each, 300.0) for each in ("Nm", "N-m", "N m", "nm", "NM", "newton metres")),
        *((each, 300 * 9.80665) for each in ("kgf·m", "kgf m", "kp·m", "mkp")),
    ],
)
def test_torque_in_every_spelling_of_the_trade(spelling: str, expected: float) -> None:
    assert parse_quantity(f"300 {spelling}", "torque") == pytest.approx(expected, rel=1e-12)
    assert kind_of_unit(spelling) == "torque"


@pytest.mark.parametrize(
    ("text", "kind"),
    [
        ("400 J", "torque"),
        ("10 N", "time"),
        ("10", "time"),
        ("", "time"),
        ("s", "time"),
        ("3 blorg", "force"),
        ("3 mn", "force"),  # milli or mega
        ("5 lbmm2", "inertia"),  # pound square millimetre, or pound-mass square metre
        ("1/0 in", "length"),
    ],
)
def test_what_is_not_clear_is_refused_with_an_example(text: str, kind: str) -> None:
    with pytest.raises(BadInput, match="write it like"):
        parse_quantity(text, kind)


def test_a_number_that_can_be_read_in_two_ways_is_refused() -> None:
    with pytest.raises(BadInput, match="two ways"):
        parse_quantity("1,234 lbf", "force")


def test_a_cell_may_have_another_unit_of_its_column() -> None:
    assert parse_in_unit("77.1 lbf", "lbf") == 77.1
    assert parse_in_unit("77,1", "lbf") == 77.1
    assert parse_in_unit("1 kN", "lbf") == pytest.approx(224.8089, rel=1e-6)  # NIST SP 811, B.8
    for text, unit in (("1 V", "lbf"), ("3 blorg", "kN"), ("3 kN", None), ("8l", "reading")):
        with pytest.raises(BadInput):
            parse_in_unit(text, unit)


@pytest.mark.parametrize(
    ("written", "wanted", "ratio"),
    [("kN", "N", 1e3), ("Nm", "N m", 1.0), ("mV", "V", 1e-3), ("kN", "reading", 1.0), ("div", "div", 1.0)],
)
def test_one_unit_in_another(written: str, wanted: str, ratio: float) -> None:
    assert unit_ratio(written, wanted) == ratio


@pytest.mark.parametrize(("written", "wanted"), [("kNn", "kN"), ("V", "kN"), ("kN", "V"), ("N m", "kN")])
def test_an_unknown_unit_or_one_of_another_kind_is_never_taken_as_it_is(written: str, wanted: str) -> None:
    with pytest.raises(BadInput):
        unit_ratio(written, wanted)


def test_readings_that_a_calibration_turns_into_loads_have_units_too() -> None:
    assert all(map(is_arbitrary, ("reading", "mV/V", "V", "counts", "div", "µε")))
    assert not any(map(is_arbitrary, ("blorg", "kNn", "ft-lsb", "")))


def test_a_key_says_its_unit_in_its_ending() -> None:
    for end, (kind, unit, _shown) in ENDINGS.items():
        found = ending_of(f"some_{end}")
        assert found is not None and found.end == end and found.factor == to_si(1.0, unit, kind)
    assert ending_of("price_per_kg") is None and ending_of("name") is None


def test_there_and_back() -> None:
    assert from_si(to_si(12.5, "lbf ft", "torque"), "lbf ft", "torque") == pytest.approx(12.5)


def test_units_are_printed_as_the_trade_does() -> None:
    assert (unit_label("N m"), unit_label("lbf ft"), unit_label("kN")) == ("N·m", "lbf·ft", "kN")
    assert (unit_label("ft-lbs"), unit_label("Nm"), unit_label("reading")) == ("lbf·ft", "N·m", "reading")


def test_a_stranger_cannot_make_a_unit_or_a_number_slow() -> None:
    for text in ("1" * 100_000, "1 " + "Nm" * 50_000, "1" + " " * 100_000 + "x", "1 " + "-" * 100_000):
        with pytest.raises(BadInput):
            parse_quantity(text, "torsional stiffness")
        assert not is_arbitrary(text)


def test_turns_a_second_are_not_taken_for_radians() -> None:
    """1/min is a turn a minute to everybody, 1/s a turn to some and a radian to others (ISO 80000-3)."""
    assert parse_quantity("60 1/min", "rotation speed") == pytest.approx(2 * math.pi)
    assert parse_quantity("1 rev/s", "rotation speed") == pytest.approx(2 * math.pi)
    with pytest.raises(BadInput, match="not a unit of rotation speed"):
        to_si(1.0, "1/s", "rotation speed")


def test_a_number_beyond_all_numbers_is_refused() -> None:
    with pytest.raises(BadInput, match="too large"):
        parse_quantity("1e999 N", "force")
