"""A brief from its file, with the prices, materials and articles that stand beside it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import Any

from strikeproof.campaign.records import Campaign
from strikeproof.campaign.toml_lines import find_line
from strikeproof.campaign.toml_reader import read_toml
from strikeproof.design.clashes import find_clashes, nearest_brief, tell_changes
from strikeproof.design.reading import Errand, read_brief, read_envelope, read_errand
from strikeproof.design.records import Brief, Envelope
from strikeproof.desk.articles.article import own_materials, own_prices
from strikeproof.errors import BadFile, Problem
from strikeproof.parts.materials import MaterialBook

__all__ = ["KnownBrief", "campaign_tables", "load_brief", "load_envelope"]


@dataclass(frozen=True, slots=True)
class KnownBrief:
    """A brief, and what its file says beside the limits."""

    brief: Brief
    errand: Errand


def campaign_tables(campaign: Campaign) -> dict[str, dict[str, Any]]:
    """Every article of a campaign by name, as the table that a person wrote."""
    # The evidence wakes the engine and the explanations, which whoever only checks a fit need not wait for.
    from strikeproof.desk.articles.known import article_table

    priced = ((each, {} if each.price is None else {"price": each.price}) for each in campaign.articles)
    return {each.name: article_table(each) | price for each, price in priced}


def load_brief(
    path: Path,
    *,
    articles: Mapping[str, Mapping[str, Any]] | None = None,
    folder: Path | None = None,
    materials: MaterialBook | None = None,
) -> KnownBrief:
    """The brief in a TOML file, when something can be built that keeps it.

    Parameters
    ----------
    articles
        Of the campaign, by name (`campaign_tables`).
    folder
        Whose `prices.csv` and `materials.toml` are the person's own; that of the file when None.
    materials
        The person's own, where those of the folder are not all.

    Raises
    ------
    BadFile
        With everything that is wrong, each with its line; else with every conflict between its limits, what
        would be enough for each, and the nearest brief that can be met.
    """
    tables, text = read_toml(path)
    beside = folder or path.parent
    told = {"file": str(path), "line_of": partial(find_line, text)}
    brief = read_brief(
        tables,
        prices=own_prices(beside),
        materials=own_materials({}, beside) if materials is None else materials,
        known_articles=articles,
        **told,  # type: ignore[arg-type]  # both have the types that are asked for
    )
    known = KnownBrief(brief, read_errand(tables, **told))  # type: ignore[arg-type]  # as above
    problems = list(_clash_problems(path, text, brief))
    if problems:
        raise BadFile(problems)
    return known


def _clash_problems(path: Path, text: str, brief: Brief) -> Iterator[Problem]:
    needs = find_clashes(brief)
    for need in needs:
        yield Problem(str(path), _line_of(text, need.limits[0]), need.problem, need.fix)
    nearest = nearest_brief(brief) if len(needs) > 1 else brief
    if nearest is not brief:
        told = f"the nearest brief that can be met has {tell_changes(brief, nearest)}"
        yield Problem(str(path), None, f"{len(needs)} conflicts between the limits", told)


def _line_of(text: str, key: str) -> int | None:
    """Where a limit is, whichever table it is in."""
    lines = (find_line(text, place) for place in (("brief", key), ("envelope", key), (key, 0)))
    named = [line for line in lines if line is not None and key in text.split("\n")[line - 1]]
    return named[0] if named else None


def load_envelope(path: Path) -> Envelope:
    """The envelope in a TOML file with an `[envelope]` table; a brief will do.

    Raises
    ------
    BadFile
        With everything that is wrong with it, each with its line.
    """
    tables, text = read_toml(path)
    return read_envelope(tables, file=str(path), line_of=partial(find_line, text))
