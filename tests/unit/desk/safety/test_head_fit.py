"""A socket of another size than the bolt's head is remarked, in the plan and beside the article."""

from __future__ import annotations

from typing import Any

import pytest

from strikeproof.desk.articles.starting_shapes import start_article
from strikeproof.desk.safety.head_fit import find_head, say_head_fit
from strikeproof.joint import parse_thread, usual_head


@pytest.mark.parametrize(
    ("thread", "flats"),
    [("M12", 18), ("M16", 24), ("M20x1.5", 30), ("M24x2", 36), ("M30", 46), ("M36x3", 55)],
)
def test_the_usual_head_is_that_of_iso_4014(thread: str, flats: float) -> None:
    """ISO 4014, table 1: s, width across flats."""
    assert usual_head(parse_thread(thread)) == pytest.approx(flats * 1e-3)
    head = find_head({"thread": thread})
    assert head is not None and head.flats_mm == pytest.approx(flats)


@pytest.mark.parametrize(
    ("bolt", "size", "words"),
    [
        (
            {"thread": "M20x2.5"},
            24.0,
            "is for a head of 24 mm, the bolt's head is 30 mm across flats, as is",
        ),
        ({"thread": "M20x2.5"}, 24.0, "does not go on it; where the head is another"),
        ({"thread": "M16"}, 30.0, "turns on its corners"),
        ({"thread": "M20x2.5", "head_across_flats_mm": 24.0}, 24.0, ""),
        ({"thread": "M16"}, 23.81, ""),  # 15/16 in
        ({"thread": "3/4-10 UNC"}, 24.0, ""),
        ({}, 24.0, ""),
        ({"thread": "nonsense"}, 24.0, ""),
    ],
)
def test_a_hexagon_of_another_size_is_remarked(bolt: dict[str, Any], size: float, words: str) -> None:
    article = {"name": "plain", "part": [{"cut": [{"kind": "hexagon", "size_mm": size}]}]}
    said = "; ".join(say_head_fit(bolt, [article, {"name": "weighed only"}]))
    assert (words in said) if words else not said


def test_an_article_that_starts_from_the_bolts_head_fits_it() -> None:
    bolt = {"thread": "M20x2.5"}
    head = find_head(bolt)
    assert head is not None
    assert say_head_fit(bolt, [start_article("adapter", "a", head.flats_mm, 12.5)]) == ()


def test_articles_of_one_size_are_named_in_one_line() -> None:
    articles = [
        {"name": name, "part": [{"cut": [{"kind": "hexagon", "size_mm": size}]}]}
        for name, size in (("a", 24.0), ("b", 24.0), ("c", 24.0), ("d", 27.0))
    ]
    first, second = say_head_fit({"thread": "M20x2.5"}, articles)
    assert first.startswith("a, b and c are for a head of 24 mm") and "they do not go on it" in first
    assert second.startswith("d is for a head of 27 mm") and "it does not go on it" in second
