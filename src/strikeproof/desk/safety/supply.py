"""Air pressure or battery voltage as a share of the tool's rating, and a caution where it is more."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from strikeproof.campaign.records import Campaign
from strikeproof.drivetrain import MECHANISMS
from strikeproof.errors import BadInput, NotFound
from strikeproof.language import say, write_figures
from strikeproof.quantity import parse_quantity

__all__ = ["excess_words", "is_above_rating", "supply_cautions", "supply_ratio"]

_ABOVE: Final = 1.01  # of the rating: 90 psi is 6.2 bar to every gauge

# common practice, no source
_RATED = {
    "air": ("pressure", "6.2 bar"),
    "oil-pulse": ("pressure", "6.2 bar"),
    "spring-and-cam": ("voltage", "18 V"),
}


def supply_ratio(mechanism: str, supply: str | None, rated: str | None = None) -> float:
    """Supply over rated supply; 1 when no supply is given.

    Parameters
    ----------
    supply, rated
        A pressure for air and oil pulse, a voltage for spring and cam. Rated: 6.2 bar, 18 V.

    Raises
    ------
    NotFound
        If the mechanism is unknown.
    BadInput
        If one of them is of the wrong kind, or not above zero.
    """
    if mechanism not in _RATED:
        raise NotFound("mechanism", mechanism, MECHANISMS)
    kind, usual = _RATED[mechanism]
    if supply is None and rated is None:
        return 1.0
    at_rating = _read("tool.rated_supply", usual if rated is None else rated, mechanism, kind)
    return 1.0 if supply is None else _read("tool.supply", supply, mechanism, kind) / at_rating


def supply_cautions(campaign: Campaign, only: str | None = None) -> tuple[str, ...]:
    """One sentence for each tool that a campaign runs above its rating, or for the `only` one.

    There is none for what cannot be compared.
    """
    return tuple(_cautions(campaign, only))


def _cautions(campaign: Campaign, only: str | None) -> Iterator[str]:
    everyone = campaign.protocol.supply
    for tool in campaign.tools:
        if only not in (None, tool.name):
            continue
        given = {text for text in (tool.supply, everyone) if text is not None}
        ratios = {text: _try_ratio(tool.mechanism, text, tool.rated_supply) for text in given}
        highest = max(given, key=lambda text: ratios[text], default=None)
        if highest is not None and (words := excess_words(ratios[highest])):
            known = "" if tool.rated_supply else say(", taken as its rating while rated_supply is not given")
            rated = tool.rated_supply or _usual(tool.mechanism, highest)
            yield say(
                "With {name} on {highest}, {words} The rating is {rated}{known}.",
                name=tool.name,
                highest=highest,
                words=words,
                rated=rated,
                known=known,
            )


def is_above_rating(mechanism: str | None, supply: str | None, rated: str | None) -> bool:
    """Whether a supply is above a tool's rating, or above the usual one where none is given."""
    return supply is not None and _try_ratio(mechanism, supply, rated) > _ABOVE


def excess_words(ratio: float) -> str:
    """What to do about a supply of so many times the rating; empty up to the rating itself."""
    if ratio <= _ABOVE:
        return ""
    return say(
        "the supply is {ratio} times the tool's rating, which its parts and hose are not made for: lower "
        "it to the rating.",
        ratio=write_figures(f"{ratio:.2g}"),
    )


def _try_ratio(mechanism: str | None, supply: str, rated: str | None) -> float:
    """The ratio, by the kind of the supply where no mechanism is given; 0 where it is not known."""
    for each in (mechanism,) if mechanism else ("air", "spring-and-cam"):
        try:
            return supply_ratio(each, supply, rated)
        except (BadInput, NotFound):
            continue
    return 0.0


def _usual(mechanism: str | None, supply: str) -> str:
    if mechanism in _RATED:
        return _RATED[mechanism][1]
    return _RATED["air" if _try_ratio("air", supply, None) else "spring-and-cam"][1]


def _read(where: str, text: str, mechanism: str, kind: str) -> float:
    usual = _RATED[mechanism][1]
    refused = BadInput(
        repr(text),
        where=where,
        allowed=say("a {kind} above zero for {mechanism}", kind=kind, mechanism=mechanism),
        fix=say("write it like {usual}", usual=repr(usual)),
    )
    try:
        value = parse_quantity(str(text), kind)
    except BadInput as wrong:
        raise BadInput(wrong.what, where=where, allowed=refused.allowed, fix=wrong.fix) from wrong
    if not value > 0.0:
        raise refused
    return value
