"""4140 steel by hardness and temper: one curve from annealed to fully hard."""

from __future__ import annotations

from bisect import bisect_right
from typing import Final

__all__ = [
    "brinell_at_temper",
    "brinell_from_rockwell",
    "rockwell_from_brinell",
    "strengths_at_brinell",
    "strengths_at_temper",
    "temper_at_brinell",
]

# Tempering temperature [°C], tensile and yield strength [MPa], oil-quenched: ASM Metals Handbook; Budynas &
# Nisbett, *Shigley's Mechanical Engineering Design*, 9th ed., Table A-21. Brinell numbers from memory.
_TEMPERS: Final = (
    (205.0, 1772.0, 1641.0, 510.0),
    (315.0, 1551.0, 1434.0, 445.0),
    (425.0, 1248.0, 1138.0, 370.0),
    (540.0, 951.0, 834.0, 285.0),
    (650.0, 758.0, 655.0, 230.0),
)
# Rockwell C against Brinell (3000 kg, carbide ball): ASTM E140 Table 1, from memory.
_ROCKWELL: Final = (
    (20.0, 226.0), (25.0, 253.0), (30.0, 286.0), (35.0, 327.0), (40.0, 371.0),
    (45.0, 421.0), (50.0, 481.0), (52.0, 512.0), (54.0, 543.0),
)  # fmt: skip


def _between(points: tuple[tuple[float, float], ...], at: float) -> float:
    """Linear interpolation, straight on beyond the ends."""
    i = min(max(bisect_right([x for x, _ in points], at), 1), len(points) - 1)
    (x0, y0), (x1, y1) = points[i - 1], points[i]
    return y0 + (y1 - y0) * (at - x0) / (x1 - x0)


def brinell_from_rockwell(rockwell_c: float) -> float:
    """Brinell number (3000 kg, carbide ball) of a steel of `rockwell_c` HRC; read from 20 to 54 HRC.

    ASTM E140, Table 1 (from memory).
    """
    return _between(_ROCKWELL, rockwell_c)


def rockwell_from_brinell(brinell: float) -> float:
    """Rockwell C number at a Brinell number; read from 226 to 543 HB.

    ASTM E140, Table 1 (from memory).
    """
    return _between(tuple((hb, hrc) for hrc, hb in _ROCKWELL), brinell)


def strengths_at_brinell(brinell: float) -> tuple[float, float]:
    """Yield and tensile strength of 4140 at a Brinell number; good to about 5 %. [Pa]

    Interpolated between the tempers of ASM Metals Handbook (Shigley, 9th ed., Table A-21); Brinell numbers
    from memory.
    """
    rows = sorted((hb, rm, re) for _, rm, re, hb in _TEMPERS)
    tensile = _between(tuple((hb, rm) for hb, rm, _ in rows), brinell)
    return _between(tuple((hb, re) for hb, _, re in rows), brinell) * 1e6, tensile * 1e6


def strengths_at_temper(celsius: float) -> tuple[float, float]:
    """Yield and tensile strength of 4140 oil-quenched and tempered at `celsius`. [Pa]

    ASM Metals Handbook (Shigley, 9th ed., Table A-21), linear between 205 and 650 °C.
    """
    tensile = _between(tuple((t, rm) for t, rm, _, _ in _TEMPERS), celsius)
    return _between(tuple((t, re) for t, _, re, _ in _TEMPERS), celsius) * 1e6, tensile * 1e6


def temper_at_brinell(brinell: float) -> float:
    """Tempering temperature that leaves 4140, oil-quenched, at a Brinell number. [°C]

    From the tempers of ASM Metals Handbook (Shigley, 9th ed., Table A-21); Brinell numbers from memory.
    """
    return _between(tuple(sorted((hb, celsius) for celsius, _, _, hb in _TEMPERS)), brinell)


def brinell_at_temper(celsius: float) -> float:
    """Brinell number of 4140, oil-quenched and tempered at `celsius`.

    From the tempers of ASM Metals Handbook (Shigley, 9th ed., Table A-21); Brinell numbers from memory.
    """
    return _between(tuple((t, hb) for t, _, _, hb in _TEMPERS), celsius)
