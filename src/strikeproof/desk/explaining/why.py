"""What the page says about why: an explanation, and a blow of the reference and of the winner."""

from __future__ import annotations

import numpy as np

from strikeproof.desk.explaining.explain import ExplainOutcome
from strikeproof.drivetrain import Chain, Run, ToolModel, account_blow, blow_of_run, build_chain, simulate_run
from strikeproof.errors import StrikeproofError
from strikeproof.explain import Gain
from strikeproof.explain.explanation import leading_chain
from strikeproof.explain.fits import Fits
from strikeproof.explain.kinds import KEPT
from strikeproof.explain.parameters import build_bench, build_tool, read_spread, read_values
from strikeproof.explain.physical import Physical
from strikeproof.explain.variants import spread_article, vary_article
from strikeproof.publish.blow import tell_blow
from strikeproof.publish.explain import BlowView, Why

__all__ = ["tell_why"]


def tell_why(outcome: ExplainOutcome) -> Why:
    """The explanation ready for the page."""
    explanation = outcome.explanation
    fits, fit = explanation.fits, leading_chain(explanation)
    if fits is None or fit is None:
        return Why(explanation, outcome.curves)
    top = max(fits.evidence.gains, key=lambda each: each.log_gain)
    try:
        blows = _blows(fits, fit, top)
    except StrikeproofError:
        blows = ()  # the answer does not hang on these pictures
    return Why(explanation, outcome.curves, blows, top.setting.tool)


def _blows(fits: Fits, fit: Physical, top: Gain) -> tuple[BlowView, ...]:
    """A blow of the reference half way up its growth, and one of the winner at the same clamp load."""
    reference, tool, base = _hammer(fits, fit, fits.evidence.reference, top)
    level = 0.5 * (reference.start_load + reference.end_load)
    winner, _tool, chain = _hammer(fits, fit, top.article, top)
    if not (reference.time.size and winner.time.size):
        return ()
    pairs = ((fits.evidence.reference, reference, base), (top.article, winner, chain))
    return tuple(_view(name, run, on, tool, level) for name, run, on in pairs)


def _hammer(fits: Fits, fit: Physical, article: str, at: Gain) -> tuple[Run, ToolModel, Chain]:
    """A run at the middle of what is believed of every unknown."""
    evidence = fits.evidence
    values = read_values(fit.parameters, np.median(fit.chains.flat, axis=0))
    bolt, rig = build_bench(evidence, values)
    facts = next(each for each in evidence.tools if each.name == at.setting.tool)
    tool = build_tool(facts, at.setting, values)
    model, reference = evidence.article(article).model, evidence.article(evidence.reference).model
    assert model is not None and reference is not None  # only such articles are fitted
    varied = vary_article(model, reference, KEPT[fit.name])
    spread = spread_article(varied, read_spread(evidence, values, np.zeros(3)))
    chain = build_chain(tool, spread, bolt, rig, direction=evidence.direction)
    return simulate_run(chain, tool, duration=at.setting.duration), tool, chain


def _view(article: str, run: Run, chain: Chain, tool: ToolModel, level: float) -> BlowView:
    before = np.concatenate(([run.start_load], run.clamp_load[:-1]))
    number = int(np.argmin(np.abs(before - level))) + 1
    blow = blow_of_run(chain, tool, run, number, keep_motion=True)
    return BlowView(article, tell_blow(chain, blow), account_blow(chain, blow), blow.rebound < 0.0)
