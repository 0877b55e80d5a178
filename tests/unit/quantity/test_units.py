"""A number with its unit becomes plain SI, and only units of the kind that is asked for are taken."""

import math

import pytest

from strikeproof.errors import BadInput
from strikeproof.quantity import from_si, parse_quantity, to_si, unit_label
from strikeproof.quantity.units import _COMMON, _library_factor


@pytest.mark.parametrize(("unit", "kind"), list(_COMMON))
def test_the_common_units_are_what_the_library_says(unit: str, kind: str) -> None:
    assert _COMMON[unit, kind] == pytest.approx(_library_factor(unit, kind), rel=1e-15)


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
        # NIST SP 811 (2008), appendix B.8: 1 lbf·ft = 1.355 818 N·m, 1 psi = 6 894.757 Pa, 1 kgf = 9.806 65 N
        ("300 lbf ft", "torque", 300 * 1.355818),
        ("300 lb-ft", "torque", 300 * 1.355818),
        ("90 psi", "pressure", 90 * 6894.757),
        ("5 kgf m", "torque", 5 * 9.80665),
        ("6.2 bar", "pressure", 6.2e5),
        ("2 deg", "angle", math.radians(2)),
        ("6e-5 kg m2", "inertia", 6e-5),
        ("24 mm", "length", 0.024),
        ("1.5 in", "length", 0.0381),
    ],
)
def test_a_quantity_as_people_write_it(text: str, kind: str, expected: float) -> None:
    assert parse_quantity(text, kind) == pytest.approx(expected, rel=1e-6)


@pytest.mark.parametrize(
    ("text", "kind"),
    [
        ("400 J", "torque"),
        ("10 N", "time"),
        ("10", "time"),
        ("", "time"),
        ("s", "time"),
        ("3 blorg", "force"),
    ],
)
def test_another_kind_is_refused_with_an_example(text: str, kind: str) -> None:
    with pytest.raises(BadInput, match="write it like"):
        parse_quantity(text, kind)


def test_there_and_back() -> None:
    assert from_si(to_si(12.5, "lbf ft", "torque"), "lbf ft", "torque") == pytest.approx(12.5)


def test_units_are_printed_as_the_trade_does() -> None:
    assert (unit_label("N m"), unit_label("lbf ft"), unit_label("kN")) == ("N·m", "lbf·ft", "kN")
