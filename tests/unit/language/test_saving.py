"""A saved sentence is read in every language; text of an older program stays as it is."""

from __future__ import annotations

import json

import numpy as np
import pytest

from strikeproof.campaign.flags import FLAGS
from strikeproof.explain.kinds import EXPLANATIONS
from strikeproof.language import (
    Said,
    find_language,
    from_saved,
    joined,
    retold,
    say,
    say_many,
    speaking,
    to_saved,
    with_capital,
    write_figures,
)

LOST = say_many(
    "{count} gap of {longest} s", "{count} gaps, the longest {longest} s", 2, longest=write_figures("0.25")
)


@pytest.mark.parametrize(
    ("text", "german"),
    [
        (LOST, "2 Lücken, die längste 0,25 s"),
        (LOST + "; " + say("samples missing"), "2 Lücken, die längste 0,25 s; Messwerte fehlen"),
        (
            with_capital(joined([say("the rigid chain"), say("mass alone")])),
            "Die starre Kette und die Masse allein",
        ),
        (say("in {late} s", late=write_figures("1.5")), "in 1,5 s"),
        ("typed by a person", "typed by a person"),
    ],
)
def test_a_saved_sentence_comes_back_in_every_language(text: str, german: str) -> None:
    saved = json.loads(json.dumps(to_saved(text)))
    assert from_saved(saved) == text
    with speaking("de"):
        assert from_saved(saved) == german == retold(text)
        assert f"{text}" == german  # also inside other text


def test_a_number_of_an_array_can_be_saved() -> None:
    saved = to_saved(say("in {late} s", late=np.int64(3)))
    assert from_saved(json.loads(json.dumps(saved))) == "in 3 s"


@pytest.mark.parametrize(
    ("given", "code"),
    [
        ("de", "de"),
        ("DE", "de"),
        ("de_DE.UTF-8", "de"),
        ("es-MX", "es"),
        (" en_GB ", "en"),
        ("fr", None),
        ("", None),
    ],
)
def test_a_language_is_found_however_it_is_written(given: str, code: str | None) -> None:
    assert find_language(given) == code


def test_all_words_of_flags_and_explanations_can_be_said_in_another_language() -> None:
    flags = [
        text for each in FLAGS.values() for text in (each.words, each.meaning, each.fix, each.live_words)
    ]
    kinds = [
        text for each in EXPLANATIONS.values() for text in (each.label, each.short, each.says, each.answer)
    ]
    assert [text for text in (*flags, *kinds) if text and not isinstance(text, Said)] == []
