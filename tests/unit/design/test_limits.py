"""Every limit of a brief is read, judged, relaxed, said, asked for in the form and documented."""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest

from strikeproof.design.clashes import tell_changes
from strikeproof.design.judging import REASONS
from strikeproof.design.limits import LIMITS, LimitKind, Reached, find_excess, relax
from strikeproof.design.reading import read_brief
from strikeproof.design.records import Brief
from strikeproof.desk.designing.brief_draft import moved
from strikeproof.desk.designing.brief_form import BRIEF_FIELDS
from strikeproof.parts import EXAMPLE_PRICES

DOC = Path(__file__).parents[3] / "docs" / "design.md"
EVERY = pytest.mark.parametrize("kind", LIMITS.values(), ids=LIMITS.keys())


class _Facts(SimpleNamespace):
    """Of an article whose every number is 4.1827."""

    def __getattr__(self, _name: str) -> float:
        return 4.1827


REACHED = Reached(_Facts(), 4.1827, 4.1827, math.log1p(4.1827))  # type: ignore[arg-type]  # stands in for one


def asking(kind: LimitKind, times: float) -> Brief:
    """A brief that asks so many times what the article comes to."""
    value = kind.reach(REACHED)
    assert value is not None
    return replace(
        Brief("test", 0.027, 0.0125, objective=kind.objective or "highest score"),
        **{kind.field: value * times},  # type: ignore[arg-type]  # a number each
    )


@EVERY
def test_it_is_read_under_its_key(kind: LimitKind) -> None:
    number = (max(kind.range.low, 1.0) + kind.range.high) / 2
    tables: dict[str, Any] = {"brief": {"hexagon_mm": 27, "drive_mm": 12.5, kind.key: number}}
    brief = read_brief(tables, prices=EXAMPLE_PRICES)
    assert kind.asked(brief) == pytest.approx(number * kind.range.unit)
    assert kind.written(brief) == pytest.approx(number)
    del tables["brief"][kind.key]
    assert kind.asked(read_brief(tables)) == kind.default


@EVERY
def test_it_is_judged_by_how_far_it_is_broken(kind: LimitKind) -> None:
    broken, kept = (0.5, 2.0) if kind.most else (2.0, 0.5)
    assert kind.key not in find_excess(asking(kind, kept), REACHED)
    far = find_excess(asking(kind, broken), REACHED)[kind.key]
    value = 4.1827
    assert far == pytest.approx(abs(math.log((value + kind.offset) / (broken * value + kind.offset))))
    assert kind.key in REASONS and kind.refused == REASONS[kind.key]


@EVERY
def test_it_is_moved_so_that_the_article_keeps_it(kind: LimitKind) -> None:
    brief = asking(kind, 0.5 if kind.most else 2.0)
    enough = kind.enough(REACHED)
    assert enough is not None and enough == pytest.approx(4.1827 / kind.range.unit, rel=1e-2)
    after = relax(brief, {kind.key: enough})
    assert find_excess(brief, REACHED) and not find_excess(after, REACHED)
    assert tell_changes(brief, after) == f"{kind.key} = {enough:g}"
    assert moved({}, brief, after) == {"brief": {kind.key: enough}}


@EVERY
def test_it_is_said_and_asked_for(kind: LimitKind) -> None:
    said = kind.tell(asking(kind, 0.5 if kind.most else 2.0), REACHED)
    assert "4.18" in said or "418" in said
    field = BRIEF_FIELDS[kind.key]
    assert (field.label, field.meaning, field.default) == (kind.label, kind.meaning, kind.left_out)
    assert kind.words and kind.left_out and (kind.most or kind.otherwise or kind.objective)


@EVERY
def test_it_is_documented_in_its_own_words(kind: LimitKind) -> None:
    row = f"| `{kind.key}` | {kind.left_out} | {kind.label}: {kind.meaning} |"
    assert row in DOC.read_text("utf-8"), f"docs/design.md, [brief]: write {row}"


def test_a_margin_is_never_moved_below_what_the_peak_breaks() -> None:
    for kind in LIMITS.values():
        weak = Reached(None, 0.4, 0.004, math.log1p(0.4))
        assert not kind.margin or kind.enough(weak) is None


@pytest.mark.parametrize("kind", LIMITS.values(), ids=LIMITS)
@pytest.mark.parametrize("log_gain", [-0.3, -0.004, 0.0, 0.05])
def test_no_limit_is_offered_that_a_brief_could_not_ask(kind: LimitKind, log_gain: float) -> None:
    """An article below the reference reaches no least gain: a negative one would be refused when read."""
    enough = kind.enough(Reached(REACHED.properties, REACHED.static, REACHED.fatigue, log_gain))
    assert enough is None or kind.range.low <= enough <= kind.range.high
    if kind.key == "least_gain_percent":
        assert (enough is None) == (log_gain < 0.0)
