"""Numbers typed with a comma: refused wherever they can be read in two ways, with both readings named."""

from __future__ import annotations

import pytest
from pydantic import TypeAdapter, ValidationError

from strikeproof.campaign.values import Duration, Score, Supply
from strikeproof.desk.safety.supply import supply_ratio
from strikeproof.desk.simulating.bench import override, read_setup
from strikeproof.errors import BadInput
from strikeproof.parts.fields import Fields, Range
from strikeproof.quantity import parse_quantity

BOTH = r"can be read in two ways, as 1234 or as 1\.234"


@pytest.mark.parametrize(
    ("kind", "text"),
    [
        (Score, "time to 1,234 N m"),
        (Score, "at 1,234 s"),
        (Duration, "1,234 s"),
        (Supply, "1,234 V"),
    ],
)
def test_a_campaign_says_both_readings(kind: object, text: str) -> None:
    with pytest.raises(ValidationError, match=BOTH):
        TypeAdapter(kind).validate_python(text)


@pytest.mark.parametrize(
    ("text", "level"), [("1.234,5", 1234.5), ("1 234", 1234.0), ("1,2", 1.2), ("1'234.5", 1234.5)]
)
def test_a_level_is_read_as_any_number(text: str, level: float) -> None:
    rule = TypeAdapter(Score).validate_python(f"time to {text} N m")
    assert (rule.level, rule.level_unit) == (level, "N m")


@pytest.mark.parametrize("text", ["1 23 N m", "1  234 N m", "1234,5 ,6 N m"])
def test_two_numbers_are_not_taken_for_a_unit(text: str) -> None:
    with pytest.raises(BadInput, match="more than one number"):
        parse_quantity(text, "torque")
    assert parse_quantity("22 1/s", "frequency") == 22.0  # this unit begins with a digit


def test_what_is_set_for_a_simulation_says_both_readings() -> None:
    for change in (("protocol.score", "time to 1,234 N m"), ("protocol.duration", "1,234 s")):
        with pytest.raises(BadInput, match=BOTH):
            read_setup(override({}, [change]))


def test_a_supply_says_both_readings() -> None:
    with pytest.raises(BadInput, match=BOTH):
        supply_ratio("spring-and-cam", "1,234 V")


def test_a_size_of_a_part_or_a_brief_says_both_readings() -> None:
    fields = Fields({"length_mm": "1,234 mm"}, "part 'a'", {"length_mm": Range(0.0, 9e3)})
    with pytest.raises(BadInput) as caught:
        fields.maybe("length_mm")
    assert caught.value.fix == "write 1234 or 1.234"
