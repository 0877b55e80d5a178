from __future__ import annotations

import math
import pickle
import re
import tomllib
from pathlib import Path

import pytest
from tests.unit.parts.examples import article, ring, socket

from strikeproof.errors import BadInput, NotFound, StrikeproofError
from strikeproof.parts import read_article, read_materials, work_out


def refused(table, *words):
    """The one line a person sees, with every word in it."""
    with pytest.raises(StrikeproofError) as caught:
        read_article(table)
    line = str(caught.value)
    assert "\n" not in line
    for word in words:
        assert word in line
    return caught.value


def with_part(**changes):
    return {"name": "a", "part": [socket(**changes)]}


def without(key):
    return {"name": "a", "part": [{k: v for k, v in socket().items() if k != key}]}


@pytest.mark.parametrize(
    ("table", "words"),
    [
        (with_part(lenght_mm=3), ("'lenght_mm'", "did you mean 'length_mm'?")),
        ({"name": "a", "prise": 3}, ("'prise'", "'price'")),
        (with_part(length_mm=-4), ("part 'socket'", "length_mm = -4", "0.1 to 3000")),
        (with_part(length_mm="long"), ("length_mm = 'long'", "a length such as")),
        (with_part(length_mm=True), ("length_mm = True", "a number")),
        (with_part(length_mm=math.nan), ("length_mm = nan", "0.1 to 3000")),
        (with_part(length_mm=math.inf), ("length_mm = inf", "0.1 to 3000")),
        (with_part(bore_mm=40), ("bore_mm = 40", "below 34", "wider bar")),
        (with_part(shape="tube", wall_mm=20), ("wall_mm = 20", "below 17")),
        (with_part(shape="tube"), ("bore_mm is missing", "wall_mm")),
        (with_part(shape="brick"), ("shape = 'brick'", "ring")),
        (with_part(material="steel9"), ("no material 'steel9'",)),
        (with_part(stock="pipe NPS 9 sch 40"), ("no stock 'pipe NPS 9 sch 40'", "'pipe NPS 3 sch 40'")),
        (with_part(stock="pipe NPS 2 sch 40"), ("outer_diameter_mm", "left out", "remove")),
        (without("length_mm"), ("length_mm is missing", "add length_mm")),
        (without("material"), ("material is missing",)),
        (with_part(cut="hole"), ("cut = 'hole'", "list")),
        (with_part(cut=[{"kind": "hexagon"}]), ("size_mm is missing",)),
        (with_part(cut=[{"kind": "hexagon", "size_mm": 40}]), ("hexagon hole", "below 29.4")),
        (with_part(cut=[{"kind": "square drive", "size_mm": 15}]), ("15 mm is not a standard", "12.5")),
        (with_part(cut=[{"kind": "bore", "size_mm": 5, "depth_mm": 99}]), ("depth_mm = 99", "0.1 to 80")),
        (with_part(cut=[{"kind": "cross hole", "size_mm": 5, "at_mm": 1}]), ("at_mm = 1", "2.5 to 77.5")),
        (with_part(cut=[{"kind": "chamfer", "size_mm": 20, "end": "bolt"}]), ("size_mm = 20", "16.66")),
        (
            with_part(cut=[{"kind": "hexagon", "size_mm": 24, "male_mm": 25}]),
            ("goes in is 25 mm", "24.17 mm", "male_mm"),
        ),
        (with_part(cut=[{"kind": "hexagon", "across_flats_mm": 24, "male_mm": 19}]), ("turns round",)),
        (with_part(eccentric_mm=-1), ("eccentric_mm = -1", "0 to 200")),
        (with_part(packing=0.5), ("packing", "only for a fill")),
        (with_part(overlap_mm=5, bond="rigid"), ("bond", "second part")),
        (with_part(at_mm=5), ("at_mm", "carrier")),
        ({"name": "a", "part": [socket(), ring(carrier="sockett")]}, ("'sockett'", "'socket'")),
        ({"name": "a", "part": [socket(), ring(at_mm=90)]}, ("at_mm = 90", "off its carrier", "-10 to 70")),
        ({"name": "a", "part": [socket(), ring(bore_mm=50)]}, ("16 mm of play", "off its carrier")),
        ({"name": "a", "part": [socket(), ring(bore_mm=30)]}, ("does not go into", "off its carrier")),
        ({"name": "a", "part": [socket(), ring(outer_diameter_mm=30)]}, ("bore", "below 30")),
        ({"name": "a", "part": [socket(), ring(bond={"kind": "weld"})]}, ("throat_mm is missing",)),
        ({"name": "a", "part": [socket(), ring(bond={"kind": "loose"})]}, ("slip_torque_n_m is missing",)),
        ({"name": "a", "part": [socket(), ring(bond="glue")]}, ("kind = 'glue'", "weld")),
        ({"name": "a", "part": [socket(), socket()]}, ("two parts are called 'socket'",)),
        (
            {"name": "a", "part": [socket(), socket(name="b", overlap_mm=5)]},
            ("overlap_mm = 5", "neither goes"),
        ),
        ({"name": "a", "part": 5}, ("part = 5", "list")),
        ({"name": "a", "part": [5]}, ("5", "a table")),
        ({"name": "a", "polar_inertia_kg_m2": 0}, ("polar_inertia_kg_m2 = 0", "1e-08 to 10")),
        ({"name": "a", "measured": {"mass_kg": 0}}, ("mass_kg = 0", "measured")),
        ({"name": "a", "measured": {"swing": {"wires": 4}}}, ("wires = 4", "2 to 3")),
    ],
)
def test_a_wrong_value_says_field_value_range_and_fix(table, words):
    refused(table, *words)


def test_an_article_needs_geometry_or_an_inertia():
    with pytest.raises(BadInput, match="polar_inertia_kg_m2"):
        work_out(read_article({"name": "a", "mass_kg": 0.3}))
    with pytest.raises(NotFound):
        read_article({"name": "a", "part": [ring()]})


def test_values_alone_make_an_article_of_one_lump():
    """The keys of a campaign's article: what is given is what comes out."""
    table = {
        "name": "plain-24",
        "price": 14.0,
        "mass_kg": 0.36,
        "polar_inertia_kg_m2": 6.0e-5,
        "stiffness_n_m_per_rad": 4.0e4,
        "hexagon_gap_deg": 2.5,
        "square_gap_deg": 1.5,
    }
    found = work_out(read_article(table))
    assert (found.mass, found.polar_inertia, found.stiffness, found.price) == (0.36, 6.0e-5, 4.0e4, 14.0)
    assert math.degrees(found.hexagon_gap) == pytest.approx(2.5)
    assert math.degrees(found.drive_gap) == pytest.approx(1.5)
    assert [lump.inertia for lump in found.lumps] == [6.0e-5]
    assert 1 / found.drive_stiffness + 1 / found.hexagon_stiffness == pytest.approx(1 / found.stiffness)
    assert found.outer_diameter is None and found.weakest is None and found.notes == ()


def test_what_is_assumed_is_said():
    found = work_out(read_article({"name": "a", "polar_inertia_kg_m2": 6e-5}))
    assert len(found.notes) == 4
    assert any("stiffness" in note for note in found.notes)


def test_given_values_win_over_geometry():
    plain = work_out(article(socket()))
    found = work_out(article(socket(), mass_kg=0.5, hexagon_gap_deg=3.0, price=9.0))
    assert (found.mass, found.price) == (0.5, 9.0)
    assert found.polar_inertia == plain.polar_inertia
    assert math.degrees(found.hexagon_gap) == pytest.approx(3.0)
    assert found.differences[0].percent == pytest.approx(100 * (0.5 / plain.mass - 1))


def test_a_length_may_be_written_with_its_unit():
    inches = work_out(article(socket(outer_diameter_mm="1.5 in")))
    assert inches.outer_diameter == pytest.approx(0.0381)


def test_nominal_and_measured_widths():
    """12.5 and 12.7 mean the same square; measured widths set the gap."""
    one, other = (
        work_out(article(socket(cut=[{"kind": "square drive", "size_mm": size}]))) for size in (12.5, 12.7)
    )
    assert one.drive_gap == other.drive_gap
    measured = [{"kind": "square drive", "across_flats_mm": 12.9, "male_mm": 12.6}]
    assert work_out(article(socket(cut=measured))).drive_gap > one.drive_gap
    worn = work_out(article(socket(), drive_across_flats_mm=12.3, bolt_across_flats_mm=23.5))
    plain = work_out(article(socket()))
    assert worn.drive_gap > plain.drive_gap


def test_articles_and_their_properties_travel_between_processes():
    made = article(socket(), ring())
    assert pickle.loads(pickle.dumps(made)) == made
    facts = work_out(made)
    assert pickle.loads(pickle.dumps(facts)) == facts


def test_the_examples_of_the_manual_are_read():
    text = (Path(__file__).parents[3] / "docs" / "articles.md").read_text(encoding="utf-8")
    blocks = [tomllib.loads(block) for block in re.findall(r"```toml\n(.*?)```", text, re.DOTALL)]
    articles = [block["article"] for block in blocks if "article" in block]
    assert len(articles) == 4
    by_values, by_parts, _drum, measured = articles
    assert work_out(read_article(by_values)).mass == 0.36
    assert len(work_out(read_article(by_parts | measured)).differences) == 3
    assert read_materials(blocks[3]["material"])["shop bronze"].density == 8800
