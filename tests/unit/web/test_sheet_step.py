"""What the run sheet's step says is a sentence that names what it is about."""

import pytest

from strikeproof.campaign.faults import Fault
from strikeproof.desk.setting_up.fields import fields_of, tell_fault
from strikeproof.errors import end_sentence
from strikeproof.web.planning.plan_facts import _fault_words


@pytest.mark.parametrize("text", ["the rating is 6.2 bar", "The rating is 6.2 bar."])
def test_a_note_ends_with_one_full_stop(text: str) -> None:
    assert end_sentence(text) == "The rating is 6.2 bar."


def test_a_question_that_ends_a_fix_ends_the_sentence() -> None:
    fault = Fault(("protocol", "duration"), "protocol.duration: 'mni'", "did you mean 'min'?", beside="'mni'")
    duration = next(each for each in fields_of("protocol") if each.key == "duration")
    assert tell_fault(duration, fault).endswith("Did you mean 'min'?")
    assert _fault_words(fault, {}) == (
        "Length of a run: 'mni'. Allowed: a time above 0, at most 3600 s. Did you mean 'min'?"
    )


def test_an_article_is_called_by_its_name() -> None:
    said = "two articles are named 'ring'"
    fault = Fault(("article", 1, "name"), f"article.2.name: {said}", "give each its own name", beside=said)
    tables = {"article": [{"name": "ring"}, {"name": "ring"}]}
    assert _fault_words(fault, tables) == f"Article ring: {said}; give each its own name."
