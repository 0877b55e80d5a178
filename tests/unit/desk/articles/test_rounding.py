from __future__ import annotations

import pytest
from tests.unit.desk.articles.test_life_words import SOCKET

from strikeproof.desk.articles.article import describe_article
from strikeproof.desk.articles.rounding import ROUNDS_AT


def says(peak: float) -> list[str]:
    facts = describe_article({"name": "ordinary", "part": [SOCKET]}, peak)
    return [each for each in facts.cautions if "rounds off" in each]


def test_a_head_is_named_from_the_torque_that_rounds_it() -> None:
    """Six corners, 0.12 of the flats wide, under three times 640 MPa."""
    facts = describe_article({"name": "ordinary", "part": [SOCKET]}, 500.0)
    rounds = ROUNDS_AT / (facts.properties.sections[-1].contact * 0.05 / 0.12)
    assert rounds == pytest.approx(1227.0, rel=0.01)
    assert not says(0.99 * rounds)
    assert len(says(1.01 * rounds)) == 1 and "1.9 GPa" in says(1.01 * rounds)[0]


def test_what_ends_in_a_square_rounds_no_head() -> None:
    shank = {
        "name": "shank",
        "shape": "bar",
        "outer_diameter_mm": 20,
        "length_mm": 60,
        "material": "A36",
    }
    facts = describe_article({"name": "x", "part": [shank]}, 5000.0)
    assert not any("rounds off" in each for each in facts.cautions)
