"""Where each part of an article comes from: bought ready, sawn from stock, or turned with another."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal, TypeAlias

__all__ = ["Raw", "RawBook"]

Source: TypeAlias = Literal["bought", "sawn", "item", "with"]


@dataclass(frozen=True, slots=True)
class Raw:
    """One part's beginning.

    Parameters
    ----------
    source
        `bought`: a finished socket called `what`. `sawn`: cut from the stock `what`. `item`: a nut, washer or
        square as it is sold. `with`: left on the part `what`, in one piece with it.
    what
        In words.
    """

    source: Source
    what: str


RawBook: TypeAlias = Mapping[str, Raw]
"""By part."""
