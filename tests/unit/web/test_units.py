"""Units that a person chose: conversions against the definitions, and what a cookie may hold."""

from __future__ import annotations

import pytest

from strikeproof.errors import BadInput
from strikeproof.web.units import Units, units_of

US = Units(force="lbf", torque="lbf ft", length="in", mass="lb")


def test_values_convert_by_the_international_yard_and_pound() -> None:
    """1 in = 25.4 mm, 1 lb = 0.45359237 kg exactly; g_n = 9.80665 m/s² (NIST SP 811, 2008, app. B)."""
    pound, gravity, foot = 0.45359237, 9.80665, 0.3048
    assert US.from_si(1.0, "mass") == pytest.approx(1 / pound, rel=1e-12)
    assert US.from_si(1.0, "force") == pytest.approx(1 / (pound * gravity), rel=1e-12)
    assert US.from_si(1.0, "torque") == pytest.approx(1 / (pound * gravity * foot), rel=1e-12)
    assert US.from_si(0.0254, "length") == pytest.approx(1.0, rel=1e-12)


def test_a_value_is_written_in_the_chosen_unit_whatever_it_was_measured_in() -> None:
    assert Units().write(123456.0, "force") == "123.5 kN"
    assert US.write_in(100.0, "N m", 1.0) == "73.76 ± 0.74 lbf·ft"
    assert US.write_in(12.5, "reading") == "12.50 arb. unit"
    assert US.write_in(None, "N m") == "–"
    assert Units().convert(2.0, "s") == (2.0, "s")


def test_a_typed_number_is_in_the_chosen_unit_unless_it_names_its_own() -> None:
    assert US.read("2", "length") == pytest.approx(0.0508)
    assert US.read("20 mm", "length") == pytest.approx(0.02)
    assert Units().read("20,5", "length") == pytest.approx(0.0205)
    with pytest.raises(BadInput):
        US.read("two", "length")
    with pytest.raises(BadInput):
        US.read("2 kg", "length")


def test_a_choice_survives_its_cookie() -> None:
    assert units_of({"strikeproof_units": US.as_cookie()}) == US


@pytest.mark.parametrize("text", ["", "x", "9.9.9.9", "1.1.1", "1.1.1.1.1", "-1.0.0.0", "²"])
def test_a_strange_cookie_gives_usual_units(text: str) -> None:
    assert units_of({"strikeproof_units": text}) == Units()
