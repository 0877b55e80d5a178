"""A sentence is said again in another language, with its facts; numbers get that language's decimal mark."""

from __future__ import annotations

import pickle

import pytest

from strikeproof.desk.safety.cautions import Stop
from strikeproof.language import (
    Said,
    listed,
    preferred_language,
    retold,
    retold_all,
    say,
    say_many,
    speaking,
    write_figures,
)
from strikeproof.plain_text import write_csv_text
from strikeproof.quantity import write_number, write_percent, write_uncertain
from strikeproof.web.language import language_of


def test_a_sentence_made_in_english_is_said_again_with_its_facts() -> None:
    said = say("Run {run}: {reason}.", run="r001", reason=say("samples missing"))
    assert said == "Run r001: samples missing."
    with speaking("de"):
        assert retold(said) == "Lauf r001: Messwerte fehlen."
        assert retold(pickle.loads(pickle.dumps(said))) == "Lauf r001: Messwerte fehlen."
        assert retold_all({"says": [said]}) == {"says": ["Lauf r001: Messwerte fehlen."]}
        assert type(retold_all([said])[0]) is str
    with speaking("es"):
        assert retold(said) == "Ensayo r001: faltan muestras."
    assert retold(said) == said


def test_a_stop_stays_a_stop_in_every_language() -> None:
    stop = Stop(
        say("STOP: {bolt} has had {uses} of {budget} runs; take a new one.", bolt="b1", uses=2, budget=2)
    )
    with speaking("de"):
        told = retold(stop)
    assert isinstance(told, Stop) and told.startswith("STOPP: b1")


@pytest.mark.parametrize(("number", "text"), [(1, "1 Lauf"), (2, "2 Läufe"), (0, "0 Läufe")])
def test_a_number_of_things_takes_the_plural_of_its_language(number: int, text: str) -> None:
    with speaking("de"):
        assert say_many("{count} run", "{count} runs", number) == text


def test_numbers_are_written_with_the_mark_of_the_language() -> None:
    assert write_number(12.5) == "12.50"
    with speaking("de"):
        assert write_number(12.5) == "12,50"
        assert write_percent(-1.25, decimals=2) == "−1,25 %"
        assert write_uncertain(3.14159, 0.02, "kN") == "3,142 ± 0,020 kN"
    made = say("{load} kN of clamp load", load=write_figures("12.5"))
    with speaking("es"):
        assert retold(made) == "12,5 kN de fuerza de apriete"


def test_text_that_is_no_sentence_of_ours_stays_as_it_is() -> None:
    with speaking("de"):
        assert retold("samples missing") == "samples missing"
        assert Said("anything 1.5").again() == "anything 1.5"
        assert listed(["a", "b", "c"]) == "a, b, c"


def test_files_for_spreadsheets_have_a_comma_only_when_chosen() -> None:
    rows = [["run", "score"], ["r1", 1.5], ["r2", "-2.25"], ["1.2.3", "a.b"]]
    assert write_csv_text(rows) == "run,score\nr1,1.5\nr2,-2.25\n1.2.3,a.b\n"
    assert write_csv_text(rows, decimal_comma=True) == "run;score\nr1;1,5\nr2;-2,25\n1.2.3;a.b\n"


@pytest.mark.parametrize(
    ("cookie", "served", "accepted", "language"),
    [
        ("", None, "", "en"),
        ("", None, "de-AT,de;q=0.9,en;q=0.8", "de"),
        ("", None, "fr,es;q=0.5,en;q=0.4", "es"),
        ("", None, "fr", "en"),
        ("", None, "de;q=0,en", "en"),
        ("", None, "de;q=x,;;q=,", "en"),
        ("", "es", "de", "es"),
        ("en", "es", "de", "en"),
        ("xx", None, "de", "de"),
    ],
)
def test_the_browser_s_choice_goes_before_the_server_s_and_its_own(
    cookie: str, served: str | None, accepted: str, language: str
) -> None:
    cookies = {"strikeproof_language": cookie} if cookie else {}
    assert language_of(cookies, {"accept-language": accepted}, served) == language


def test_what_a_browser_asks_for_is_read_by_its_weight() -> None:
    assert preferred_language("es;q=0.3, de;q=0.7") == "de"
