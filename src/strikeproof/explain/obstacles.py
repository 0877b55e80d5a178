"""What is in the way of a confident sentence, and which articles cannot be used."""

from __future__ import annotations

import math
from dataclasses import replace

from strikeproof.errors import TooFewRuns
from strikeproof.explain.records import ArticleFacts, Evidence
from strikeproof.language import say, say_many, write_figures

__all__ = ["drop_contradictions", "find_missing", "is_hopeless", "too_few_known"]

LEAST_ARTICLES = 3
SLENDEST, WIDEST = 3e-3, 0.25
"""Radii of gyration between which an article's mass and inertia can both be right. [m]"""


def drop_contradictions(evidence: Evidence) -> tuple[Evidence, tuple[str, ...]]:
    """The evidence without what it says of articles whose mass and inertia contradict each other."""
    said = []
    articles = []
    for each in evidence.articles:
        radius = _gyration(each)
        if radius is not None and not SLENDEST <= radius <= WIDEST:
            said.append(
                say(
                    "{article} is left out: its mass and inertia together need a radius of gyration of "
                    "{radius} mm; weigh it again or correct its dimensions",
                    article=each.name,
                    radius=write_figures(f"{1e3 * radius:.3g}"),
                )
            )
            articles.append(replace(each, model=None, explained=True))
        else:
            articles.append(each)
    return replace(evidence, articles=tuple(articles)), tuple(said)


def _gyration(facts: ArticleFacts) -> float | None:
    if facts.model is None or facts.mass is None:
        return None
    return math.sqrt(facts.model.polar_inertia / facts.mass)


def is_hopeless(evidence: Evidence) -> bool:
    """Whether no explanation can be fitted at all."""
    return evidence.article(evidence.reference).model is None or len(_compared(evidence)) < LEAST_ARTICLES - 1


def _compared(evidence: Evidence) -> set[str]:
    return {gain.article for gain in evidence.gains if evidence.article(gain.article).model is not None}


def too_few_known(evidence: Evidence) -> TooFewRuns:
    """The error for evidence from which no explanation can be fitted: the articles run, of known inertia."""
    checked, _said = drop_contradictions(evidence)
    reference = checked.reference
    give = "the parts, or polar_inertia_kg_m2, of"
    if checked.article(reference).model is not None:
        got = 1 + len(_compared(checked))
        more = max(LEAST_ARTICLES - got, 1)
        fix = f"give {give} the articles that were run, or run {more} or more that have them"
        return TooFewRuns("known inertia", got=got, needed=LEAST_ARTICLES, kind="articles", fix=fix)
    if not (others := len(_compared(checked))):
        fix = f"give {give} each article"
        return TooFewRuns("known inertia", got=0, needed=LEAST_ARTICLES, kind="articles", fix=fix)
    what = f"known inertia of the reference {reference} beside {others} other" + "s" * (others > 1)
    return TooFewRuns(what, got=0, needed=1, kind="articles", fix=f"give {give} {reference}")


def find_missing(evidence: Evidence) -> tuple[str, ...]:
    """What to add before anything can be named, each a clause with its fix."""
    missing = []
    if evidence.article(evidence.reference).model is None:
        missing.append(
            say(
                "the inertia of the reference {reference} is not known; give its parts or "
                "polar_inertia_kg_m2",
                reference=evidence.reference,
            )
        )
    compared = len(_compared(evidence))
    if compared < LEAST_ARTICLES:
        more = LEAST_ARTICLES - compared
        missing.append(
            say_many(
                "only {count} article beside the reference can be used; add {more} with known inertia, "
                "rings of different inertia help most",
                "only {count} articles beside the reference can be used; add {more} with known inertia, "
                "rings of different inertia help most",
                compared,
                more=more,
            )
        )
    if not evidence.scatter_measured:
        missing.append(
            say("no article was run twice, so the scatter is a guess; repeat every article in a second block")
        )
    return tuple(missing)
