"""Which diameters and pitches the standards allow.

Metric sizes are those of ISO 261 from 3 to 64 mm, first the coarse pitch; inch sizes those of ASME B1.1 from
1/4 to 2 in. Both tables are from memory and checked against the stress areas of ISO 898-1 and Shigley,
Table 8-2, where those list them.
"""

from __future__ import annotations

from fractions import Fraction

__all__ = ["METRIC_PITCHES", "coarse_pitch", "inch_sizes", "threads_per_inch"]

METRIC_PITCHES: dict[float, tuple[float, ...]] = {
    3: (0.5, 0.35),
    3.5: (0.6, 0.35),
    4: (0.7, 0.5),
    5: (0.8, 0.5),
    6: (1, 0.75),
    7: (1, 0.75),
    8: (1.25, 1, 0.75),
    9: (1.25, 1, 0.75),
    10: (1.5, 1.25, 1, 0.75),
    11: (1.5, 1, 0.75),
    12: (1.75, 1.5, 1.25, 1),
    14: (2, 1.5, 1.25, 1),
    15: (1.5, 1),
    16: (2, 1.5, 1),
    17: (1.5, 1),
    18: (2.5, 2, 1.5, 1),
    20: (2.5, 2, 1.5, 1),
    22: (2.5, 2, 1.5, 1),
    24: (3, 2, 1.5, 1),
    25: (2, 1.5, 1),
    26: (1.5,),
    27: (3, 2, 1.5, 1),
    28: (2, 1.5, 1),
    30: (3.5, 3, 2, 1.5, 1),
    32: (2, 1.5),
    33: (3.5, 3, 2, 1.5),
    35: (1.5,),
    36: (4, 3, 2, 1.5),
    38: (1.5,),
    39: (4, 3, 2, 1.5),
    40: (3, 2, 1.5),
    42: (4.5, 4, 3, 2, 1.5),
    45: (4.5, 4, 3, 2, 1.5),
    48: (5, 4, 3, 2, 1.5),
    50: (3, 2, 1.5),
    52: (5, 4, 3, 2, 1.5),
    55: (4, 3, 2, 1.5),
    56: (5.5, 4, 3, 2, 1.5),
    58: (4, 3, 2, 1.5),
    60: (5.5, 4, 3, 2, 1.5),
    62: (4, 3, 2, 1.5),
    64: (6, 4, 3, 2, 1.5),
}
"""Nominal diameter [mm] -> pitches [mm]; the coarse one first where the size has one."""

_ONLY_FINE = frozenset({15, 17, 25, 26, 28, 32, 35, 38, 40, 50, 55, 58, 62})

_SERIES: dict[str, dict[str, float]] = {
    "UNC": {
        "1/4": 20, "5/16": 18, "3/8": 16, "7/16": 14, "1/2": 13, "9/16": 12, "5/8": 11, "3/4": 10,
        "7/8": 9, "1": 8, "9/8": 7, "5/4": 7, "11/8": 6, "3/2": 6, "7/4": 5, "2": 4.5,
    },
    "UNF": {
        "1/4": 28, "5/16": 24, "3/8": 24, "7/16": 20, "1/2": 20, "9/16": 18, "5/8": 18, "3/4": 16,
        "7/8": 14, "1": 12, "9/8": 12, "5/4": 12, "11/8": 12, "3/2": 12,
    },
    "UNEF": {
        "1/4": 32, "5/16": 32, "3/8": 32, "7/16": 28, "1/2": 28, "9/16": 24, "5/8": 24, "11/16": 24,
        "3/4": 20, "13/16": 20, "7/8": 20, "15/16": 20, "1": 20, "17/16": 18, "9/8": 18, "19/16": 18,
        "5/4": 18, "21/16": 18, "11/8": 18, "23/16": 18, "3/2": 18,
    },
    "UNS": {"1": 14},  # the one special pitch that shops meet often
}  # fmt: skip

# Constant-pitch series: threads per inch -> smallest diameter. [in]
_CONSTANT_PITCH = {
    6: Fraction(11, 8),
    8: Fraction(1),
    12: Fraction(9, 16),
    16: Fraction(3, 8),
    20: Fraction(1, 4),
}


def coarse_pitch(diameter_mm: float) -> float | None:
    """The coarse pitch of a metric size; None where the size is only made fine. [mm]

    Raises
    ------
    KeyError
        If it is no size of ISO 261; ask `METRIC_PITCHES` first.
    """
    return None if diameter_mm in _ONLY_FINE else METRIC_PITCHES[diameter_mm][0]


def inch_sizes() -> list[Fraction]:
    """Every unified diameter known here, ascending. [in]"""
    return sorted({Fraction(size) for table in _SERIES.values() for size in table})


def threads_per_inch(diameter: Fraction) -> dict[float, str]:
    """Threads per inch -> series of a unified diameter, coarse first. [1/in]"""
    found: dict[float, str] = {}
    for series, table in _SERIES.items():
        for size, count in table.items():
            if Fraction(size) == diameter:
                found.setdefault(count, series)
    for count, smallest in _CONSTANT_PITCH.items():
        if diameter >= smallest:
            found.setdefault(count, "UN")
    return found
