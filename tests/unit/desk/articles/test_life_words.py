from __future__ import annotations

import pytest

from strikeproof.desk.articles.article import describe_article
from strikeproof.desk.articles.life_words import LIFE_UNSURE, count_blows, tell_life, tell_near, tell_static
from strikeproof.parts import Margin

SOCKET = {
    "name": "socket",
    "shape": "bar",
    "outer_diameter_mm": 28,
    "length_mm": 38,
    "material": "4140 at 45 HRC",
    "cut": [
        {"kind": "square drive", "size_mm": 12.5, "depth_mm": 16},
        {"kind": "hexagon", "size_mm": 19, "depth_mm": 15},
        {"kind": "bore", "size_mm": 12},
    ],
}


@pytest.mark.parametrize(
    ("blows", "words"),
    [(0.4, "0"), (827.4, "830"), (71_408.0, "71 000"), (1.26e6, "1.3 million"), (3e9, "over 10 million")],
)
def test_blows_are_counted_to_two_digits(blows, words):
    assert count_blows(blows, "wall") == words


def test_a_life_is_told_with_both_survivals():
    known = Margin("socket", "wall", 2.0, 0.5, 400.0, 1200.0, 5100.0)
    assert tell_life(known) == "about 1 200 blows at 90 % survival, 5 100 at 50 %"
    assert tell_life(Margin("ring", "press fit", 2.0, None, 400.0)) == "–"


def test_a_finite_life_is_never_said_without_its_blows():
    facts = describe_article({"name": "ordinary", "part": [SOCKET]}, 500.0)
    finite = [text for text in facts.cautions if "has a finite life" in text]
    assert finite and all("blows at 90 % survival" in each for each in finite)
    assert LIFE_UNSURE in facts.cautions
    assert any("finite life: about" in verdict for _label, _value, verdict in facts.lines())


def test_a_place_that_cracks_within_ten_million_blows_does_not_hold():
    """Above the knee of the median line nine of ten may still crack."""
    assert Margin("socket", "wall", 6.8, 1.05, 262.0, 405e3, 1.57e6).verdict == "finite life"
    assert Margin("socket", "wall", 6.8, 1.4, 200.0, 2e7, 8e7).verdict == "holds"


def test_a_weld_holds_from_a_hundred_million_blows():
    """Its line falls with slope 5 up to there: EN 1993-1-9, detail 8 (from memory)."""
    weld = Margin("ring", "weld", 9.0, 1.4, 100.0, 2e7, 4e7)
    assert weld.verdict == "finite life"
    assert tell_life(weld) == "about 20 million blows at 90 % survival, 40 million at 50 %"
    assert Margin("ring", "weld", 9.0, 1.4, 100.0, 1e8, 2e8).verdict == "holds"


def test_a_wall_margin_says_how_far_it_may_be_off():
    wall, weld = Margin("socket", "wall", 1.234, 0.9, 400.0), Margin("ring", "weld", 1.1, None, 400.0)
    assert tell_static(wall.static, wall.static_uncertainty) == "1.23 (±20 %) times"
    assert tell_static(weld.static, weld.static_uncertainty) == "1.10 times"
    assert len(list(tell_near([wall, weld, Margin("socket", "wall", 1.3, 0.9, 400.0)]))) == 1
    facts = describe_article({"name": "ordinary", "part": [SOCKET]}, 1000.0)
    assert any("may give at its peak" in each for each in facts.cautions)
    assert any("(±20 %) times the peak of" in value for _label, value, _verdict in facts.lines())
