"""Whether bolt and articles withstand a run that is longer than those made: asked before one is suggested."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from strikeproof.campaign.records import Campaign
from strikeproof.desk.articles.known import KnownArticle
from strikeproof.desk.safety.bolt_limit import allowed_load
from strikeproof.desk.simulating.scattered import largest_loads
from strikeproof.drivetrain import Chain, Run, ToolModel, build_chain, place_peaks, simulate_run
from strikeproof.explain import Evidence, Setting
from strikeproof.explain.parameters import build_bench, build_tool, list_parameters, read_values
from strikeproof.parts import Margin, margins_at
from strikeproof.quantity import write_number

__all__ = ["Endurance", "expect_longer"]


@dataclass(frozen=True, slots=True)
class Endurance:
    """What a run is expected to do to bolt and articles.

    Parameters
    ----------
    load
        Largest clamp load that is predicted. [N]
    allowed
        What the campaign allows its bolt; None where that is not known. [N]
    weakest
        Smallest margin of the articles, with the article's name; None where no strength is known.
    untold
        Articles whose strength is not known.
    """

    load: float
    allowed: float | None
    weakest: tuple[str, Margin] | None
    untold: tuple[str, ...]

    @property
    def withstood(self) -> bool:
        """Whether nothing that is known speaks against it."""
        too_much = self.allowed is not None and self.load > self.allowed
        return not too_much and (self.weakest is None or self.weakest[1].verdict != "stop")

    def __str__(self) -> str:
        return "; ".join(self._said())

    def _said(self) -> Iterator[str]:
        load = f"about {_kilo(self.load)} of clamp load is predicted"
        if self.allowed is None:
            yield f"{load}; whether the bolt withstands it is not known: give its thread and class"
        else:
            yield f"{load}, {_kilo(self.allowed)} is allowed"
        if self.weakest is not None and self.weakest[1].verdict != "holds":
            name, margin = self.weakest
            place = f"{name}, {margin.part} ({margin.mode})"
            yield f"{place}: {write_number(margin.static, 2)} times, {margin.verdict}"
        if self.untold:
            names = " and ".join(self.untold)
            yield f"the strength of {names} is not known: give the parts"


def _kilo(load: float) -> str:
    return f"{write_number(load / 1000.0, 3)} kN"


def expect_longer(
    campaign: Campaign,
    articles: tuple[KnownArticle, ...],
    evidence: Evidence,
    usual: Setting,
    longer: Setting,
) -> Endurance:
    """What a longer run of some articles is expected to do, by the engine with usual values.

    Where the reference was measured as a load or a torque in its usual setting, the prediction is scaled
    to it.

    Parameters
    ----------
    usual, longer
        The setting that was run, and the one that is asked about.
    """
    reference = next(each for each in evidence.articles if each.name == evidence.reference)
    scale = 1.0
    measured = [each.torque for each in evidence.levels if each.setting == usual]
    if measured and reference.model is not None:
        chain, _tool, run = _simulate(evidence, KnownArticle(reference), usual)
        scale = measured[0] / (chain.torque_per_load * _load(run))
    load, margins = 0.0, []
    for each in articles:
        if each.facts.model is None:
            continue
        chain, tool, run = _simulate(evidence, each, longer)
        largest = largest_loads(chain, tool, run, longer.duration)
        load = max(load, scale * largest.load)
        if each.properties is not None and each.properties.checks:
            peaks = max(scale, 1.0) * place_peaks(each.facts.model, each.facts.model, largest.own)
            margins += [(each.facts.name, margin) for margin in margins_at(each.properties, peaks.tolist())]
    known = {name for name, _margin in margins}
    return Endurance(
        load,
        allowed_load(campaign),
        min(margins, key=lambda pair: pair[1].static, default=None),
        tuple(each.facts.name for each in articles if each.facts.name not in known),
    )


def _simulate(evidence: Evidence, article: KnownArticle, setting: Setting) -> tuple[Chain, ToolModel, Run]:
    """The chain, the tool, and a run without scatter."""
    assert article.facts.model is not None  # the caller has looked
    parameters = list_parameters(evidence, bonds=False)
    values = read_values(parameters, np.zeros(len(parameters)))
    bolt, rig = build_bench(evidence, values)
    tool = build_tool(next(each for each in evidence.tools if each.name == setting.tool), setting, values)
    chain = build_chain(tool, article.facts.model, bolt, rig, direction=evidence.direction)
    return chain, tool, simulate_run(chain, tool, duration=setting.duration)


def _load(run: Run) -> float:
    return max(float(run.clamp_load.max(initial=0.0)), run.start_load)
