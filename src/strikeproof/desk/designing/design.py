"""Design the next prototype: a brief, what is believed of the bench, a search, and its finds worked out."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any, Final

import numpy as np

from strikeproof.design.limits import LIMITS
from strikeproof.design.records import Brief, Found, Search
from strikeproof.desk.articles.known import know_described
from strikeproof.desk.articles.life_words import tell_margin
from strikeproof.desk.articles.materials import campaign_materials
from strikeproof.desk.designing.brief import KnownBrief, campaign_tables, load_brief
from strikeproof.desk.designing.proposal import Proposal
from strikeproof.desk.designing.search import find_proposals
from strikeproof.desk.explaining.belief import Belief, believe_bench, believe_campaign
from strikeproof.desk.explaining.explain import Progress
from strikeproof.desk.safety.cautions import LESS_MARGIN
from strikeproof.desk.workspace.opening import open_campaign
from strikeproof.errors import BadInput
from strikeproof.explain import Candidate, rank_next
from strikeproof.quantity import write_duration, write_number
from strikeproof.team import gather_team

__all__ = ["PRICE_NOTE", "DesignOutcome", "DesignTask", "NextTrial", "design_from", "prepare_design"]

PRICE_NOTE: Final = (
    "Prices come from a list and have no interval: ask again when you buy. They hold material, saw cuts, "
    "weld and press fits, and no hours of your own."
)
"""What a person should know of every price."""
Cancelled = Callable[[], bool]


@dataclass(frozen=True, slots=True, eq=False)
class DesignTask:
    """A brief with what is believed of its bench: ready to be searched.

    Parameters
    ----------
    scheduler
        Address of a Dask scheduler whose workers simulate; None: this machine.
    """

    known: KnownBrief
    belief: Belief
    seed: int
    quick: bool
    scheduler: str | None = None

    def search(self, progress: Progress | None = None, cancelled: Cancelled | None = None) -> DesignOutcome:
        """Search and work out what was found; a search that is cancelled keeps what it has.

        Raises
        ------
        BadInput
            If no article keeps the brief: which limits conflict, and the nearest brief; or if the scheduler
            cannot be used.
        """
        brief = _within_runs(self.known.brief, self.belief)
        with gather_team(self.scheduler, os.cpu_count() or 1) as team:
            search, proposals = find_proposals(
                brief,
                self.belief,
                self.seed,
                quick=self.quick,
                progress=progress,
                cancelled=cancelled,
                team=team,
            )
        return DesignOutcome(
            brief,
            self.belief,
            search,
            proposals,
            _choose_tests(self.belief, proposals, self.seed),
            self.seed,
        )


@dataclass(frozen=True, slots=True, eq=False)
class DesignOutcome:
    """Proposals that keep a brief, and what to try next."""

    brief: Brief
    belief: Belief
    search: Search
    proposals: tuple[Proposal, ...]
    next_tests: tuple[NextTrial, ...]
    seed: int

    @property
    def currency(self) -> str:
        """Of all prices; empty without a campaign."""
        campaign = self.belief.campaign
        return "" if campaign is None else campaign.currency

    @property
    def simulated(self) -> bool:
        """Whether the runs behind it are."""
        campaign = self.belief.campaign
        return campaign is not None and campaign.simulated

    def as_json(self) -> dict[str, Any]:
        """As the command line prints it."""
        campaign = self.belief.campaign
        return {
            "brief": self.brief.name,
            "objective": self.brief.objective,
            "campaign": None if campaign is None else campaign.name,
            "reference": self.belief.reference,
            "simulated": self.simulated,
            "proposals": self.proposals,
            "pareto": [self._front_row(each) for each in self.search.pareto],
            "searched": self.search.searched,
            "refused": self.search.refused,
            "complete": self.search.complete,
            "next_tests": self.next_tests,
            "hour_costs": _HOUR_COSTS,
            "currency": self.currency,
            "notes": self.notes(),
            "seed": self.seed,
        }

    def _front_row(self, found: Found) -> dict[str, Any]:
        """By draws that had no say in the search."""
        low, gain, high = self._gain(found)
        known = found.properties
        return {
            "name": found.name,
            "gain_percent": gain,
            "low": low,
            "high": high,
            "mass_kg": known.mass,
            "price": known.price,
            "outer_diameter_m": known.outer_diameter,
        }

    def _gain(self, found: Found) -> tuple[float, float, float]:
        quantiles = 100.0 * np.expm1(np.quantile(found.gains, [0.05, 0.5, 0.95], axis=0))
        least = self.brief.objective == "best over tools"
        tool = int(np.argmin(quantiles[1])) if least else self.belief.strongest
        low, gain, high = quantiles[:, tool].tolist()
        return low, gain, high

    def lines(self) -> list[tuple[str, ...]]:
        """A header and one row a proposal, for a terminal."""
        head = ("proposal", "gain", "with", "mass", "price", "outside", "weakest place", "holds")
        return [head, *(self._row(each) for each in self.proposals)]

    def _row(self, each: Proposal) -> tuple[str, ...]:
        known = each.properties
        weakest = each.margins[0] if each.margins else None
        price = "–" if known.price is None else f"{known.price:.2f} {self.currency}".strip()
        return (
            each.name,
            each.counted.words,
            each.counted.setting.tool,
            f"{write_number(known.mass, 3)} kg",
            price,
            f"{write_number((known.outer_diameter or 0.0) * 1e3, 3)} mm",
            "–" if weakest is None else f"{weakest.part} ({weakest.mode})",
            "–" if weakest is None else tell_margin(weakest),
        )

    def told(self) -> Iterator[str]:
        """What to say below the table."""
        for test in self.next_tests:
            cost = "built already" if test.price == 0.0 else self.price_words(test.price)
            takes = write_duration(3600.0 * test.hours)
            yield f"next test: {test.setup}: {test.bits:.1f} bit expected in {takes} at the bench, {cost}"
        broken = ", ".join(f"{count} {reason}" for reason, count in self.search.refused.items() if count)
        yield f"{self.search.searched} articles looked at" + (f"; refused: {broken}" if broken else "")
        yield from self.notes()

    def price_words(self, price: float | None) -> str:
        """A price with its currency."""
        return "no price known" if price is None else f"{price:.2f} {self.currency}".strip()

    def notes(self) -> Iterator[str]:
        """What a person should know before they trust a figure."""
        if not self.search.complete:
            yield "The search was stopped before its end: better articles may be there; run it again to look."
        asked, usual = self.brief.least_static, LIMITS["least_margin"].default or 0.0
        if asked < usual:
            yield (
                f"This brief asks that an article withstands {asked:g} times its predicted peak, where "
                f"{usual:g} times is usual. {LESS_MARGIN}"
            )
        if self.belief.outcome is None:
            yield (
                "These figures rest on no campaign, only on what is usual for tools of this class: their "
                "intervals are wide; name a workspace with -w to use what your runs taught."
            )
        if (
            self.brief.largest_inertia == self.belief.reach
            and LIMITS["largest_inertia_kg_m2"].refused in self.search.refused
        ):
            yield (
                f"No polar inertia above {write_number(1e6 * (self.belief.reach or 0.0), 3)} kg·mm² was "
                "looked at, a tenth beyond the largest that was run: further on a gain can break off. Run a "
                "heavier article first, or set largest_inertia_kg_m2."
            )
        if 0 < len(self.proposals) < self.brief.proposals:
            yield f"Only {len(self.proposals)} different articles meet this brief."
        yield PRICE_NOTE
        if self.next_tests:
            yield f"For the next test an hour at the bench counts as {_HOUR_COSTS:.0f} {self.currency}."


def _within_runs(brief: Brief, belief: Belief) -> Brief:
    """The brief with the inertia up to which runs stand behind a gain, where it names none itself."""
    return brief if brief.largest_inertia is not None else replace(brief, largest_inertia=belief.reach)


def prepare_design(
    brief_file: Path,
    workspace: Path | None = None,
    campaign: str | None = None,
    *,
    seed: int | None = None,
    quick: bool = False,
    progress: Progress | None = None,
    scheduler: str | None = None,
) -> DesignTask:
    """Read the brief and find out what is believed of its bench.

    Parameters
    ----------
    workspace
        None takes the brief's own `[bench]` and the priors of its tools' classes.
    seed
        None takes the brief's.
    quick
        A rougher answer in a fraction of the time.
    scheduler
        Address of a Dask scheduler whose workers simulate; None: this machine.

    Raises
    ------
    StrikeproofError
        If the brief cannot be used, or the campaign not be explained.
    """
    articles: Mapping[str, Mapping[str, Any]] = {}
    materials = None
    if workspace is not None:
        of = open_campaign(workspace, campaign)[2]
        articles, materials = campaign_tables(of), campaign_materials(workspace, of.name)
    known = load_brief(brief_file, articles=articles, folder=workspace, materials=materials)
    chosen = known.errand.seed if seed is None else seed
    if workspace is not None:
        belief = believe_campaign(
            workspace,
            campaign,
            known.errand.tools,
            chosen,
            quick=quick,
            progress=progress,
            scheduler=scheduler,
        )
    elif known.errand.bench is not None:
        belief = believe_bench(known.errand.bench, known.errand.tools, chosen, quick=quick)
    else:
        raise BadInput(
            "neither a workspace nor a [bench]",
            where=str(brief_file),
            allowed="a campaign to learn from, or a [bench] with tool, article, bolt and rig",
            fix="name a workspace with -w, or add the tables",
        )
    return DesignTask(known, belief, chosen, quick, scheduler)


def design_from(
    brief_file: Path,
    workspace: Path | None = None,
    campaign: str | None = None,
    *,
    seed: int | None = None,
    quick: bool = False,
    progress: Progress | None = None,
    cancelled: Cancelled | None = None,
) -> DesignOutcome:
    """The best distinct articles that keep a brief, each as `predict` would predict it.

    Raises
    ------
    StrikeproofError
        As `prepare_design`; also if no article keeps the brief.
    """
    task = prepare_design(brief_file, workspace, campaign, seed=seed, quick=quick, progress=progress)
    return task.search(progress, cancelled)


_HOUR_COSTS: Final = 30.0
"""What an hour at the bench counts for beside the price of an article, in the brief's currency: an assumption
that is said with the answer."""

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
        Expected of it; `bits_rivals` of them on which explanation is right.
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


def _choose_tests(belief: Belief, proposals: Sequence[Proposal], seed: int) -> tuple[NextTrial, ...]:
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
        cost = _HOUR_COSTS * hours + (price or 0.0)
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
