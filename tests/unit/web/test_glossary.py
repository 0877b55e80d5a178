"""The glossary is made from the docs, and the words of tables lead to it."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

from strikeproof.publish.results import _COLUMNS
from strikeproof.web.fragments import _environment
from strikeproof.web.glossary import linked, read_glossary

ROOT = Path(__file__).parents[3]


def test_the_glossary_is_made_from_the_document() -> None:
    script = ROOT / "scripts" / "write_glossary.py"
    assert subprocess.run([sys.executable, script, "--check"], check=False).returncode == 0


@pytest.mark.parametrize(
    ("label", "key"),
    [
        ("Gain", "gain"),
        ("p", "p"),
        ("Second opinion", "second-opinion"),
        ("Residual (kN)", "residual"),
        ("Score, kN", "score"),
        ("Scores", "score"),
        ("Price (EUR)", None),
        ("<b>", None),
    ],
)
def test_a_word_of_statistics_leads_to_its_meaning(label: str, key: str | None) -> None:
    markup = linked(label)
    assert ("<b>" in markup) is False
    assert (f'href="/glossary#{key}"' in markup) == (key is not None)
    assert ("<a " in markup) == (key is not None)


def test_no_word_means_two_things() -> None:
    names = [name for each in read_glossary() for name in (each.word, *each.also)]
    assert len(names) == len(set(names)) and all(name == name.casefold() for name in names)


def test_the_statistical_columns_of_the_results_are_all_explained() -> None:
    plain = {"Article", "Runs", "Price ({currency})", "Gain per {currency}"}
    assert [str(head) for head in _COLUMNS if head not in plain and "<a " not in linked(str(head))] == []


def test_tables_and_facts_of_the_templates_link_their_words() -> None:
    source = '{% from "pieces.html" import facts, grid %}{{ facts([("Median", "3 kN")]) }}'
    made = (
        _environment().from_string(source + '{{ grid("c", ("Article", "Weight"), [("a", "1 %")]) }}').render()
    )
    assert 'href="/glossary#median"' in made and 'href="/glossary#weight"' in made
