"""What is known of one article, and how surely: given or measured values win over dimensions."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

from strikeproof.campaign.records import Article
from strikeproof.desk.articles.article import ArticleFacts as Described
from strikeproof.desk.articles.article import describe_article
from strikeproof.errors import BadInput, StrikeproofError
from strikeproof.explain import ArticleFacts
from strikeproof.explain.article_model import article_model
from strikeproof.parts import ArticleProperties, Difference

__all__ = ["KnownArticle", "article_table", "know_article", "know_described"]

# Standard uncertainties where none is stated: of given values, from dimensions, of usual values. [%]
_GIVEN = {"inertia": 2.0, "stiffness": 10.0, "gap": 15.0}
_DRAWN = {"inertia": 3.0, "stiffness": 10.0, "gap": 15.0}
_USUAL = 35.0
_CONTRADICTION = 30.0
"""Percent between a given and a computed mass or inertia beyond which one of them must be wrong."""
_KEYS = (
    "mass_kg",
    "polar_inertia_kg_m2",
    "stiffness_n_m_per_rad",
    "hexagon_gap_deg",
    "square_gap_deg",
)


@dataclass(frozen=True, slots=True)
class KnownArticle:
    """An article as the explanations see it.

    Attributes
    ----------
    properties
        None where nothing could be worked out.
    problem, fix
        What is in the way of using it, and what to do about it; empty where nothing does.
    """

    facts: ArticleFacts
    properties: ArticleProperties | None = None
    problem: str = ""
    fix: str = ""

    @property
    def caveats(self) -> tuple[str, ...]:
        """That it is left aside, and why."""
        return (f"{self.facts.name} is left out: {self.problem}; {self.fix}",) if self.problem else ()


def article_table(article: Article) -> dict[str, Any]:
    """A campaign's article as the table that a person wrote."""
    table: dict[str, Any] = {"name": article.name}
    table |= {key: value for key in _KEYS if (value := getattr(article, key)) is not None}
    return table | (json.loads(article.geometry) if article.geometry else {})


def know_article(article: Article, materials: Mapping[str, Any] | None = None) -> KnownArticle:
    """What a campaign knows of an article; what cannot be used is said in a caveat, never guessed.

    Parameters
    ----------
    materials
        The person's own, each as its table.
    """
    table = article_table(article)
    if not any(key in table for key in ("part", "measured", "polar_inertia_kg_m2")):
        return _unknown(article, "its inertia is not known", "give its parts or polar_inertia_kg_m2")
    try:
        return know_described(describe_article({"article": table, "material": materials or {}}))
    except StrikeproofError as wrong:
        if isinstance(wrong, BadInput) and len(wrong.place) < 2:  # of no part: the article is named already
            return _unknown(article, f"{wrong.what} (allowed: {wrong.allowed})", wrong.fix)
        return _unknown(article, wrong.problem, wrong.fix)


def _unknown(article: Article, problem: str, fix: str) -> KnownArticle:
    facts = ArticleFacts(article.name, None, article.mass_kg, explained=True)
    return KnownArticle(facts, None, problem, fix)


def know_described(described: Described) -> KnownArticle:
    """The same of an article that was worked out already."""
    properties = described.properties
    facts = ArticleFacts(
        properties.name,
        article_model(properties),
        properties.mass or None,
        inertia_percent=_inertia_percent(described),
        stiffness_percent=_percent(
            described, "stiffness", given=described.article.given.stiffness is not None
        ),
        gap_percent=_percent(described, "gap", given=_gaps_given(described)),
    )
    wrong = [each for each in properties.differences if _contradicts(each)]
    if not wrong:
        return KnownArticle(facts, properties)
    told = " and ".join(f"its given {each.quantity} is {_apart(each)} its dimensions give" for each in wrong)
    fix = "measure again or fix its dimensions"
    return KnownArticle(replace(facts, model=None, explained=True), properties, told, fix)


def _contradicts(each: Difference) -> bool:
    return each.quantity in ("mass", "polar inertia") and abs(each.percent) > _CONTRADICTION


def _apart(each: Difference) -> str:
    return f"{abs(each.percent):.0f} % {'above' if each.percent > 0 else 'below'} what"


def _inertia_percent(described: Described) -> float:
    """As stated, else as usual."""
    given = described.article.given
    stated = given.polar_inertia.uncertainty if given.polar_inertia is not None else None
    if stated is not None:
        return min(100.0, max(0.5, 100.0 * stated / described.properties.polar_inertia))
    return _percent(described, "inertia", given=given.polar_inertia is not None or given.swing is not None)


def _gaps_given(described: Described) -> bool:
    given = described.article.given
    return given.drive_gap is not None and given.hexagon_gap is not None


def _percent(described: Described, what: str, *, given: bool) -> float:
    return _GIVEN[what] if given else _DRAWN[what] if described.article.parts else _USUAL
