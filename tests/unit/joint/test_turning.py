"""A left-hand bolt driven in reverse is tightened: direction, rotation and hand agree, or it is said."""

import pytest

from strikeproof.errors import BadInput
from strikeproof.joint import parse_bolt, parse_thread, settle_turning


@pytest.mark.parametrize(
    ("direction", "rotation", "hand", "expected"),
    [
        (None, None, None, ("tighten", "forward", "right")),
        (None, "reverse", None, ("loosen", "reverse", "right")),
        (None, "reverse", "left", ("tighten", "reverse", "left")),
        (None, "forward", "left", ("loosen", "forward", "left")),
        (None, None, "left", ("tighten", "reverse", "left")),
        ("loosen", None, "right", ("loosen", "reverse", "right")),
        ("loosen", None, "left", ("loosen", "forward", "left")),
        ("tighten", "reverse", "left", ("tighten", "reverse", "left")),
    ],
)
def test_what_is_not_given_follows_from_what_is(direction, rotation, hand, expected):
    turning = settle_turning(direction, rotation, hand)
    assert (turning.direction, turning.rotation, turning.hand) == expected
    assert settle_turning(*expected) == turning


@pytest.mark.parametrize("given", [("tighten", "reverse", None), ("tighten", "forward", "left")])
def test_a_contradiction_is_named_with_what_would_follow(given):
    with pytest.raises(BadInput, match="cannot tighten") as wrong:
        settle_turning(*given)
    assert wrong.value.allowed == "loosen" and "rotation" in wrong.value.fix


@pytest.mark.parametrize(
    "text", ["M20x2.5-LH", "M20 LH", "M20x2.5 - 6g - LH", "M20x2.5 left-hand", "3/4-16 UNF LH"]
)
def test_lh_in_the_designation_is_a_left_hand_thread(text):
    """ISO 965-1: left-hand threads carry the letters LH (from memory)."""
    thread = parse_thread(text)
    assert thread.hand == "left" and thread.designation.endswith("-LH")
    assert parse_thread(thread.designation) == thread
    right = parse_thread(thread.designation.removesuffix("-LH"))
    assert right.hand == "right" and right.stress_area == thread.stress_area


def test_the_class_stands_before_or_after_the_hand():
    for text in ("M24x2-LH 10.9", "M24x2 10.9 LH"):
        thread, strength = parse_bolt(text)
        assert (thread.designation, strength.name) == ("M24x2-LH", "10.9")
    assert parse_thread("M20-RH").designation == "M20x2.5"
