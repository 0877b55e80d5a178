"""A setup from its file; an article that is described by its dimensions is worked out first."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from strikeproof.campaign.toml_reader import read_toml
from strikeproof.desk.simulating.bench import Setup, read_setup
from strikeproof.errors import BadFile, Problem

__all__ = ["build_setup", "read_tables"]

_GEOMETRY = ("part", "measured")  # keys of an article that is described by more than plain values


def read_tables(path: Path) -> dict[str, dict[str, Any]]:
    """The tables of a setup file.

    Raises
    ------
    BadFile
        If it cannot be read, is not TOML, or is no file of single tables.
    """
    tables, _text = read_toml(path)
    for name, table in tables.items():
        if not isinstance(table, dict):
            fix = f"a setup has one of each: write [{name}] with single brackets"
            raise BadFile([Problem(str(path), None, f"{name!r} is no single table", fix)])
    return tables


def build_setup(tables: Mapping[str, Mapping[str, Any]]) -> Setup:
    """The setup that the tables describe, by values or by dimensions.

    Raises
    ------
    StrikeproofError
        If a value is out of range, missing or unknown.
    """
    article = tables.get("article", {})
    if not any(key in article for key in _GEOMETRY):
        return read_setup(tables)
    from strikeproof.desk.articles.article import describe_article
    from strikeproof.explain.article_model import article_model

    own = {key: value for key, value in article.items() if key not in ("head_stiffness_n_m_per_rad",)}
    head = article.get("head_stiffness_n_m_per_rad")
    facts = describe_article({"article": own})
    model = (
        article_model(facts.properties)
        if head is None
        else article_model(facts.properties, head_stiffness=float(head))
    )
    return read_setup(tables, article=model)
