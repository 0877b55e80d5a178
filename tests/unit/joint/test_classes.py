import pytest

from strikeproof.errors import BadInput
from strikeproof.joint import CLASSES, parse_class, parse_thread


@pytest.mark.parametrize("text", ["5", "grade 5", "Grade 5", "SAE 5", "gr. 5", "SAE J429 grade 5", " gr5 "])
def test_an_inch_grade_has_many_spellings(text):
    assert parse_class(text).name == "grade 5"


@pytest.mark.parametrize("text", ["10.9", "class 10.9", "10,9", "ISO 898-1 10.9", "property class 10.9"])
def test_a_metric_class_has_many_spellings(text):
    assert parse_class(text).name == "10.9"


@pytest.mark.parametrize(
    ("text", "near"), [("10.8", "10.9"), ("7.8", "6.8"), ("14.9", "12.9"), ("6", "grade 5.2")]
)
def test_an_unknown_class_names_the_nearest(text, near):
    with pytest.raises(BadInput, match=f"nearest is '{near}'"):
        parse_class(text)


@pytest.mark.parametrize("text", ["", "  ", "strong", "-", "nan", "inf"])
def test_a_text_without_a_class_is_refused_with_an_example(text):
    with pytest.raises(BadInput) as caught:
        parse_class(text)
    assert caught.value.fix


@pytest.mark.parametrize(("small", "large", "name"), [("M16", "M18", "8.8"), ("1-8", "1 1/8-7", "grade 5")])
def test_strength_changes_with_size_at_the_limit_of_its_band(small, large, name):
    chosen = parse_class(name)
    at_limit, beyond = (chosen.strength(parse_thread(each)) for each in (small, large))
    assert at_limit != beyond


def test_proof_lies_below_yield_and_yield_below_tensile():
    for chosen in CLASSES.values():
        for band in chosen.bands:
            strength = band.strength
            assert strength.proof_stress < strength.yield_strength < strength.tensile_strength
