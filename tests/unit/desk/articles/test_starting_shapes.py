"""Every starting shape can be worked out, drawn and hammered with, whatever the sizes."""

import itertools

import pytest

from strikeproof.desk.articles.article import describe_article
from strikeproof.desk.articles.starting_shapes import SHAPES, start_article
from strikeproof.errors import BadInput, NotFound

HEADS = (10, 13, 16, 19, 24, 27, 30, 36, 46, 60)
DRIVES = (6.3, 9.5, 12.7, 19.05, 25.4, 38.1)


@pytest.mark.parametrize("shape", SHAPES, ids=lambda shape: shape.word)
def test_a_shape_holds_together_at_every_size(shape) -> None:
    for head, drive in itertools.product(HEADS, DRIVES):
        table = start_article(shape.word, "start", head, drive)
        facts = describe_article({"article": table}, peak_torque=1.0)
        assert facts.properties.mass > 0 and not facts.stop, (head, drive)
        assert facts.drawing().strokes


def test_a_ring_adds_inertia_and_an_extension_takes_stiffness() -> None:
    plain, ringed, extension = (
        describe_article({"article": start_article(word, "x", 24, 12.7)}).properties
        for word in ("plain", "ringed", "extension")
    )
    assert ringed.polar_inertia > 5 * plain.polar_inertia
    assert extension.stiffness < 0.5 * plain.stiffness


def test_a_plain_24_socket_is_of_the_usual_inertia() -> None:
    """A deep half-inch socket of 24 mm is about 6e-5 kg·m² (a prior, from memory); a plain one is less."""
    plain = describe_article({"article": start_article("plain", "x", 24, 12.7)}).properties
    deep = describe_article({"article": start_article("deep", "x", 24, 12.7)}).properties
    assert 1.5e-5 < plain.polar_inertia < 6e-5 < 2 * deep.polar_inertia


def test_what_is_not_there_is_named() -> None:
    with pytest.raises(NotFound, match="did you mean 'ringed'"):
        start_article("ring", "x", 24, 12.7)
    with pytest.raises(BadInput, match="8 to 80 mm"):
        start_article("plain", "x", 200, 12.7)
