"""Which of the proposals, or of what is built already, teaches most about the open question for its cost."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import asdict, dataclass
from typing import Any, Final

import numpy as np

from strikeproof.desk.articles.known import know_described
from strikeproof.desk.designing.proposal import Proposal
from strikeproof.desk.explaining.belief import Belief
from strikeproof.explain import Candidate, rank_next

__all__ = ["HOUR_COSTS", "NextTrial", "choose_tests"]

HOUR_COSTS: Final = 30.0
"""What an hour at the bench counts for beside the price of an article, in the brief's currency: an assumption
that is told with the answer."""

_RUNS: Final = 4
_COOL_DOWN: Final = 60.0  # s between runs where the campaign says nothing
_DRAWS: Final = 48


@dataclass(frozen=True, slots=True)
class NextTrial:
    """A next test with its worth.

    Parameters
    ----------
    article
        Name of a proposal or of an article of the campaign.
    bits
        Expected of it; `bits_rivals` of them on which rival is right.
    hours
        At the bench, the runs of the reference among them.
    price
        Of the article; 0 when it is built already, None when it has no price.
    per_cost
        Bits for one unit of money, hours counted in.
    """

    article: str
    setup: str
    bits: float
    bits_rivals: float
    hours: float
    price: float | None
    per_cost: float

    def as_json(self) -> dict[str, Any]:
        """As the command line prints it."""
        return asdict(self)


def choose_tests(belief: Belief, proposals: Sequence[Proposal], seed: int) -> tuple[NextTrial, ...]:
    """The test that teaches most for its cost, and the best of the proposals where that is another."""
    if belief.outcome is None or belief.outcome.explanation.fits is None or not proposals:
        return ()
    offered = {each.name: (each, name, price) for each, name, price in _offered(belief, proposals)}
    ranked = rank_next(
        belief.outcome.explanation,
        [each for each, _name, _price in offered.values()],
        rng=np.random.default_rng([seed, 4]),
        draws=_DRAWS,
    )
    tests = []
    for told in ranked:
        candidate, name, price = offered[told.setup]
        hours = _hours(belief, candidate)
        cost = HOUR_COSTS * hours + (price or 0.0)
        tests.append(NextTrial(name, told.setup, told.bits, told.bits_rivals, hours, price, told.bits / cost))
    tests.sort(key=lambda each: -each.per_cost)
    named = {each.name for each in proposals}
    proposal = next(each for each in tests if each.article in named)
    return (tests[0],) if tests[0].article in named else (tests[0], proposal)


def _offered(belief: Belief, proposals: Sequence[Proposal]) -> Iterator[tuple[Candidate, str, float | None]]:
    """Every proposal with every tool, and what is built already for another time."""
    several = len(belief.settings) > 1
    for proposal in proposals:
        facts = know_described(proposal.described).facts
        for setting in belief.settings:
            words = f"{proposal.name} with {setting.tool}" if several else proposal.name
            yield Candidate(words, facts, setting, _RUNS), proposal.name, proposal.properties.price
    assert belief.outcome is not None  # the caller has looked
    evidence = belief.outcome.explanation.evidence
    built = {each.name for each in evidence.articles}
    models = [each.model for each in evidence.articles]
    for candidate in evidence.candidates:
        if candidate.article.name in built and candidate.article.model in models:
            yield candidate, candidate.article.name, 0.0


def _hours(belief: Belief, candidate: Candidate) -> float:
    """As many runs of the reference beside those of the article."""
    campaign = belief.campaign
    pause = campaign.protocol.cool_down_s if campaign is not None else None
    each = candidate.setting.duration + (_COOL_DOWN if pause is None else pause)
    return 2 * candidate.runs * each / 3600.0
