"""Numbers end at the second digit of their uncertainty (GUM 7.2.6), with a real minus sign."""

import pytest

from strikeproof.quantity import write_duration, write_number, write_percent, write_uncertain


@pytest.mark.parametrize(
    ("value", "uncertainty", "expected"),
    [
        (412.345, 5.234, "412.3 ± 5.2 N·m"),
        (0.0001234, 0.00000056, "0.00012340 ± 0.00000056 N·m"),
        (412345.0, 1234.0, "412300 ± 1200 N·m"),
        (-9.996, 0.0996, "−10.00 ± 0.10 N·m"),
        (3.5, None, "3.500 N·m"),
        (float("nan"), 1.0, "–"),
    ],
)
def test_a_value_with_its_uncertainty(value: float, uncertainty: float | None, expected: str) -> None:
    assert write_uncertain(value, uncertainty, "N·m") == expected


@pytest.mark.parametrize(
    ("value", "expected"),
    [(9.9996, "10.00"), (-0.99996, "−1.000"), (9.9994, "9.999"), (0.000099996, "0.0001000")],
)
def test_a_number_that_is_rounded_up_has_no_digit_more(value: float, expected: str) -> None:
    assert write_number(value) == expected


def test_numbers_and_percentages() -> None:
    assert write_number(None) == "–"
    assert write_number(0.0) == "0"
    assert write_number(-1234.567) == "−1235"
    assert write_percent(12.34) == "+12.3 %"
    assert write_percent(-0.01) == "0.0 %"
    assert write_percent(None) == "–"


@pytest.mark.parametrize(
    ("seconds", "words"),
    [
        (0.2, "0 s"),
        (89.4, "89 s"),
        (90.0, "2 min"),
        (1500.0, "25 min"),
        (5400.0, "1 h 30 min"),
        (36000.0, "10 h 00 min"),
    ],
)
def test_a_time_is_told_as_a_person_plans_with_it(seconds: float, words: str) -> None:
    assert write_duration(seconds) == words
