"""Next tests that a person can really make, and whether bolt and articles withstand longer ones."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from functools import partial, reduce
from itertools import product
from typing import Final

import numpy as np

from strikeproof.campaign.records import Campaign
from strikeproof.desk.articles.known import KnownArticle
from strikeproof.desk.articles.life_words import tell_margin
from strikeproof.desk.simulating.largest import largest_loads
from strikeproof.drivetrain import (
    ArticleModel,
    Chain,
    Run,
    ToolModel,
    build_chain,
    place_peaks,
    simulate_run,
    with_extension,
    with_ring,
)
from strikeproof.explain import ArticleFacts, Candidate, Evidence, Setting
from strikeproof.explain.parameters import build_bench, build_tool, list_parameters, read_values
from strikeproof.language import joined, say, write_figures
from strikeproof.parts import Margin, margins_at
from strikeproof.quantity import write_number

__all__ = ["Endurance", "list_candidates", "ring_inertia"]

_STEEL: Final = 7850.0  # kg/m³
_FACTORS: Final = (1.5, 2.5, 4.0, 7.0)
_WIDTHS: Final = (0.010, 0.016, 0.025)  # m, of flat bar that a ring is turned or cut from
_STEP: Final = 0.005  # m, between outer diameters
_LARGEST: Final = 0.16  # m, that still clears most rigs
_USUAL_BORE: Final = {"half": 0.040, "three-quarter": 0.055}  # m, where no diameter is known
# Length, bar [mm], inertia [kg·m²], stiffness with both squares [N·m/rad]: steel bars (computed from their
# solids).
_EXTENSIONS: Final = {
    "half": ((75, 20, 1.5e-5, 6.0e3), (125, 20, 2.5e-5, 3.6e3), (250, 20, 5.0e-5, 1.8e3)),
    "three-quarter": ((100, 32, 1.2e-4, 18.0e3), (250, 32, 3.0e-4, 7.3e3)),
}
_EXTENSION_PERCENT: Final = 8.0  # standard uncertainty of such a stiffness (estimate)
_TIMES: Final = (0.25, 3.0)
_REPEATS: Final = 4


def list_candidates(
    campaign: Campaign, known: Mapping[str, KnownArticle], evidence: Evidence
) -> tuple[tuple[Candidate, ...], tuple[str, ...]]:
    """Rings on the reference, the reference on an extension, and the farthest article for another time.

    The second is what is not suggested since bolt or article would not withstand it, and why.
    """
    reference = known[campaign.reference]
    if reference.facts.model is None:
        return (), ()
    found: list[Candidate] = []
    refused: list[str] = []
    several = len(evidence.settings) > 1
    for setting in evidence.settings:
        drive = next(each.drive for each in evidence.tools if each.name == setting.tool)
        size = "half" if drive < 0.016 else "three-quarter"
        named = partial(_with_tool, tool=setting.tool if several else "")
        made = [*_rings(reference, size), *_extensions(reference.facts, size, drive)]
        found += [Candidate(named(words), facts, setting, _REPEATS) for words, facts in made]
        for each, why_not in _other_times(campaign, known, evidence, setting):
            if why_not:
                refused.append(
                    say(
                        "{test} is not suggested as a next test: {why_not}",
                        test=named(each.name),
                        why_not=why_not,
                    )
                )
            else:
                found.append(replace(each, name=named(each.name)))
    return tuple(found), tuple(refused)


def _with_tool(words: str, tool: str) -> str:
    """The words of a test, with its tool where there are several."""
    return say("{test}, with {tool}", test=words, tool=tool) if tool else words


def ring_inertia(outer: float, bore: float, width: float) -> float:
    """Polar inertia of a steel ring, π/32 ρ b (D⁴ − d⁴). [kg·m²]"""
    return math.pi / 32.0 * _STEEL * width * (outer**4 - bore**4)


def _rings(reference: KnownArticle, size: str) -> Iterator[tuple[str, ArticleFacts]]:
    """Steel rings from stock widths whose inertia comes nearest to a spread of factors."""
    facts, model = reference.facts, reference.facts.model
    assert model is not None
    drawn = reference.properties.outer_diameter if reference.properties else None
    bore = drawn or _USUAL_BORE[size]
    outers = [_STEP * n for n in range(math.ceil((bore + 0.01) / _STEP), round(_LARGEST / _STEP) + 1)]
    whole = model.polar_inertia
    seen = set()
    for factor in _FACTORS:
        outer, width = min(
            product(outers, _WIDTHS),
            key=lambda each: abs(math.log((1.0 + ring_inertia(each[0], bore, each[1]) / whole) / factor)),
        )
        if (outer, width) in seen:
            continue
        seen.add((outer, width))
        added = ring_inertia(outer, bore, width)
        mass = _STEEL * math.pi / 4.0 * width * (outer**2 - bore**2)
        words = say(
            "{article} with a steel ring held rigidly, {outer} mm outside, {bore} mm bore, {width} mm wide: "
            "{times} times the inertia",
            article=facts.name,
            outer=write_figures(f"{1e3 * outer:.0f}"),
            bore=write_figures(f"{1e3 * bore:.0f}"),
            width=write_figures(f"{1e3 * width:.0f}"),
            times=write_figures(f"{1.0 + added / whole:.1f}"),
        )
        yield words, _changed(facts, with_ring(model, added), mass)


def _extensions(facts: ArticleFacts, size: str, drive: float) -> Iterator[tuple[str, ArticleFacts]]:
    model = facts.model
    assert model is not None
    for length, bar, inertia, stiffness in _EXTENSIONS[size]:
        longer = with_extension(model, inertia, stiffness, lumps=1)
        mass = _STEEL * math.pi / 4.0 * (1e-3 * bar) ** 2 * 1e-3 * length
        words = say(
            "{article} on a {length} mm extension, {bar} mm steel bar with {square} mm squares ({stiffness} "
            "kN·m/rad)",
            article=facts.name,
            length=length,
            bar=bar,
            square=write_figures(f"{1e3 * drive:.3g}"),
            stiffness=write_figures(f"{stiffness / 1e3:.2g}"),
        )
        changed = _changed(facts, longer, mass)
        yield words, replace(changed, stiffness_percent=_EXTENSION_PERCENT)


def _changed(facts: ArticleFacts, model: ArticleModel, added: float) -> ArticleFacts:
    mass = None if facts.mass is None else facts.mass + added
    return replace(facts, model=model, mass=mass)


def _other_times(
    campaign: Campaign, known: Mapping[str, KnownArticle], evidence: Evidence, setting: Setting
) -> Iterator[tuple[Candidate, str]]:
    """The article farthest from the reference, both for another time; and why not for a longer one."""
    able = [
        each
        for each in evidence.gains
        if each.setting == setting and evidence.article(each.article).model is not None
    ]
    if not able:
        return
    top = max(able, key=lambda each: abs(each.log_gain)).article
    for share in _TIMES:
        other = replace(setting, duration=round(setting.duration * share, 2))
        words = say(
            "{article} and {reference} for {other} s instead of {duration} s",
            article=top,
            reference=campaign.reference,
            other=write_figures(f"{other.duration:g}"),
            duration=write_figures(f"{setting.duration:g}"),
        )
        why_not = ""
        if share > 1.0:
            both = known[top], known[campaign.reference]
            expected = _expect_longer(campaign, both, evidence, setting, other)
            if expected.withstood:
                words = say("{test} ({expected})", test=words, expected=str(expected))
            else:
                why_not = str(expected)
        yield Candidate(words, evidence.article(top), other, _REPEATS), why_not


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
        return not too_much and (self.weakest is None or self.weakest[1].sure >= 1)

    def __str__(self) -> str:
        return reduce(lambda before, end: before + "; " + end, self._said())

    def _said(self) -> Iterator[str]:
        if self.allowed is None:
            yield say(
                "about {load} kN of clamp load is predicted; whether the bolt withstands it is not known: "
                "give its thread and class",
                load=_kilo(self.load),
            )
        else:
            yield say(
                "about {load} kN of clamp load is predicted, {allowed} kN is allowed",
                load=_kilo(self.load),
                allowed=_kilo(self.allowed),
            )
        if self.weakest is not None and (self.weakest[1].sure < 1 or self.weakest[1].verdict != "holds"):
            name, margin = self.weakest
            yield say(
                "{article}, {part} ({mode}): {margin}",
                article=name,
                part=margin.part,
                mode=margin.mode,
                margin=tell_margin(margin, 2),
            )
        if self.untold:
            yield say("the strength of {names} is not known: give the parts", names=joined(self.untold))


def _kilo(load: float) -> str:
    return write_number(load / 1000.0, 3)


def _expect_longer(
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
        campaign.bolt.allowed_load(),
        min(margins, key=lambda pair: pair[1].sure, default=None),
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
