"""A life in blows, in words."""

from __future__ import annotations

from typing import Final

from strikeproof.parts import Margin

__all__ = ["LIFE_UNSURE", "count_blows", "tell_life"]

_MANY: Final = 1e7  # blows; beyond them an S-N curve of steel says little

LIFE_UNSURE: Final = (
    "Lives in blows are estimates from typical S-N curves, hardness and surface: a factor of 3 either way "
    "is usual. Look for cracks with dye penetrant before every run and at the first sign of a mark."
)


def count_blows(blows: float) -> str:
    """To two digits, such as "4 300" or "over 10 million"."""
    if blows >= _MANY:
        return "over 10 million"
    if blows < 1:
        return "0"
    if blows >= 1e6:
        return f"{float(f'{blows:.2g}') / 1e6:g} million"
    return f"{int(float(f'{blows:.2g}')):,}".replace(",", " ")


def tell_life(margin: Margin) -> str:
    """Blows that nine of ten and half of such places withstand; "–" where there is no estimate."""
    if margin.blows_90 is None or margin.blows_50 is None:
        return "–"
    if margin.blows_90 >= _MANY:
        return "over 10 million blows at 90 % survival"
    return (
        f"about {count_blows(margin.blows_90)} blows at 90 % survival, {count_blows(margin.blows_50)} at 50 %"
    )
