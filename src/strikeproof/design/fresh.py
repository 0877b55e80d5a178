"""Gains of what a search has chosen, in draws that had no say in the choice.

Whoever keeps the best of many by some draws keeps the luckiest too: in these draws its gain reads too high.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from strikeproof.design.judging import Strain, run_worlds
from strikeproof.design.records import Found, Search, Worlds
from strikeproof.explain.article_model import article_model
from strikeproof.team import ALONE, Team

__all__ = ["gains_anew", "search_anew"]


def search_anew(search: Search, worlds: Worlds, *, team: Team = ALONE) -> Search:
    """A search whose proposals, and whose front, have the gains of other draws.

    Their order, margins and peaks stay those by which they were chosen.

    Parameters
    ----------
    search
        What was found.
    worlds
        Draws of the same belief that the search has not seen.
    team
        Who simulates; the gains are the same, whoever it is.
    """
    unique = {id(each): each for each in (*search.proposals, *search.pareto)}
    fresh = dict(zip(unique, gains_anew(tuple(unique.values()), worlds, team=team), strict=True))
    return replace(
        search,
        proposals=tuple(fresh[id(each)] for each in search.proposals),
        pareto=tuple(fresh[id(each)] for each in search.pareto),
    )


def gains_anew(found: Sequence[Found], worlds: Worlds, *, team: Team = ALONE) -> tuple[Found, ...]:
    """The same articles with their gains in other draws.

    Parameters
    ----------
    found
        By a search.
    worlds, team
        As of `search_anew`.
    """
    if not found:
        return ()
    models = [article_model(each.properties) for each in found]
    gains = run_worlds(models, worlds.draws, Strain(team=team)).gains
    return tuple(replace(each, gains=mine) for each, mine in zip(found, gains, strict=True))
