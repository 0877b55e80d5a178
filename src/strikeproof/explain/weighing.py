"""Judge fitted rivals, and refuse those whose sampling has not converged."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from strikeproof.errors import DidNotConverge
from strikeproof.explain.fits import Fits
from strikeproof.explain.judgement import Judgement, judge_rivals, misfit
from strikeproof.explain.physical import folds

__all__ = ["Weighed", "find_unmet", "weigh_rivals"]

REFUSED_R_HAT = 1.2
"""Of a rival that matters; 1.05 is asked for (1.1 in quick fits), and more steps are added until then."""
LEAST_SIZE = 100.0
MATTERS = 0.05


@dataclass(frozen=True, slots=True)
class Weighed:
    """The judgement, and the posterior predictive p of the most probable rival."""

    judged: Judgement
    fit_p: float


def weigh_rivals(fits: Fits, rng: np.random.Generator) -> Weighed:
    """Judge all rivals of a campaign.

    Parameters
    ----------
    fits
        All rivals, fitted.
    rng
        The only source of chance.

    Raises
    ------
    DidNotConverge
        If the chains of a rival that matters have not met; `best` holds their R-hat by rival.
    """
    scatter = fits.evidence.covariance
    judged = judge_rivals(fits.rivals, fits.gains, scatter, folds(fits.evidence), rng)
    unmet = find_unmet(fits, judged)
    if unmet:
        raise DidNotConverge(
            f"the fit of {', '.join(unmet)}",
            best=unmet,
            mend="run it again without --quick, or tell more of the tool, such as its hammer inertia",
        )
    return Weighed(judged, misfit(fits.rivals[judged.best].seeing(), fits.gains, scatter))


def find_unmet(fits: Fits, judged: Judgement) -> dict[str, float]:
    """R-hat of the rivals that matter and whose chains have not met."""
    chances = dict(zip(judged.names, judged.probability.tolist(), strict=True))
    return {
        each.name: each.chains.r_hat
        for each in fits.physical
        if chances[each.name] > MATTERS
        and (each.chains.r_hat > REFUSED_R_HAT or each.chains.bulk < LEAST_SIZE)
    }
