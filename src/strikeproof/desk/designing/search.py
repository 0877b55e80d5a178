"""From a brief to proposals: a search, its finds predicted, a second look where that shows higher peaks."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from strikeproof.design.fresh import search_anew
from strikeproof.design.limits import relax
from strikeproof.design.records import Brief, Search
from strikeproof.design.relaxing import NoArticle, offer, too_weak
from strikeproof.design.search import FULL, QUICK, search_designs
from strikeproof.desk.designing.proposal import Proposal, propose
from strikeproof.desk.explaining.belief import Belief
from strikeproof.desk.explaining.explain import Progress
from strikeproof.team import ALONE, Team

__all__ = ["find_proposals"]

Cancelled = Callable[[], bool]

_SPARE: Final = 2
"""More than are wanted, since a prediction may see a higher peak than the search."""
_AGAIN: Final = 1.01
"""A second look asks for this much more than the predicted peaks were higher."""
_ROUNDS: Final = 4
"""How often an offer that turned out to be too much is lowered."""
_WEAK: Final = "margin too small at the predicted peak"


@dataclass(frozen=True, slots=True, eq=False)
class _Look:
    """One search: which of its articles are strong enough at the predicted peak, and which are not."""

    search: Search
    kept: tuple[Proposal, ...]
    weak: tuple[Proposal, ...]

    @property
    def is_empty(self) -> bool:
        """Whether everything that was found fell to the predicted peak."""
        return bool(self.weak) and not self.kept and self.search.complete

    @property
    def higher(self) -> float:
        """How many times the peaks of the search the predicted ones are, at the weakest place, at most."""
        return max(each.found.margins[0].static / each.margins[0].static for each in self.weak)


def find_proposals(
    brief: Brief,
    belief: Belief,
    seed: int,
    *,
    quick: bool = False,
    progress: Progress | None = None,
    cancelled: Cancelled | None = None,
    team: Team = ALONE,
) -> tuple[Search, tuple[Proposal, ...]]:
    """What was searched, with what was refused, and as many proposals as are wanted, the best first.

    The best articles stand at the very limit of a margin, and a prediction draws more of what is believed
    than a search: where all that was found falls to its peak, the search is made again for as much more.

    Parameters
    ----------
    team
        Who simulates for the search; the answer is the same, whoever it is.

    Raises
    ------
    NoArticle
        If no article keeps the brief: which limits conflict, and the nearest brief that was searched too, by
        the same rule and the same seed, and that an article keeps.
    """

    def find(wanted: Brief, tell: Progress | None = progress) -> tuple[Search, tuple[Proposal, ...]]:
        return _find(wanted, belief, seed, quick=quick, progress=tell, cancelled=cancelled, team=team)

    try:
        return find(brief)
    except NoArticle as refused:
        raise _prove(brief, refused, lambda wanted: find(wanted, _tried(progress))[1]) from None


def _tried(progress: Progress | None) -> Progress | None:
    if progress is None:
        return None

    def tell(done: int, total: int, what: str) -> None:
        progress(done, total, f"trying the nearest limits: {what}")

    return tell


def _prove(brief: Brief, first: NoArticle, find: Callable[[Brief], tuple[Proposal, ...]]) -> NoArticle:
    """The error with an offer that a search has met: one that was too much is lowered and tried again."""
    changes, last = first.changes, first
    for _ in range(_ROUNDS if changes else 0):
        try:
            return offer(brief, first, last, changes if find(relax(brief, changes)) else {})
        except NoArticle as again:
            if not again.changes:
                break
            changes, last = {**changes, **again.changes}, again
    return offer(brief, first, last, {})


def _find(
    brief: Brief,
    belief: Belief,
    seed: int,
    *,
    quick: bool,
    progress: Progress | None,
    cancelled: Cancelled | None,
    team: Team,
) -> tuple[Search, tuple[Proposal, ...]]:
    """One search, and a second one where its finds fall to the predicted peak."""

    def look(more: float) -> _Look:
        found = search_designs(
            _stronger(replace(brief, proposals=brief.proposals + _SPARE), more),
            belief.worlds,
            rng=np.random.default_rng([seed, 0]),
            effort=QUICK if quick else FULL,
            team=team,
            progress=progress,
            cancelled=cancelled,
        )
        shown = search_anew(found, belief.fresh, team=team)
        return _work_out(shown, brief, belief, seed, progress)

    seen = look(1.0)
    if seen.is_empty:
        seen = _look_again(seen, look, brief)
    counts = {**seen.search.refused, **({_WEAK: len(seen.weak)} if seen.weak else {})}
    return replace(seen.search, refused=counts), seen.kept


def _look_again(first: _Look, look: Callable[[float], _Look], brief: Brief) -> _Look:
    """A second look for as much more as the first fell short."""
    try:
        second = look(_AGAIN * first.higher)
    except NoArticle:  # nothing is stronger: what was found at first shows the way out
        second = first
    if second.is_empty:
        weak = (*first.weak, *second.weak)
        raise too_weak(brief, first.search.searched, [each.margins for each in weak])
    return second


def _stronger(brief: Brief, more: float) -> Brief:
    """The brief with its margins so many times as large."""
    if more <= 1.0:
        return brief
    lasting = None if brief.least_fatigue is None else more * brief.least_fatigue
    return replace(brief, least_static=more * max(brief.least_static, 1.0), least_fatigue=lasting)


def _work_out(found: Search, brief: Brief, belief: Belief, seed: int, progress: Progress | None) -> _Look:
    """As many as are wanted, and what fell to the predicted peak meanwhile."""
    kept: list[Proposal] = []
    weak: list[Proposal] = []
    for place, each in enumerate(found.proposals):
        if len(kept) == brief.proposals:
            break
        if progress is not None:
            progress(place, len(found.proposals), f"predicting {each.name}")
        proposal = propose(each, brief, belief, seed, place)
        (kept if _holds(proposal, brief) else weak).append(proposal)
    return _Look(found, tuple(kept), tuple(weak))


def _holds(proposal: Proposal, brief: Brief) -> bool:
    """Whether it keeps the margins at the predicted peak too."""
    static = all(each.static >= brief.least_static for each in proposal.margins)
    fatigue = brief.least_fatigue is None or all(
        each.fatigue is None or each.fatigue >= brief.least_fatigue for each in proposal.margins
    )
    return static and fatigue
