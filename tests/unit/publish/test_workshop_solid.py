"""Solid models, where the optional CAD extra is installed; a clear word where it is not."""

from importlib.util import find_spec

import pytest

from strikeproof.errors import BadInput
from strikeproof.parts import read_article, work_out
from strikeproof.parts.layout import place
from strikeproof.publish.workshop import write_step

ARTICLE = read_article(
    {
        "name": "x",
        "part": [
            {
                "name": "socket",
                "shape": "bar",
                "outer_diameter_mm": 38,
                "length_mm": 50,
                "material": "A36",
                "cut": [
                    {"kind": "square drive", "size_mm": 12.5, "depth_mm": 18},
                    {"kind": "twelve-point", "size_mm": 27, "depth_mm": 25},
                    {"kind": "bore", "size_mm": 11},
                    {"kind": "cross hole", "size_mm": 4, "at_mm": 9, "walls": 1},
                ],
            },
            {
                "name": "hoop", "shape": "ring", "ring_stock_mm": 8, "outer_diameter_mm": 54,
                "material": "A36", "carrier": "socket", "bond": "rigid",
            },
        ],
    }
)  # fmt: skip


@pytest.mark.skipif(find_spec("build123d") is not None, reason="the CAD extra is installed")
def test_without_the_extra_it_is_named(tmp_path):
    with pytest.raises(BadInput, match=r"strikeproof\[cad\]"):
        write_step(ARTICLE, tmp_path / "x.step")


def test_bodies_have_the_size_and_volume_of_the_parts(tmp_path):
    """Volumes of the CAD kernel against those that the mass is from; cross holes to a hundredth."""
    cad = pytest.importorskip("build123d", reason="the CAD extra is not installed")
    write_step(ARTICLE, tmp_path / "x.step")
    read = cad.import_step(str(tmp_path / "x.step"))
    assert sorted(child.label for child in read.children) == ["hoop", "socket"]
    own = {each.part.name: each.solid.volume * 1e9 for each in place(ARTICLE)}
    for child in read.children:
        assert child.volume == pytest.approx(own[child.label], rel=0.01)
    length = read.bounding_box().size.Z
    assert length == pytest.approx(work_out(ARTICLE).length * 1e3, abs=0.01)
