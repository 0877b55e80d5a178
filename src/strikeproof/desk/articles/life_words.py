"""A margin in words: its static limit, and its life in blows."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Final

from strikeproof.parts import Margin, enough_blows
from strikeproof.parts.properties import Mode
from strikeproof.quantity import write_number

__all__ = ["LIFE_UNSURE", "count_blows", "tell_life", "tell_margin", "tell_near", "tell_static"]

LIFE_UNSURE: Final = (
    "Lives in blows are estimates from typical S-N curves, hardness and surface: a factor of 3 either way "
    "is usual. Look for cracks with dye penetrant before every run and at the first sign of a mark."
)


def count_blows(blows: float, mode: Mode) -> str:
    """To two digits, such as "4 300" or "over 10 million".

    Parameters
    ----------
    blows
        Life in blows.
    mode
        What gives there: it says beyond how many they are not counted, since an S-N curve says little there.
    """
    enough = enough_blows(mode)
    if blows >= enough:
        return f"over {enough / 1e6:g} million"
    if blows < 1:
        return "0"
    if blows >= 1e6:
        return f"{float(f'{blows:.2g}') / 1e6:g} million"
    return f"{int(float(f'{blows:.2g}')):,}".replace(",", " ")


def tell_life(margin: Margin) -> str:
    """Blows that nine of ten and half of such places withstand; "–" where there is no estimate."""
    if margin.blows_90 is None or margin.blows_50 is None:
        return "–"
    nine, half = (count_blows(blows, margin.mode) for blows in (margin.blows_90, margin.blows_50))
    if margin.blows_90 >= margin.enough:
        return f"{nine} blows at 90 % survival"
    return f"about {nine} blows at 90 % survival, {half} at 50 %"


def tell_static(static: float, uncertainty: float | None, digits: int = 3) -> str:
    """Such as "1.32 (±20 %) times"; without the bracket where no uncertainty is estimated.

    Parameters
    ----------
    static
        Static limit over the peak.
    uncertainty
        As a share of it, as `Margin.static_uncertainty` has it.
    digits
        Of the margin.
    """
    within = "" if uncertainty is None else f" (±{100 * uncertainty:.0f} %)"
    return f"{write_number(static, digits)}{within} times"


def tell_margin(margin: Margin, digits: int = 3) -> str:
    """Static margin with its uncertainty, and the verdict, such as "1.32 (±20 %) times, holds".

    Parameters
    ----------
    margin
        Of a place.
    digits
        Of the static margin.
    """
    return f"{tell_static(margin.static, margin.static_uncertainty, digits)}, {margin.verdict}"


def tell_near(margins: Iterable[Margin]) -> Iterator[str]:
    """A sentence for every place that would give at its peak if its limit were at the low end.

    Parameters
    ----------
    margins
        Of one article; stops are left out, they have their own sentence.
    """
    for each in margins:
        if each.sure < 1 <= each.static:
            yield (
                f"{each.part} ({each.mode}) may give at its peak: its static limit is "
                f"{tell_static(each.static, each.static_uncertainty)}. Use a lighter tool or a stronger "
                f"{each.part}."
            )
