from __future__ import annotations

from xml.etree import ElementTree

import pytest
from tests.unit.parts.examples import article, ring, socket

from strikeproof.errors import BadInput
from strikeproof.parts import draw_article, read_article, work_out, write_svg


def sheet(*parts, **keys):
    made = article(*parts, **keys)
    return draw_article(made, work_out(made))


def test_every_part_is_a_hatched_face_of_its_own_area():
    """Turned around the axis, the face of a round part makes its volume (Pappus)."""
    made = article(socket(cut=[{"kind": "bore", "size_mm": 12}]))
    faces = [stroke for stroke in draw_article(made, work_out(made)).strokes if stroke.hatch]
    assert len(faces) == 1
    points = faces[0].points
    pairs = list(zip(points, (*points[1:], points[0]), strict=True))
    moment = (
        abs(sum((a[1] + b[1]) * 0 + (a[0] - b[0]) * (a[1] ** 2 + a[1] * b[1] + b[1] ** 2) for a, b in pairs))
        / 6
    )
    volume = 2 * 3.141592653589793 * moment * 1e-9
    assert volume * 7850 == pytest.approx(work_out(made).mass)


def test_overall_length_diameters_and_hole_are_told():
    words = {each.text for each in sheet(socket(), ring()).words}
    assert {"80", "⌀34", "⌀80", "20", "18", "45"} <= words
    assert any(word.startswith("⬡24.1") for word in words)
    assert any(word.startswith("□12.9") or word.startswith("□12.8") for word in words)


def test_the_part_list_has_a_row_a_part_and_the_whole():
    words = [each.text for each in sheet(socket(), ring()).words]
    for text in ("socket", "ring", "whole article", "weld", "S355J2", "4140 at 45 HRC"):
        assert text in words


def test_all_is_on_the_sheet():
    torus = {"name": "o", "shape": "ring", "material": "S355J2", "carrier": "ring"}
    drawing = sheet(socket(), ring(), torus | {"outer_diameter_mm": 94, "ring_stock_mm": 7})
    (left, bottom), (width, height) = drawing.corner, drawing.size
    for stroke in drawing.strokes:
        for x, y in stroke.points:
            assert left <= x <= left + width and bottom <= y <= bottom + height


def test_svg_is_sound_and_keeps_odd_names():
    root = ElementTree.fromstring(write_svg(sheet(socket(), name="<24> & co")))
    assert root.find("{http://www.w3.org/2000/svg}title").text == "<24> & co"
    assert root.attrib["width"].endswith("mm")


def test_the_same_article_gives_the_same_bytes():
    assert write_svg(sheet(socket(), ring())) == write_svg(sheet(socket(), ring()))


def test_an_article_without_parts_cannot_be_drawn():
    made = read_article({"name": "a", "polar_inertia_kg_m2": 6e-5})
    with pytest.raises(BadInput, match="no part to draw"):
        draw_article(made, work_out(made))
