"""The explanation of a campaign: its answer in records, and the fits that further questions need."""

from __future__ import annotations

from dataclasses import dataclass, field

from strikeproof.explain.fits import Fits
from strikeproof.explain.physical import Physical
from strikeproof.explain.records import Evidence, Verdict
from strikeproof.explain.results import (
    ArticleRow,
    Diagnostics,
    NextTest,
    ParameterRow,
    RivalRow,
    Unexplained,
)
from strikeproof.plain_json import UNSHOWN

__all__ = ["Explanation", "leading_chain"]


@dataclass(frozen=True, slots=True)
class Explanation:
    """Which explanation the data support, how surely, and what would settle it.

    Attributes
    ----------
    because
        Plain sentences, the first one the answer.
    next
        Next tests, the most informative first.
    evidence
        What it was made from.
    fits
        What further questions start from; None where nothing could be fitted.
    unexplained
        What no property explains, by the most probable explanation; None where nothing could be fitted.
    """

    rivals: tuple[RivalRow, ...]
    verdict: Verdict
    because: tuple[str, ...]
    parameters: tuple[ParameterRow, ...]
    articles: tuple[ArticleRow, ...]
    next: tuple[NextTest, ...]
    diagnostics: Diagnostics
    evidence: Evidence = field(metadata=UNSHOWN)
    fits: Fits | None = field(metadata=UNSHOWN)
    unexplained: Unexplained | None = None


def leading_chain(explanation: Explanation) -> Physical | None:
    """The likeliest explanation with physics; None where none was fitted."""
    chances = {each.name: (each.probability, each.log_density) for each in explanation.rivals}
    physical = explanation.fits.physical if explanation.fits is not None else ()
    return max(physical, key=lambda each: chances[each.name], default=None)
