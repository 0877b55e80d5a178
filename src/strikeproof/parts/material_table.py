"""The built-in materials. Strengths in a standard are the smallest it warrants; endurance is an estimate."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

__all__ = ["MATERIALS", "SIZED", "SizedRow"]

_MPA, _GPA = 1e6, 1e9

# name: (name, density, G, E, yield, tensile, endurance, source, hardenable), SI
MATERIALS: Final[dict[str, tuple[str, float, float, float, float, float, float, str, bool]]] = {
    row[0]: row
    for row in (
        ("4140 annealed", 7850, 80 * _GPA, 205 * _GPA, 417 * _MPA, 655 * _MPA, 327.5 * _MPA,
         "ASM Metals Handbook, AISI 4140 annealed; Se' = 0.5 Rm (Shigley eq. 6-8)", True),
        ("4140 normalised", 7850, 80 * _GPA, 205 * _GPA, 655 * _MPA, 1020 * _MPA, 510 * _MPA,
         "ASM Metals Handbook, AISI 4140 normalised; Se' = 0.5 Rm (Shigley eq. 6-8)", True),
        ("A36", 7850, 75 * _GPA, 200 * _GPA, 250 * _MPA, 400 * _MPA, 200 * _MPA,
         "Hibbeler, Mechanics of Materials, back cover; Se' = 0.5 Rm (Shigley eq. 6-8)", False),
        ("A53 grade A", 7850, 79 * _GPA, 203 * _GPA, 205 * _MPA, 330 * _MPA, 165 * _MPA,
         "ASTM A53 grade A (from memory); Se' = 0.5 Rm (Shigley eq. 6-8)", False),
        ("A53 grade B", 7850, 79 * _GPA, 203 * _GPA, 240 * _MPA, 415 * _MPA, 207.5 * _MPA,
         "ASTM A53 grade B (from memory); Se' = 0.5 Rm (Shigley eq. 6-8)", False),
        ("S195T", 7850, 81 * _GPA, 210 * _GPA, 195 * _MPA, 320 * _MPA, 160 * _MPA,
         "EN 10255, the steel of threaded tube (from memory); Se' = 0.5 Rm (Shigley eq. 6-8)", False),
        ("nut steel class 8", 7850, 80 * _GPA, 205 * _GPA, 355 * _MPA, 570 * _MPA, 285 * _MPA,
         "medium carbon steel of nuts, an estimate; nut standards warrant proof loads only", True),
        ("lead", 11340, 5.6 * _GPA, 16.1 * _GPA, 5.5 * _MPA, 17 * _MPA, 3 * _MPA,
         "density CRC Handbook; E, G ASM Metals Handbook Desk Edition; strengths an estimate", False),
        ("tungsten heavy alloy 90", 17_075, 140 * _GPA, 360 * _GPA, 517 * _MPA, 758 * _MPA, 300 * _MPA,
         "ASTM B777 class 1, 90 % W, middle of its density range; E, G, strengths from memory", False),
        ("tungsten heavy alloy 92.5", 17_500, 142 * _GPA, 365 * _GPA, 517 * _MPA, 758 * _MPA, 300 * _MPA,
         "ASTM B777 class 2, 92.5 % W, middle of its density range; E, G, strengths from memory", False),
        ("tungsten heavy alloy 95", 18_050, 145 * _GPA, 370 * _GPA, 517 * _MPA, 724 * _MPA, 290 * _MPA,
         "ASTM B777 class 3, 95 % W, middle of its density range; E, G, strengths from memory", False),
        ("tungsten heavy alloy 97", 18_550, 150 * _GPA, 380 * _GPA, 517 * _MPA, 689 * _MPA, 275 * _MPA,
         "ASTM B777 class 4, 97 % W, middle of its density range; E, G, strengths from memory", False),
        ("7075-T6", 2810, 26.9 * _GPA, 72 * _GPA, 503 * _MPA, 572 * _MPA, 159 * _MPA,
         "ASM, aluminium 7075-T6, endurance at 5e8 reversals; G from memory", False),
        ("Ti-6Al-4V", 4430, 44 * _GPA, 114 * _GPA, 828 * _MPA, 897 * _MPA, 510 * _MPA,
         "data sheet minima, annealed; endurance at 1e7 reversals from memory", False),
    )
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class SizedRow:
    """A steel whose warranted strength falls with the size of the piece.

    `bands` are (largest size [m], yield [Pa], tensile [Pa]), ascending; `measure` says which size.
    """

    density: float
    shear: float
    elastic: float
    measure: str
    bands: tuple[tuple[float, float, float], ...]
    source: str
    hardenable: bool


SIZED: Final[dict[str, SizedRow]] = {
    "42CrMo4 +QT": SizedRow(
        7850, 80 * _GPA, 205 * _GPA, "diameter",
        (
            (0.016, 900 * _MPA, 1100 * _MPA),
            (0.040, 750 * _MPA, 1000 * _MPA),
            (0.100, 650 * _MPA, 900 * _MPA),
            (0.160, 550 * _MPA, 800 * _MPA),
            (0.250, 500 * _MPA, 750 * _MPA),
        ),
        "EN 10083-3 / ISO 683-2:2018, quenched and tempered; Se' = 0.5 Rm (Shigley eq. 6-8)", True,
    ),
    "S355J2": SizedRow(
        7850, 81 * _GPA, 210 * _GPA, "thickness",
        (
            (0.016, 355 * _MPA, 470 * _MPA),
            (0.040, 345 * _MPA, 470 * _MPA),
            (0.063, 335 * _MPA, 470 * _MPA),
            (0.080, 325 * _MPA, 470 * _MPA),
            (0.100, 315 * _MPA, 470 * _MPA),
        ),
        "EN 10025-2 Table 7; Se' = 0.5 Rm (Shigley eq. 6-8)", False,
    ),
}  # fmt: skip
