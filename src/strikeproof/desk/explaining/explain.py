"""Explain a campaign: which property makes the difference, worked out once and then stored by its content."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable, Mapping
from dataclasses import asdict, dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np

from strikeproof.campaign.records import Campaign
from strikeproof.campaign.store import Store
from strikeproof.desk.comparing.compare import ComparisonOutcome
from strikeproof.desk.explaining.evidence import GatheredEvidence, gather_evidence
from strikeproof.desk.explaining.kept import KeptPieces, pack_explanation, unpack_explanation
from strikeproof.desk.workspace.opening import open_campaign
from strikeproof.desk.workspace.results_version import EXPLANATIONS
from strikeproof.explain import (
    ArticleFacts,
    Evidence,
    Explanation,
    RivalName,
    Setting,
    Split,
    explain_campaign,
)
from strikeproof.explain.crew import ALONE, Crew
from strikeproof.explain.fits import Fits
from strikeproof.explain.outlook import Item, look_ahead
from strikeproof.explain.variants import Spread, spread_article
from strikeproof.language import retold_all, speaking
from strikeproof.plain_json import to_json
from strikeproof.publish.explain import InertiaCurve, say_share, tell_caveats, tell_parameter, tell_sentences
from strikeproof.quantity import write_percent
from strikeproof.team import gather_team

__all__ = ["ExplainOutcome", "explain_workspace", "find_explanation"]

Progress = Callable[[int, int, str], None]
"""Called with (done, total, what is being done)."""

_FORM = 3  # of what is stored
_WORKERS = 2


@dataclass(frozen=True, slots=True, eq=False)
class ExplainOutcome:
    """A campaign's explanation with what it was made from.

    Attributes
    ----------
    curves
        Gain against inertia, one for each tool.
    seed
        Of its random numbers.
    """

    gathered: GatheredEvidence
    explanation: Explanation
    curves: tuple[InertiaCurve, ...]
    seed: int

    @property
    def campaign(self) -> Campaign:
        """Whose explanation it is."""
        return self.gathered.campaign

    def lines(self) -> list[str]:
        """The answer in sentences, for a terminal."""
        return _explanation_lines(self.explanation)

    def tables(self) -> list[list[tuple[str, ...]]]:
        """What is behind it, as tables with a header each."""
        return _explanation_tables(self.explanation)

    def as_json(self) -> dict[str, Any]:
        """As the command line prints it; what is not finite is null."""
        document = to_json(self.explanation)
        for row in document["articles"]:
            row["split"] = row["split"] or {}
        return {"campaign": self.campaign.name, **document, "seed": self.seed}


def explain_workspace(
    workspace: Path,
    name: str | None = None,
    *,
    quick: bool = False,
    progress: Progress | None = None,
    scheduler: str | None = None,
) -> ExplainOutcome:
    """Set the explanations of a campaign against each other; a second time the answer is there at once.

    Work that was stopped goes on where it was, and comes to the same answer.

    Parameters
    ----------
    quick
        A rougher answer in a fraction of the time.
    scheduler
        Address of a Dask scheduler whose workers simulate, with the same answer; None: this machine.

    Raises
    ------
    StrikeproofError
        If there is no such campaign, it says too little to begin, or the fit of an explanation that matters
        has not converged.
    """
    store, key, campaign = open_campaign(workspace, name)
    gathered = gather_evidence(store, key, campaign)
    seed = campaign.protocol.seed or 0
    fact = _key(gathered.evidence, seed, quick=quick)
    kept = store.facts([fact]).get(fact)
    if kept is None:
        said = progress or (lambda done, total, what: None)
        pieces = KeptPieces(store, fact, lambda: said(0, 1, "going on from what was saved before"))
        with gather_team(scheduler, _WORKERS) as team:
            kept = _work_out(gathered.evidence, seed, Crew(team, pieces), quick=quick, progress=progress)
        store.keep_facts({fact: kept})
        pieces.drop()
        if pieces.found:
            every = pieces.found + pieces.made
            said(1, 1, f"{pieces.found} of {every} pieces of the work were saved before")
    return _outcome(gathered, kept, seed)


def find_explanation(
    store: Store, key: int, campaign: Campaign, compared: ComparisonOutcome | None = None
) -> ExplainOutcome | None:
    """The explanation that is stored for a campaign as it is now, a thorough one before a quick one."""
    gathered = gather_evidence(store, key, campaign, compared=compared)
    seed = campaign.protocol.seed or 0
    keys = [_key(gathered.evidence, seed, quick=quick) for quick in (False, True)]
    found = store.facts(keys)
    kept = next((found[each] for each in keys if each in found), None)
    return None if kept is None else _outcome(gathered, kept, seed)


def _work_out(
    evidence: Evidence, seed: int, crew: Crew, *, quick: bool, progress: Progress | None
) -> dict[str, Any]:
    """The explanation and its curves in the form that is stored.

    The curves start from what is stored of it, so that the first answer and every later one are the same.
    """
    rng = np.random.default_rng(seed)
    with speaking("en"):  # as it is saved
        made = explain_campaign(
            evidence, rng=rng, quick=quick, progress=progress, keep=crew.keep, team=crew.team
        )
        packed = pack_explanation(made)
    again, rng = unpack_explanation(packed, evidence), np.random.default_rng([seed, 1])
    curves = _draw_curves(again, rng, crew.at("curves"))
    return {**packed, "curves": [_pack_curve(each) for each in curves]}


def _outcome(gathered: GatheredEvidence, kept: Mapping[str, Any], seed: int) -> ExplainOutcome:
    explanation = unpack_explanation(kept, gathered.evidence)
    return ExplainOutcome(gathered, explanation, tuple(_unpack_curve(each) for each in kept["curves"]), seed)


def _pack_curve(curve: InertiaCurve) -> dict[str, Any]:
    arrays = ("inertia", "middle", "low", "high")
    return {"tool": curve.tool, "rival": curve.rival} | {
        name: getattr(curve, name).tolist() for name in arrays
    }


def _unpack_curve(kept: Mapping[str, Any]) -> InertiaCurve:
    arrays = [np.array(kept[name], float) for name in ("inertia", "middle", "low", "high")]
    return InertiaCurve(kept["tool"], kept["rival"], *arrays)


def _key(evidence: Evidence, seed: int, *, quick: bool) -> str:
    """Hash of all that the answer depends on, how it is worked out included."""
    with speaking("en"):  # the same in every language
        facts = retold_all(asdict(evidence))
    words = json.dumps(["explanation", _FORM, EXPLANATIONS, facts, seed, quick], default=_plain)
    return hashlib.sha256(words.encode()).hexdigest()


def _plain(value: Any) -> Any:
    return value.tolist() if isinstance(value, np.ndarray | np.generic) else str(value)


_POINTS, _DRAWS = 15, 48
_BEYOND = 1.15  # how far the curves reach beyond the articles' inertias


def _likeliest(explanation: Explanation) -> RivalName:
    """The explanation that the curves follow."""
    return max(explanation.rivals, key=lambda each: (each.probability, each.log_density)).name


def _draw_curves(
    explanation: Explanation, rng: np.random.Generator, crew: Crew = ALONE
) -> tuple[InertiaCurve, ...]:
    """Gain against inertia with all else the reference's, median and 90 % band, for every setting."""
    fits = explanation.fits
    if fits is None:
        return ()
    rival = _likeliest(explanation)
    return tuple(
        _draw_curve(fits, rival, setting, rng, crew.at(str(place)))
        for place, setting in enumerate(fits.evidence.settings)
    )


def _draw_curve(
    fits: Fits, rival: RivalName, setting: Setting, rng: np.random.Generator, crew: Crew
) -> InertiaCurve:
    evidence = fits.evidence
    used = {gain.article for gain in evidence.gains} | {evidence.reference}
    inertias = [each.model.polar_inertia for each in evidence.articles if each.model and each.name in used]
    grid = np.geomspace(min(inertias) / _BEYOND, max(inertias) * _BEYOND, _POINTS)
    base = evidence.article(evidence.reference)
    items = [Item(_with_inertia(base, float(each)), setting, kin=True) for each in grid]
    gains = 100.0 * np.expm1(look_ahead(fits, items, [rival], _DRAWS, rng, crew=crew)[rival][0])
    low, middle, high = np.quantile(gains, [0.05, 0.5, 0.95], axis=0)
    return InertiaCurve(setting.tool, rival, grid, middle, low, high)


def _with_inertia(base: ArticleFacts, inertia: float) -> ArticleFacts:
    """The reference with another inertia, known exactly; its mass goes with the root of it, as a ring's."""
    assert base.model is not None  # a fit needs the reference's
    factor = inertia / base.model.polar_inertia
    return replace(
        base,
        model=spread_article(base.model, Spread(inertia=factor)),
        mass=None if base.mass is None else base.mass * float(np.sqrt(factor)),
        inertia_percent=0.0,
        stiffness_percent=0.0,
        gap_percent=0.0,
    )


Rows = list[tuple[str, ...]]

_TESTS_SHOWN = 5


def _explanation_lines(explanation: Explanation) -> list[str]:
    """The answer in sentences, then what is beside it, marked with `!`."""
    return [*tell_sentences(explanation), *(f"! {each}" for each in tell_caveats(explanation))]


def _explanation_tables(explanation: Explanation) -> list[Rows]:
    """Tables of explanations, articles, unknowns and next tests, each with a header; empty ones are left
    out."""
    tables = (_rivals(explanation), _articles(explanation), _unknowns(explanation), _tests(explanation))
    return [rows for rows in tables if len(rows) > 1]


def _rivals(explanation: Explanation) -> Rows:
    head = ("explanation", "misses by", "weight", "probability", "log density", "says")
    return [
        head,
        *(
            (
                each.name,
                f"{each.error_percent:.1f} %",
                say_share(each.weight),
                say_share(each.probability),
                f"{each.log_density:.1f}",
                each.says,
            )
            for each in explanation.rivals
        ),
    ]


def _articles(explanation: Explanation) -> Rows:
    head = (
        "tool",
        "article",
        "measured",
        "left out, predicted",
        "90 %",
        "inertia",
        "stiffness",
        "gap",
        "bond",
        "of its own",
    )
    found = explanation.unexplained
    own = {} if found is None else {each.article: each.percent for each in found.parts}
    return [
        head,
        *(
            (
                each.tool,
                each.article,
                write_percent(each.measured_percent),
                write_percent(each.predicted_percent),
                f"{write_percent(each.low)} to {write_percent(each.high)}",
                *_parts(each.split),
                write_percent(own.get(each.article)),
            )
            for each in explanation.articles
        ),
    ]


def _parts(split: Split | None) -> tuple[str, ...]:
    return ("–",) * 4 if split is None else tuple(write_percent(each) for each in asdict(split).values())


def _unknowns(explanation: Explanation) -> Rows:
    rows = [tell_parameter(each) for each in explanation.parameters]
    head = ("unknown", "unit", "now", "90 %", "before", "learned")
    return [
        head,
        *(tuple(row[key] for key in ("name", "unit", "now", "range", "before", "learned")) for row in rows),
    ]


def _tests(explanation: Explanation) -> Rows:
    rows = explanation.next[:_TESTS_SHOWN]
    return [
        ("bits", "explanations", "unknowns", "next test"),
        *(
            (f"{each.bits:.1f}", f"{each.bits_rivals:.1f}", f"{each.bits_parameters:.1f}", each.setup)
            for each in rows
        ),
    ]
