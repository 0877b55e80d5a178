"""A hole that takes a square or a hexagon away is told, with the part and what would fix it."""

from __future__ import annotations

import tomllib
from importlib.resources import files

import pytest
from tests.unit.parts.examples import article, extension, socket

from strikeproof.desk.articles.article import describe_article
from strikeproof.desk.articles.starting_shapes import SHAPES, start_article
from strikeproof.parts import read_article, tell_swallowed

SQUARE = {"kind": "square drive", "size_mm": 12.5, "depth_mm": 18}
HEXAGON = {"kind": "hexagon", "size_mm": 24, "depth_mm": 45}


def told(*cuts: dict[str, object], **changes: object) -> tuple[str, ...]:
    return tell_swallowed(article(socket(cut=[SQUARE, HEXAGON, *cuts], **changes)))


def test_a_bore_right_through_that_is_wider_than_the_square() -> None:
    (text,) = told({"kind": "bore", "size_mm": 22})
    assert text.startswith("'socket': the bore of 22 mm takes its square drive away")
    assert "depth_mm = 62 or less" in text
    assert told({"kind": "bore", "size_mm": 22, "depth_mm": 62}) == ()


def test_a_bore_from_the_square_s_own_end_can_only_be_narrower() -> None:
    (text,) = told({"kind": "bore", "size_mm": 22, "end": "drive", "depth_mm": 30})
    assert "make it narrower than" in text and "depth_mm =" not in text


def test_a_bore_that_both_stand_around_takes_nothing() -> None:
    assert told({"kind": "bore", "size_mm": 12}) == ()


def test_a_short_lead_in_leaves_the_hexagon_to_press_on() -> None:
    """The head presses over 0.42 of its width, some 10 mm of the 45."""
    assert told({"kind": "bore", "size_mm": 30, "depth_mm": 30}, outer_diameter_mm=40) == ()
    (text,) = told({"kind": "bore", "size_mm": 30, "depth_mm": 40}, outer_diameter_mm=40)
    assert "takes its hexagon away" in text


def test_a_hexagon_as_deep_as_the_part_takes_the_square_away() -> None:
    cuts = [SQUARE, {**HEXAGON, "depth_mm": 80}]
    (text,) = tell_swallowed(article(socket(cut=cuts)))
    assert "the hexagon of" in text and "depth_mm = 62 or less" in text


def test_a_shank_without_holes_says_nothing() -> None:
    assert tell_swallowed(article(extension(100))) == ()


def test_it_is_among_the_cautions_after_a_stop() -> None:
    table = {"name": "through", "part": [socket(cut=[SQUARE, HEXAGON, {"kind": "bore", "size_mm": 22}])]}
    cautions = describe_article(table, peak_torque=5000.0).cautions
    assert cautions[0].startswith("STOP")
    assert any("takes its square drive away" in text for text in cautions)


@pytest.mark.parametrize("shape", [each.word for each in SHAPES])
def test_no_starting_shape_has_one(shape: str) -> None:
    for head in (13, 24, 46):
        assert tell_swallowed(read_article(start_article(shape, "any", head, 12.7))) == ()


def test_no_article_of_the_demo_has_one() -> None:
    text = (files("strikeproof.desk") / "templates" / "demo-campaign.toml").read_text(encoding="utf-8")
    for table in tomllib.loads(text.replace("SEED", "1"))["article"]:
        assert tell_swallowed(read_article(table)) == ()
