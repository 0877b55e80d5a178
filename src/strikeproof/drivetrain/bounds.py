"""One way to refuse a number: field, value, allowed range and fix in one line."""

from __future__ import annotations

import math
from dataclasses import dataclass

from strikeproof.errors import BadInput

__all__ = ["Range", "check_fields", "require"]


@dataclass(frozen=True, slots=True)
class Range:
    """An allowed range, both ends included, in `unit`."""

    low: float
    high: float
    unit: str

    def __str__(self) -> str:
        return f"{self.low:g} to {self.high:g} {self.unit}".rstrip()


def require(value: float, allowed: Range, *, where: str, fix: str = "") -> float:
    """The value itself when it is a number within its range.

    Parameters
    ----------
    value
        Any.
    allowed
        Both ends included.
    where
        Of the value, in words.
    fix
        What to do; made from range and place where it is left out.

    Raises
    ------
    BadInput
        If it is no finite number or lies outside.
    """
    if not (isinstance(value, int | float) and math.isfinite(value) and allowed.low <= value <= allowed.high):
        shown = f"{value:g}" if isinstance(value, int | float) else repr(value)
        raise BadInput(
            f"{shown} cannot be used",
            where=where,
            allowed=str(allowed),
            fix=fix or f"give {where} between {allowed.low:g} and {allowed.high:g} {allowed.unit}".rstrip(),
        )
    return float(value)


def check_fields(owner: str, record: object, **ranges: Range) -> None:
    """Require every named field of a record to lie in its range.

    Parameters
    ----------
    owner
        Of the record, for messages.
    record
        Any.
    **ranges
        By the name of the field.

    Raises
    ------
    BadInput
        If a field is no finite number or lies outside.
    """
    for name, allowed in ranges.items():
        require(getattr(record, name), allowed, where=f"{owner}.{name}")
