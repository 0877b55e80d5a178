"""The table of results is one: the page has its cells, and each verdict has its word in one place."""

from __future__ import annotations

from dataclasses import replace
from html import escape
from typing import get_args

import pytest
from tests.unit.publish.sample import sample_report

from strikeproof.judge.records import Verdict
from strikeproof.language import say_many
from strikeproof.publish import verdicts
from strikeproof.publish.page import write_page
from strikeproof.publish.results import result_table
from strikeproof.publish.summary import summary
from strikeproof.publish.tables import results_of, said
from strikeproof.publish.verdicts import SIGNS, verdict_sentence

REPORT = sample_report()
COMPARISON = REPORT.comparison


def test_every_cell_of_every_tool_is_on_the_page() -> None:
    page = write_page(REPORT).replace("\u00a0", " ")
    for tool in REPORT.tools:
        table = results_of(REPORT, tool)
        assert table.heads[:2] == ("Article", "Verdict") and len(table.rows) > 1
        for sign, cells in table.rows:
            assert len(cells) == len(table.heads) and cells[1] == (sign.word,)
            for head, cell in zip(table.heads[2:], cells[2:], strict=True):
                small = "".join(f"<small>{escape(each)}</small>" for each in cell[1:])
                assert f'data-label="{head}">{escape(cell[0])}{small}</td>' in page


def test_a_column_in_which_nothing_stands_is_left_out() -> None:
    bare = replace(COMPARISON, results=tuple(replace(each, price=None) for each in COMPARISON.results))
    priced, unpriced = (
        result_table(each, REPORT.tools[0], REPORT.unit, "EUR", ()).heads for each in (COMPARISON, bare)
    )
    assert set(priced) - set(unpriced) == {"Price (EUR)"}


def test_every_verdict_has_a_sign() -> None:
    assert set(SIGNS) == set(get_args(Verdict))


@pytest.mark.parametrize("verdict", ["higher", "lower"])
def test_another_word_for_a_verdict_is_said_everywhere(
    verdict: Verdict, monkeypatch: pytest.MonkeyPatch
) -> None:
    sign = replace(SIGNS[verdict], word="taller")
    monkeypatch.setitem(verdicts.SIGNS, verdict, sign)  # type: ignore[arg-type]  # a plain dict
    taller = "{count} taller than {reference}"
    counted = lambda many, **known: say_many(taller, taller, many, **known)  # noqa: E731  as its neighbours
    monkeypatch.setitem(verdicts.COUNTED, verdict, counted)  # type: ignore[arg-type]  # a plain dict
    results = [each for each in COMPARISON.results if each.verdict == verdict]
    assert results
    one = results[0]
    assert ("taller",) in [cells[1] for _, cells in results_of(REPORT, one.tool).rows]
    assert " taller than " in verdict_sentence(one, COMPARISON)
    assert any(" taller than " in text for text in summary(REPORT))
    assert any(" taller than " in str(each["text"]) for each in said(REPORT, one.tool))
