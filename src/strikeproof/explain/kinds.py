"""Every explanation that is set against the others: what of an article it lets matter, and its words.

The only list of them there is. To add one is an entry here, and for one without physics its function in
`statistical`.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final

import numpy as np

from strikeproof.explain.particles import Particles
from strikeproof.explain.records import Evidence, RivalName
from strikeproof.explain.statistical import Table, curve_rival, mass_rival, nothing_rival
from strikeproof.explain.variants import BONDED, CHAIN, INERTIA, STIFFNESS, Properties, vary_article
from strikeproof.language import say

__all__ = ["EXPLANATIONS", "KEPT", "RIVALS", "ExplanationKind"]


@dataclass(frozen=True, slots=True)
class ExplanationKind:
    """One explanation.

    Parameters
    ----------
    code
        As JSON keeps it.
    believes
        Of a `Properties` one with physics: what an article keeps of its own, the rest held equal to the
        reference's. Otherwise what one without physics expects of every gain.
    label, short
        What it is called on a chart, and in the middle of a sentence.
    says
        What it claims, in a few words; docs/explain.md has them too.
    answer
        How the answer begins when it is named.
    differs
        Whether it says anything else than a plainer one on these articles.
    """

    code: RivalName
    believes: Properties | Callable[[Table], Particles]
    label: str
    short: str
    says: str
    answer: str
    differs: Callable[[Evidence, Table], bool] = lambda _evidence, _table: True


def _all_weighed(evidence: Evidence, table: Table) -> bool:
    names = {evidence.reference} | {each.article for each in evidence.gains}
    return all(evidence.article(name).mass for name in names) and bool(np.any(table.mass != 0.0))


def _springs_differ(evidence: Evidence, _table: Table) -> bool:
    base = evidence.article(evidence.reference).model
    assert base is not None
    varied = [vary_article(each.model, base, STIFFNESS) for each in evidence.articles if each.model]
    return len({(*(lump.stiffness for lump in each.lumps), each.hexagon_stiffness) for each in varied}) > 1


def _springs_or_gaps_differ(evidence: Evidence, table: Table) -> bool:
    models = [each.model for each in evidence.articles if each.model is not None]
    gaps = {(each.hexagon_gap, each.lumps[0].gap) for each in models}
    return _springs_differ(evidence, table) or len(gaps) > 1


def _any_rides(evidence: Evidence, _table: Table) -> bool:
    return any(each.model.riders for each in evidence.articles if each.model is not None)


_FROM_THE_PLAINEST: Final = (
    ExplanationKind(
        "nothing",
        nothing_rival,
        say("nothing matters"),
        say("the guess that nothing matters"),
        say("nothing about the article matters"),
        say("Nothing about the articles matters, as far as these runs show"),
    ),
    ExplanationKind(
        "mass",
        mass_rival,
        say("mass"),
        say("mass alone"),
        say("the heavier article gains in proportion to its mass"),
        say("Mass explains it"),
        _all_weighed,
    ),
    ExplanationKind(
        "stiffness",
        STIFFNESS,
        say("stiffness alone"),
        say("stiffness alone"),
        say("the article's stiffness does it, inertia held at the reference's"),
        say("Stiffness explains it"),
        _springs_differ,
    ),
    ExplanationKind(
        "inertia",
        INERTIA,
        say("inertia alone"),
        say("inertia alone"),
        say("the article's inertia does it, stiffness and gaps held at the reference's"),
        say("Inertia explains it"),
    ),
    ExplanationKind(
        "chain",
        CHAIN,
        say("rigid chain"),
        say("the rigid chain"),
        say("inertia, stiffness and gaps together, every part held rigidly"),
        say("Inertia, stiffness and gaps together explain it"),
        _springs_or_gaps_differ,
    ),
    ExplanationKind(
        "chain-bonds",
        BONDED,
        say("chain with bonds"),
        say("the chain with bonds that give"),
        say("the whole chain, with rings and fills that vibrate and slip on their bonds"),
        say("The whole chain explains it, and how rings and fills are held matters"),
        _any_rides,
    ),
    ExplanationKind(
        "curve",
        curve_rival,
        say("curve in inertia"),
        say("a plain curve in inertia"),
        say("inertia does it along a smooth curve, without the physics of a blow"),
        say("It follows inertia, but not along the curve that the physics of a blow allows"),
    ),
)

EXPLANATIONS: Final[Mapping[RivalName, ExplanationKind]] = MappingProxyType(
    {each.code: each for each in _FROM_THE_PLAINEST}
)
"""By code, from the plainest to the most flexible, those with physics and those without mixed."""
RIVALS: Final = tuple(EXPLANATIONS)
KEPT: Final[Mapping[RivalName, Properties]] = MappingProxyType(
    {each.code: each.believes for each in _FROM_THE_PLAINEST if isinstance(each.believes, Properties)}
)
"""What an article keeps of its own by each explanation with physics."""
