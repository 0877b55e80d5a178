"""Air pressure or battery voltage as a share of what the tool is rated for."""

from __future__ import annotations

from strikeproof.drivetrain import MECHANISMS
from strikeproof.errors import BadInput, NotFound
from strikeproof.quantity import parse_quantity

__all__ = ["supply_ratio"]

# common practice, no source
_RATED = {
    "air": ("pressure", "6.2 bar"),
    "oil-pulse": ("pressure", "6.2 bar"),
    "spring-and-cam": ("voltage", "18 V"),
}


def supply_ratio(mechanism: str, supply: str | None, rated: str | None = None) -> float:
    """Supply over rated supply; 1 when no supply is told.

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


def _read(where: str, text: str, mechanism: str, kind: str) -> float:
    usual = _RATED[mechanism][1]
    refused = BadInput(
        repr(text),
        where=where,
        allowed=f"a {kind} above zero for {mechanism}",
        mend=f"write it like {usual!r}",
    )
    try:
        value = parse_quantity(str(text), kind)
    except BadInput as wrong:
        raise refused from wrong
    if not value > 0.0:
        raise refused
    return value
