import pytest

from strikeproof.errors import BadInput, NotFound
from strikeproof.judge.questions.written import read_asked

ARTICLES = ("plain", "ring-27", "ring-33", "long arm", "mean", "a+b", "27")


@pytest.mark.parametrize(
    ("text", "weights"),
    [
        ("ring-27 - plain", {"ring-27": 1, "plain": -1}),
        ("mean(ring-27, ring-33) - plain", {"ring-27": 0.5, "ring-33": 0.5, "plain": -1}),
        ("mean(ring-27,ring-33)-plain", {"ring-27": 0.5, "ring-33": 0.5, "plain": -1}),
        ("mean - plain", {"mean": 1, "plain": -1}),
        ("'long arm' − \"a+b\"", {"long arm": 1, "a+b": -1}),
        ("0.25 * plain + 3/4 * ring-27 - '27'", {"plain": 0.25, "ring-27": 0.75, "27": -1}),
        ("(ring-27 + ring-33) / 2 - plain", {"ring-27": 0.5, "ring-33": 0.5, "plain": -1}),
        ("ring-27 - plain - (ring-33 - plain)", {"ring-27": 1, "ring-33": -1}),
        (".5*ring-27 - .5 * plain", {"ring-27": 0.5, "plain": -0.5}),
        ("-plain + ring-27", {"plain": -1, "ring-27": 1}),
        ("2 * mean(plain, ring-27) - 2 * ring-33", {"plain": 1, "ring-27": 1, "ring-33": -2}),
    ],
)
def test_what_can_be_written(text, weights):
    assert dict(read_asked(text, ARTICLES).weights) == pytest.approx(weights)


def test_one_less_another_is_a_pair_however_it_is_written():
    assert read_asked("-plain + ring-27", ARTICLES).pair == ("ring-27", "plain")
    assert read_asked("mean(ring-27, ring-33) - plain", ARTICLES).pair is None


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("", "nothing is written"),
        ("ring-27 -", "ends too early"),
        ("mean(ring-27 - plain", ") is missing"),
        ("ring-27 plain", "'plain' is not expected"),
        ("ring-27 + plain", "add up to 2"),
        ("ring-27", "add up to 1"),
        ("ring-27 - ring-27", "nothing is left"),
        ("ring-27 * plain", "multiplies articles"),
        ("ring-27 / plain", "divides by"),
        ("ring-27 / 0 - plain", "divides by"),
        ("ring-27 - plain + 3", "a number is by itself"),
        ("ring-27 - 'plain", "cannot be read from"),
        ("(" * 30 + "plain" + ")" * 30, "brackets inside brackets"),
        ("plain-" * 200, "letters"),
        (")", "')' is not expected"),
        ("101 * ring-27 - 101 * plain", "a weight is too large"),
        ("9" * 240 + " * " + "9" * 200 + " * (ring-27 - plain)", "a weight is too large"),
        ("(ring-27 - plain) / 0." + "0" * 320 + "1", "a weight is too large"),
    ],
)
def test_what_cannot_be_written(text, says):
    with pytest.raises(BadInput) as wrong:
        read_asked(text, ARTICLES)
    assert says in str(wrong.value)


@pytest.mark.parametrize("text", ["27 - plain", "ring-27 - 27"])
def test_an_article_called_by_a_number_goes_in_quotes(text):
    with pytest.raises(BadInput, match=r"article.*quotes.*'27'"):
        read_asked(text, ARTICLES)


@pytest.mark.parametrize(
    ("text", "name", "hint"),
    [("ring-72 - plain", "ring-72", "ring-27"), ("ring-27-plan - plain", "ring-27-plan", "ring-27")],
)
def test_unknown_names_are_named(text, name, hint):
    with pytest.raises(NotFound) as wrong:
        read_asked(text, ARTICLES)
    assert wrong.value.name == name
    assert hint in str(wrong.value)
