"""When the corners of the bolt's head are rounded off."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from strikeproof.parts import ArticleProperties, Margin
from strikeproof.quantity import write_number

__all__ = ["ROUNDS_AT", "tell_rounding"]

_FLATTENED: Final = 0.05 / 0.12
"""Pressure on a flattened corner over that on a fresh one: the strips by which walls were solved."""

_HEAD: Final = 640e6
"""Yield stress of class 8.8: ISO 898-1, table 3. [Pa]"""

ROUNDS_AT: Final = 3 * _HEAD
"""Pressure under which the corners of a head of class 8.8 sink in, three times its yield stress: Tabor, *The
Hardness of Metals*, ch. IV (from memory). [Pa]"""


def tell_rounding(facts: ArticleProperties, margins: tuple[Margin, ...]) -> Iterator[str]:
    """A sentence where the hexagon presses harder on a head of class 8.8 than its corners withstand.

    Parameters
    ----------
    facts
        Of the article.
    margins
        With the peak of each place's own joint.
    """
    if not facts.sections or not facts.sections[-1].contact:
        return
    hexagon = facts.sections[-1]  # the path ends on the bolt
    peak = max((each.peak for each in margins if each.part == hexagon.part), default=0.0)
    pressure = hexagon.contact * _FLATTENED * peak
    if pressure > ROUNDS_AT:
        yield (
            f"At {write_number(peak, 3)} N·m the head's corners are pressed with about "
            f"{write_number(pressure / 1e9, 2)} GPa, even where they are flattened; one of class 8.8 "
            f"gives way at {write_number(ROUNDS_AT / 1e9, 2)} GPa and rounds off. Use a bolt of a higher "
            "class or a socket that reaches deeper over the head."
        )
