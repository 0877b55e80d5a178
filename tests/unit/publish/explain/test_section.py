from dataclasses import replace
from functools import cache

from tests.unit.publish.explain.sample import bare_why, sample_explanation, sample_why
from tests.unit.publish.test_page import Outline, small

from strikeproof.publish.explain import (
    Why,
    say_share,
    tell_caveats,
    tell_parameter,
    tell_sentences,
    why_section,
)
from strikeproof.publish.page import write_page


@cache
def page() -> str:
    return write_page(small(why=sample_why()))


def part() -> str:
    start = page().index('<section id="why">')
    return page()[start : page().index("</section>", start)]


def test_the_section_stands_on_the_page_only_with_an_explanation() -> None:
    assert 'href="#why"' in page()
    bare = write_page(small())
    assert 'id="why"' not in bare and 'href="#why"' not in bare


def test_sentences_come_before_tables_and_charts() -> None:
    first = part().index("foretold within 4.0")
    assert first < part().index("The explanations, and how") < part().index("<svg")


def test_the_page_with_it_is_well_formed_and_its_ids_are_its_own() -> None:
    found = Outline()
    found.feed(page())
    assert found.open == [] and found.wrong == []
    assert len(found.ids) == len(set(found.ids))
    assert {ref[1:] for ref in found.refs} <= set(found.ids)
    assert found.outside == []


def test_unknowns_are_in_words_and_in_units_of_their_size() -> None:
    assert "hammer inertia of oil_b" in part() and "hammer_inertia" not in part()
    assert "kg·mm²" in part() and "e−0" not in part()
    assert "clamp stiffness" in part() and "400" in part() and "kN/mm" in part()


def test_what_was_not_learned_is_said() -> None:
    rows = {row["name"]: row for row in map(tell_parameter, sample_explanation().parameters)}
    assert rows["clamp stiffness"]["learned"] == "nothing"
    assert rows["hammer inertia of oil_b"]["learned"] == "45 %"


def test_the_winner_is_marked_and_next_tests_tell_their_bits() -> None:
    assert part().count("(named)") == 1
    assert "125 mm extension" in part() and "1.9 bits expected: 0.3 about the explanations" in part()


def test_a_quick_answer_and_articles_left_aside_are_told() -> None:
    assert "This was a quick answer" in part()
    assert "odd-24 is left out" in part()
    assert "friction is not given" in part()


def test_a_campaign_that_says_too_little_gets_its_sentences_and_nothing_else() -> None:
    text = write_page(small(why=bare_why("Cannot tell: no explanation can be compared with another yet.")))
    assert "no explanation can be compared with another yet" in text
    assert "chart-why" not in text and "The explanations, and how" not in text


def test_no_test_is_said_to_settle_anything() -> None:
    """Tests are ranked by what they are expected to tell; none is sure to settle it."""
    open_one = replace(sample_explanation(), verdict="cannot tell")
    for text in (write_page(small(why=Why(open_one))), part()):
        assert "What would teach most next" in text and "settle it" not in text


def test_names_from_outside_cannot_become_markup() -> None:
    bad = "\"><script>alert(1)</script><img src=x>'"
    made = sample_explanation()
    rows = tuple(replace(each, article=bad, tool=bad) for each in made.articles)
    tests = tuple(replace(each, setup=bad) for each in made.next)
    hostile = replace(made, articles=rows, next=tests, because=(bad,))
    text = write_page(small(why=Why(hostile)))
    assert "<script>alert" not in text and "<img" not in text


def test_shares_are_never_nothing_or_all() -> None:
    assert [say_share(each) for each in (0.0, 0.004, 0.5, 0.999)] == [
        "under 1 %",
        "under 1 %",
        "50 %",
        "over 99 %",
    ]


def test_a_name_keeps_its_letters_at_the_start_of_a_sentence() -> None:
    made = replace(sample_explanation(), because=("deep-24 with air-a scored more", "it is held back"))
    assert tell_sentences(made) == ("deep-24 with air-a scored more.", "It is held back.")
    assert tell_caveats(made)[1].startswith("odd-24 is left out")


def test_only_the_names_of_unknowns_are_put_in_words() -> None:
    assert tell_sentences(sample_explanation())[1].endswith("hammer inertia of oil_b.")
    assert why_section(None) is None
