"""Explain a campaign: which property makes the difference, worked out once and then kept by its content."""

from __future__ import annotations

import hashlib
import json
import math
from collections.abc import Callable, Mapping
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

import numpy as np

from strikeproof.campaign.records import Campaign
from strikeproof.campaign.store import Store
from strikeproof.desk.comparing.compare import ComparisonOutcome
from strikeproof.desk.explaining.curves import draw_curves
from strikeproof.desk.explaining.evidence import GatheredEvidence, gather_evidence
from strikeproof.desk.explaining.kept import pack_explanation, unpack_explanation
from strikeproof.desk.explaining.kept_pieces import KeptPieces
from strikeproof.desk.explaining.tables import explanation_lines, explanation_tables
from strikeproof.desk.workspace.opening import open_campaign
from strikeproof.desk.workspace.results_version import EXPLANATIONS
from strikeproof.explain import Evidence, Explanation, explain_campaign
from strikeproof.explain.crew import Crew
from strikeproof.publish.explain import InertiaCurve

__all__ = ["ExplainOutcome", "explain_workspace", "find_explanation"]

Progress = Callable[[int, int, str], None]
"""Called with (done, total, what is being done)."""

_FORM = 2  # of what is kept
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
        return explanation_lines(self.explanation)

    def tables(self) -> list[list[tuple[str, ...]]]:
        """What stands behind it, as tables with a header each."""
        return explanation_tables(self.explanation)

    def as_json(self) -> dict[str, Any]:
        """As the command line prints it; what is not finite is null."""
        document = self.explanation.as_json()
        for row in document["articles"]:
            row["split"] = row["split"] or {}
        return dict(_finite({"campaign": self.campaign.name, **document, "seed": self.seed}))


def explain_workspace(
    workspace: Path, name: str | None = None, *, quick: bool = False, progress: Progress | None = None
) -> ExplainOutcome:
    """Set the rival explanations of a campaign against each other; a second time the answer is there at once.

    Work that was stopped goes on where it was, and comes to the same answer.

    Parameters
    ----------
    quick
        A rougher answer in a fraction of the time.

    Raises
    ------
    StrikeproofError
        If there is no such campaign, it says too little to begin, or the fit of a rival that matters has not
        converged.
    """
    store, key, campaign = open_campaign(workspace, name)
    gathered = gather_evidence(store, key, campaign)
    seed = campaign.protocol.seed or 0
    fact = _key(gathered.evidence, seed, quick=quick)
    kept = store.facts([fact]).get(fact)
    if kept is None:
        said = progress or (lambda done, total, what: None)
        pieces = KeptPieces(store, fact, lambda: said(0, 1, "going on from what an earlier run has kept"))
        kept = _work_out(gathered.evidence, seed, pieces, quick=quick, progress=progress)
        store.keep_facts({fact: kept})
        pieces.drop()
        if pieces.found:
            every = pieces.found + pieces.made
            said(1, 1, f"{pieces.found} of {every} pieces were there from an earlier run")
    return _outcome(gathered, kept, seed)


def find_explanation(
    store: Store, key: int, campaign: Campaign, compared: ComparisonOutcome | None = None
) -> ExplainOutcome | None:
    """The explanation that is kept for a campaign as it is now, a thorough one before a quick one."""
    gathered = gather_evidence(store, key, campaign, compared=compared)
    seed = campaign.protocol.seed or 0
    keys = [_key(gathered.evidence, seed, quick=quick) for quick in (False, True)]
    found = store.facts(keys)
    kept = next((found[each] for each in keys if each in found), None)
    return None if kept is None else _outcome(gathered, kept, seed)


def _work_out(
    evidence: Evidence, seed: int, pieces: KeptPieces, *, quick: bool, progress: Progress | None
) -> dict[str, Any]:
    """The explanation and its curves in the form that is kept.

    The curves start from what is kept of it, so that the first answer and every later one are the same.
    """
    rng = np.random.default_rng(seed)
    made = explain_campaign(evidence, rng=rng, quick=quick, progress=progress, keep=pieces)
    packed = pack_explanation(made)
    crew = Crew(_WORKERS, pieces, "curves")
    curves = draw_curves(unpack_explanation(packed, evidence), np.random.default_rng([seed, 1]), crew)
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
    words = json.dumps(["explanation", _FORM, EXPLANATIONS, asdict(evidence), seed, quick], default=_plain)
    return hashlib.sha256(words.encode()).hexdigest()


def _plain(value: Any) -> Any:
    return value.tolist() if isinstance(value, np.ndarray | np.generic) else str(value)


def _finite(value: Any) -> Any:
    """The same with null for what JSON cannot say."""
    if isinstance(value, float):
        return value if math.isfinite(value) else None
    if isinstance(value, Mapping):
        return {key: _finite(each) for key, each in value.items()}
    return [_finite(each) for each in value] if isinstance(value, list | tuple) else value
