"""A workshop sheet: nothing hides a figure, everything is on the paper, sizes are true."""

import tomllib
from importlib.resources import files
from itertools import combinations

import pytest

from strikeproof.errors import BadInput
from strikeproof.parts import Words, read_article, work_out
from strikeproof.publish.article_drawing import write_dxf, write_pdf
from strikeproof.publish.workshop import Title, at_full_size, draw_workshop_sheet

TITLE = Title("Socket with a ring, welded on both sides", "liner bolts", "46.20 EUR", "strikeproof")
DEMO = tomllib.loads(
    (files("strikeproof.desk") / "templates" / "demo-campaign.toml").read_text().replace("SEED", "1")
)
ARTICLES = {table["name"]: table for table in DEMO["article"]}


def drawn(table):
    article = read_article(table)
    return draw_workshop_sheet(article, work_out(article), TITLE)


def box(words: Words) -> tuple[float, float, float, float]:
    """About what a text takes, a little less than its face so that what touches does not count."""
    wide, high = 0.45 * words.height * len(words.text), 0.65 * words.height
    x, y = words.at
    left = {"start": 0.0, "middle": -wide / 2, "end": -wide}[words.anchor]
    if words.turned:
        return x - high, y + left, x, y + left + wide
    return x + left, y, x + left + wide, y + high


@pytest.mark.parametrize("name", ARTICLES)
def test_no_words_lie_on_other_words(name):
    sheet, _scale = drawn(ARTICLES[name])
    for one, other in combinations(sheet.words, 2):
        a, b = box(one), box(other)
        apart = a[2] <= b[0] or b[2] <= a[0] or a[3] <= b[1] or b[3] <= a[1]
        assert apart, (one.text, other.text)


@pytest.mark.parametrize("name", ARTICLES)
def test_everything_is_on_the_paper(name):
    sheet, _scale = drawn(ARTICLES[name])
    (left, bottom), (width, height) = sheet.corner, sheet.size
    for words in sheet.words:
        x0, y0, x1, y1 = box(words)
        assert left <= x0 and x1 <= left + width and bottom <= y0 and y1 <= bottom + height, words.text
    for stroke in sheet.strokes:
        assert all(left <= x <= left + width and bottom <= y <= bottom + height for x, y in stroke.points)


@pytest.mark.parametrize("name", ["ring-27", "plain-27", "extension-125"])
def test_the_cut_face_has_the_article_s_true_length_at_full_size(name):
    sheet, scale = drawn(ARTICLES[name])
    full = at_full_size(sheet, scale)
    xs = [x for stroke in full.strokes if stroke.hatch for x, _y in stroke.points]
    length = work_out(read_article(ARTICLES[name])).length
    assert max(xs) - min(xs) == pytest.approx(length * 1e3, abs=1e-6)


def test_a_welder_finds_bead_heat_and_place():
    sheet, _scale = drawn(ARTICLES["ring-27"])
    words = " ".join(each.text for each in sheet.words)
    for told in (
        "W1",
        "fillet a4",
        "all round",
        "preheat to about 300 °C",
        "⌀72",
        "⌀38",
        "17",
        "1 : 1 on A4",
    ):
        assert told in words
    assert "12.76 to 13.03" in words  # the female square of ISO 1174-1


def test_a_press_fit_says_what_is_bored_to_what():
    sheet, _scale = drawn(ARTICLES["soft-ring-27"])
    assert "⌀37.980" in " ".join(each.text for each in sheet.words)


def test_it_is_written_as_pdf_and_dxf_the_same_each_time():
    sheet, scale = drawn(ARTICLES["ring-27"])
    assert write_pdf(sheet) == write_pdf(sheet)
    assert "preheat" in write_dxf(at_full_size(sheet, scale))


def test_an_article_without_parts_cannot_be_drawn():
    article = read_article({"name": "x", "mass_kg": 1.0, "polar_inertia_kg_m2": 1e-4})
    with pytest.raises(BadInput, match="no part"):
        draw_workshop_sheet(article, work_out(article), TITLE)
