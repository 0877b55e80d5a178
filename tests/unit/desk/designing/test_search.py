"""What a refused search offers is searched before it is offered, and lowered where it was too much."""

from __future__ import annotations

from typing import Any

import pytest

from strikeproof.design.records import Brief, Search
from strikeproof.design.relaxing import NoArticle, Strongest
from strikeproof.desk.designing import search as room
from strikeproof.desk.designing.search import find_proposals
from strikeproof.parts import Margin

BRIEF = Brief("test", hexagon=0.027, drive=0.0127)


def refuse(margin: float, **more: float) -> NoArticle:
    return NoArticle(
        f"stands it {margin:g} times",
        where="brief 'test'",
        allowed="the nearest",
        fix="set it",
        changes={"least_margin": margin, **more} if margin >= 1 else {},
        others=("budget",),
        strongest=Strongest(100, Margin("socket", "shear", margin, None, 800.0)),
    )


def searching(*strongest: float, stopped: bool = False) -> Any:
    """A search whose finds hold the last of these margins; before that each is said to be the nearest."""
    left = list(strongest)

    def find(brief: Brief, *_: object, **__: object) -> tuple[Search, tuple[Any, ...]]:
        if brief.least_static > strongest[-1]:
            raise refuse(left.pop(0) if len(left) > 1 else left[0])
        return Search((), (), 100, {}, not stopped), () if stopped else ("an article",)

    return find


def offered(monkeypatch: pytest.MonkeyPatch, find: Any) -> NoArticle:
    monkeypatch.setattr(room, "_find", find)
    with pytest.raises(NoArticle) as told:
        find_proposals(BRIEF, None, 1)  # type: ignore[arg-type]  # nothing looks at what is believed
    return told.value


def test_an_offer_that_was_too_much_is_lowered_until_a_search_keeps_it(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    told = offered(monkeypatch, searching(1.24, 1.23))
    assert told.changes == {"least_margin": 1.23}
    assert "withstands it 1.23 times, not 1.5 times" in told.what and "1.24" not in str(told)
    assert told.fix.startswith("set least_margin = 1.23; or move budget alone instead; or offer ")


@pytest.mark.parametrize(
    "find",
    [
        searching(1.2, stopped=True),
        searching(1.24, 0.9),
        searching(1.29, 1.28, 1.27, 1.26, 1.25, 1.24, 1.23),
    ],
    ids=["stopped while it was tried", "nothing above 1", "never enough"],
)
def test_what_no_search_has_kept_is_not_offered(monkeypatch: pytest.MonkeyPatch, find: Any) -> None:
    told = offered(monkeypatch, find)
    assert told.changes == {} and "=" not in told.fix
    assert "least_margin" in told.fix
