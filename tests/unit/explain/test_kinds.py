"""Every explanation can be fitted, has all its words, and is documented."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from tests.unit.publish.explain.sample import sample_why

from strikeproof.explain.deciding import Decision
from strikeproof.explain.kinds import EXPLANATIONS, KEPT, RIVALS, ExplanationKind
from strikeproof.explain.results import RivalRow
from strikeproof.explain.sentences import say_because
from strikeproof.explain.statistical import Table
from strikeproof.explain.variants import Properties
from strikeproof.publish.explain import why_charts, why_section

DOC = Path(__file__).parents[3] / "docs" / "explain.md"
EVERY = pytest.mark.parametrize("kind", EXPLANATIONS.values(), ids=EXPLANATIONS.keys())


@EVERY
def test_it_expects_something_of_an_article(kind: ExplanationKind) -> None:
    if isinstance(kind.believes, Properties):
        assert KEPT[kind.code] == kind.believes
        assert list(KEPT.values()).count(kind.believes) == 1
        return
    table = Table(np.zeros(3), np.array([0.1, 0.4, 0.9]), np.array([0.2, 0.3, 0.5]), np.arange(3))
    expected = kind.believes(table)
    assert expected.name == kind.code and expected.mean.shape[1] == 3
    assert np.exp(expected.log_weight).sum() == pytest.approx(1.0)


@EVERY
def test_it_is_named_in_the_answer_and_beside_others(kind: ExplanationKind) -> None:
    row = RivalRow(kind.code, 0.9, 20.0, 0.0, 1.2, 0.95, kind.says)
    other = RivalRow(next(each for each in RIVALS if each != kind.code), 0.1, 9.0, 2.0, 9.0, 0.05, "")
    (first, *_), (_, second, *_) = (
        say_because(Decision(each.name, "named", each, each), (row, other), (), (), (), ())
        for each in (row, other)
    )
    assert first.startswith(f"{kind.answer}: ")
    assert kind.short.lower() in second.lower()


def test_each_is_shown_with_its_label_and_its_claim() -> None:
    why = sample_why()
    rows = (why_section(why) or {})["rivals"]
    assert [each["name"] for each in rows] == [each.label for each in EXPLANATIONS.values()]
    weights = next(each for each in why_charts(why) if each.name == "why-weights")
    assert all(each.label in weights.says for each in EXPLANATIONS.values())


@EVERY
def test_it_is_documented(kind: ExplanationKind) -> None:
    text = DOC.read_text("utf-8")
    assert f"| `{kind.code}` | " in text, f"docs/explain.md, the table of explanations: {kind.code}"
