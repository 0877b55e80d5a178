"""The one rule from the figures of all explanations to the one that is named, or to why none is."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal, TypeAlias

from strikeproof.explain.records import Verdict
from strikeproof.explain.results import RivalRow

__all__ = ["DECISIVE", "Decision", "Reason", "decide"]

DECISIVE = 0.8
"""Posterior probability an explanation needs to be named: where they are right that often, so is the verdict
(docs/validity.md)."""
LIKELY_MISFIT = 0.005

Reason: TypeAlias = Literal[
    "named", "held back", "refuted", "not decisive", "predicts worse", "measures disagree"
]


@dataclass(frozen=True, slots=True)
class Decision:
    """What is named and why, or why nothing is.

    Attributes
    ----------
    likeliest
        The most probable after the data.
    foremost
        The one that speaks against it, where left-out articles are predicted better by another; otherwise
        the likeliest again.
    """

    verdict: Verdict
    reason: Reason
    likeliest: RivalRow
    foremost: RivalRow


def decide(rivals: Sequence[RivalRow], fit_p: float, *, blocked: bool) -> Decision:
    """The explanation to name, or that the data cannot tell.

    One is named when its probability is decisive, its fit is not refuted by the data themselves, and what it
    predicts of left-out articles does not speak for another: by density, clearly; or by stacking weight and
    by error at once, as far as the figures shown differ, since the table of both would contradict the answer.
    That holds for every other one, not only for the one with the most weight.

    Parameters
    ----------
    rivals
        All that were fitted, at least one.
    fit_p
        Posterior predictive p of the most probable one, 0 to 1.
    blocked
        Whether something is missing without which nothing may be named.

    References
    ----------
    Derived here: how often the rule is right is in docs/validity.md.
    """
    likeliest = max(rivals, key=lambda each: each.probability)
    densest = max(rivals, key=lambda each: each.log_density)
    if blocked:
        return Decision("cannot tell", "held back", likeliest, likeliest)
    if likeliest.probability < DECISIVE:
        return Decision("cannot tell", "not decisive", likeliest, likeliest)
    if fit_p < LIKELY_MISFIT:
        return Decision("cannot tell", "refuted", likeliest, likeliest)
    if densest.log_density - likeliest.log_density > max(4.0, 3.0 * likeliest.log_density_error):
        return Decision("cannot tell", "predicts worse", likeliest, densest)
    better = [each for each in rivals if _outdoes(each, likeliest)]
    if better:
        heaviest = max(better, key=lambda each: each.weight)
        return Decision("cannot tell", "measures disagree", likeliest, heaviest)
    return Decision(likeliest.name, "named", likeliest, likeliest)


def _outdoes(rival: RivalRow, named: RivalRow) -> bool:
    """Whether it has both the greater weight and the smaller error; what looks alike counts as alike."""
    return round(rival.weight, 2) > round(named.weight, 2) and round(rival.error_percent, 1) < round(
        named.error_percent, 1
    )
