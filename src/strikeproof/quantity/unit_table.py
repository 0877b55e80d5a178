"""Every unit that a person may write: its kind, how much it is in SI, and its spellings.

The only list of units there is. Factors are exact where their definition is: NIST Special Publication 811
(2008), appendix B (inch, pound, pound-force, kilogram-force, ton-force of 2000 lbf, bar). Torque, inertia
and stiffness follow from these.
"""

from __future__ import annotations

import math
import re
import unicodedata
from functools import cache, lru_cache
from typing import Final

__all__ = ["ENDINGS", "UNITS", "find_factors", "plain_unit"]

_INCH, _POUND, _GRAVITY = 0.0254, 0.45359237, 9.80665
_LBF = _POUND * _GRAVITY
_SLUG = _LBF / (12 * _INCH)

_POUNDS = ("lb", "lbs", "pound", "pounds")
_POUNDS_FORCE = ("lbf", "lbsf", "lbfs", "pound force", "pounds force", *_POUNDS)
_OUNCES = ("oz", "ounce", "ounces")
_INCHES = ("in", "ins", "inch", "inches", '"', "''", "″")
_FEET = ("ft", "feet", "foot", "'", "′")
_METRES = ("m", "metre", "metres", "meter", "meters")

# Each kind: what one unit is in SI, then its spellings, the usual one first.
_FORCE: Final = (
    (1.0, "N", "newton", "newtons"),
    (1e3, "kN", "kilonewton", "kilonewtons"),
    (1e6, "MN", "meganewton", "meganewtons"),
    (1e-3, "mN", "millinewton", "millinewtons"),
    (10.0, "daN", "decanewton", "decanewtons"),
    (_LBF, *_POUNDS_FORCE),
    (1e3 * _LBF, "klbf", "klb", "klbs", "kip", "kips", "kipf", "kilopound", "kilopounds"),
    (_LBF / 16, "ozf", "ounce force", *_OUNCES),
    (_GRAVITY, "kgf", "kp", "kg", "kgs", "kilopond", "kilogram force", "kilograms force", "kg force"),
    (1e-3 * _GRAVITY, "gf", "gram force"),
    (2e3 * _LBF, "tonf", "ton force", "tons force", "short tonf", "US tonf"),
    (1e3 * _GRAVITY, "tf", "metric tonf", "tonne force"),
)
_LENGTH: Final = (
    (1.0, *_METRES),
    (1e-3, "mm", "millimetre", "millimetres", "millimeter", "millimeters"),
    (1e-2, "cm", "centimetre", "centimetres", "centimeter", "centimeters"),
    (1e-6, "um", "micrometre", "micrometres", "micrometer", "micrometers", "micron", "microns"),
    (_INCH, *_INCHES),
    (12 * _INCH, *_FEET),
    (1e-3 * _INCH, "thou", "mil", "mils"),
)
_MASS: Final = (
    (1.0, "kg", "kgs", "kilo", "kilos", "kilogram", "kilograms", "kilogramme", "kilogrammes"),
    (1e-3, "g", "gram", "grams", "gramme", "grammes"),
    (1e-6, "mg", "milligram", "milligrams"),
    (1e3, "t", "tonne", "tonnes"),
    (_POUND, *_POUNDS, "lbm", "lbsm"),
    (_POUND / 16, *_OUNCES),
    (_SLUG, "slug", "slugs"),
)
_TIME: Final = (
    (1.0, "s", "sec", "secs", "second", "seconds"),
    (1e-3, "ms", "msec", "msecs", "millisecond", "milliseconds", "millis"),
    (1e-6, "us", "usec", "usecs", "microsecond", "microseconds", "micros"),
    (1e-9, "ns", "nsec", "nanosecond", "nanoseconds"),
    (60.0, "min", "mins", "minute", "minutes"),
    (3600.0, "h", "hr", "hrs", "hour", "hours"),
    (86400.0, "d", "day", "days"),
)
_ANGLE: Final = (
    (1.0, "rad", "radian", "radians"),
    (1e-3, "mrad", "milliradian", "milliradians"),
    (math.pi / 180, "deg", "°", "degs", "degree", "degrees"),
    (2 * math.pi, "rev", "revolution", "revolutions", "turn", "turns"),
)
_PRESSURE: Final = (
    (1.0, "Pa", "pascal", "pascals"),
    (1e2, "hPa"),
    (1e3, "kPa", "kilopascal", "kilopascals"),
    (1e6, "MPa", "megapascal", "megapascals", "N/mm2"),
    (1e9, "GPa", "gigapascal", "gigapascals"),
    (1e5, "bar", "bars"),
    (1e2, "mbar", "millibar", "millibars"),
    (_LBF / _INCH**2, "psi", "lbf/in2", "lb/in2", "lbs/in2", "pounds/in2"),
    (1e3 * _LBF / _INCH**2, "ksi"),
    (_GRAVITY * 1e4, "kgf/cm2", "kg/cm2", "kp/cm2"),
    (101325.0, "atm"),
)
_FREQUENCY: Final = (
    (1.0, "Hz", "hertz", "1/s", "S/s", "sps", "samples/s", "blows/s", "bps"),
    (1e3, "kHz", "kS/s", "ksps", "1/ms"),
    (1e6, "MHz", "MS/s"),
    (1 / 60, "1/min", "rpm", "blows/min", "bpm", "ipm"),
)
_VOLTAGE: Final = (
    (1.0, "V", "volt", "volts"),
    (1e-3, "mV", "millivolt", "millivolts"),
    (1e-6, "uV", "microvolt", "microvolts"),
    (1e3, "kV", "kilovolt", "kilovolts"),
)
_ROTATION: Final = (
    (1.0, "rad/s"),  # 1/s is a turn to some, as 1/min is to all, and a radian to others
    (math.pi / 30, "rpm", "1/min", "rev/min", "r/min"),
    (math.pi / 180, "deg/s", "°/s"),
    (2 * math.pi, "rev/s"),
)

Rows = tuple[tuple[float | str, ...], ...]
_OTHER_INERTIA: Final = (
    (_LBF * _INCH, "lbf in s2", "in lbf s2", "lb in s2", "in lb s2"),
    (_SLUG * (12 * _INCH) ** 2, "lbf ft s2", "ft lbf s2", "lb ft s2", "ft lb s2"),
)
_OTHER_TORQUE: Final = ((_GRAVITY, "mkp", "kpm"),)
_ENERGY: Final = (
    (1.0, "J", "joule", "joules", "W s"),
    (1e3, "kJ", "kilojoule", "kilojoules"),
    (1e-3, "mJ", "millijoule", "millijoules"),
)
_CUBIC_FOOT: Final = (12 * _INCH) ** 3
_FLOW: Final = (
    (1.0, "m3/s"),
    (1.0 / 60.0, "m3/min"),
    (1.0 / 3600.0, "m3/h"),
    (1e-3, "l/s", "dm3/s"),
    (1e-3 / 60.0, "l/min", "lpm"),
    (_CUBIC_FOOT, "ft3/s"),
    (_CUBIC_FOOT / 60.0, "cfm", "ft3/min", "scfm"),
)
UNITS: Final[dict[str, Rows]] = {
    "acceleration": ((1.0, "m/s2"), (_GRAVITY, "g", "gn")),
    "angle": _ANGLE,
    "density": ((1.0, "kg/m3"), (1e3, "g/cm3", "kg/l", "t/m3"), (_POUND / _INCH**3, "lb/in3")),
    "energy": _ENERGY,
    "flow": _FLOW,
    "force": _FORCE,
    "frequency": _FREQUENCY,
    "inertia": _OTHER_INERTIA,
    "length": _LENGTH,
    "mass": _MASS,
    "pressure": _PRESSURE,
    "rotation speed": _ROTATION,
    "share": ((0.01, "%", "percent", "per cent"),),
    "stiffness": (),
    "time": _TIME,
    "torque": _OTHER_TORQUE,
    "torsional stiffness": (),
    "voltage": _VOLTAGE,
}
"""By kind, without those that are made of two others, which `_MADE_OF` names."""
_MADE_OF: Final = {
    "energy": ("force", "·", "length", 1),
    "inertia": ("mass", "·", "length", 2),
    "pressure": ("force", "/", "length", 2),
    "stiffness": ("force", "/", "length", 1),
    "torque": ("force", "·", "length", 1),
    "torsional stiffness": ("torque", "/", "angle", 1),
}
ENDINGS: Final = {
    "n_m_per_rad": ("torsional stiffness", "N m/rad", "N·m/rad"),
    "n_per_m": ("stiffness", "N/m", "N/m"),
    "kg_m3": ("density", "kg/m3", "kg/m³"),
    "kg_m2": ("inertia", "kg m2", "kg·m²"),
    "percent": ("share", "%", "%"),
    "m_s2": ("acceleration", "m/s2", "m/s²"),
    "rad_s": ("rotation speed", "rad/s", "rad/s"),
    "n_m": ("torque", "N m", "N·m"),
    "gpa": ("pressure", "GPa", "GPa"),
    "mpa": ("pressure", "MPa", "MPa"),
    "deg": ("angle", "deg", "°"),
    "mm": ("length", "mm", "mm"),
    "hz": ("frequency", "Hz", "Hz"),
    "kg": ("mass", "kg", "kg"),
    "n": ("force", "N", "N"),
    "s": ("time", "s", "s"),
    "j": ("energy", "J", "J"),
}
"""What a key ends in: its kind, its unit as it is read, and as it is printed. The longest come first."""

_LONGEST: Final = 60  # letters; no unit has more
_SIGNS: Final = str.maketrans({"μ": "u", "µ": "u", "’": "'", "”": '"', "“": '"', "º": "°", "˚": "°"})
_BETWEEN: Final = re.compile(r"[·⋅∙•*×.\-‐‑–−\s]+")


def plain_unit(unit: str) -> str:
    """A unit with one dot for whatever is between its words: "lbf-ft", "lbf . ft" and "lbf·ft" alike."""
    if len(unit) > _LONGEST:
        return unit
    text = unicodedata.normalize("NFKC", unit.translate(_SIGNS)).translate(_SIGNS)
    text = re.sub(r"\*\*|\^", "", text.strip().strip("[](){}"))
    text = re.sub(r"\s+per\s+|\s*[/⁄÷]\s*", "/", text)
    return _BETWEEN.sub("·", text).strip("·")


@lru_cache(maxsize=4096)
def find_factors(unit: str, kind: str, *, exact: bool = False) -> tuple[float, ...]:
    """How much one `unit` may be in SI: one value, none for no unit of the kind, more where it is not clear.

    What is written exactly as in the table is what it says; else, unless it must be `exact`, capitals and
    small letters are alike.

    Parameters
    ----------
    unit
        As a person wrote it, in any spelling of the table.
    kind
        A key of `KINDS`.
    exact
        Whether capitals and small letters must be those of the table.
    """
    if len(unit) > _LONGEST:
        return ()
    plain = plain_unit(unit)
    return _factors(plain, kind, exact=True) or (() if exact else _factors(plain, kind, exact=False))


def _factors(plain: str, kind: str, *, exact: bool) -> tuple[float, ...]:
    known = _spelt(kind, exact=exact).get(plain if exact else plain.casefold(), ())
    if known or kind not in _MADE_OF:
        return known
    first, sign, second, power = _MADE_OF[kind]
    found: list[float] = []
    for one, other in _halves(plain, sign):
        base = _base(other, power)
        ends = () if base is None else _factors(base, second, exact=exact)
        begins = _factors(one, first, exact=exact) if ends else ()
        found += [a / b**power if sign == "/" else a * b**power for a in begins for b in ends]
    return tuple(x for i, x in enumerate(found) if not any(math.isclose(x, was) for was in found[:i]))


def _halves(plain: str, sign: str) -> list[tuple[str, str]]:
    """Where a unit may be cut in two; of a product in either order."""
    places = [i for i, letter in enumerate(plain) if letter == sign]
    cuts = [(plain[:i], plain[i + 1 :]) for i in places]
    if sign == "/":
        return cuts
    if not cuts:
        cuts = [(plain[:i], plain[i:]) for i in range(1, len(plain))]
    return cuts + [(other, one) for one, other in cuts]


def _base(unit: str, power: int) -> str | None:
    """The unit that is taken to a power."""
    if power == 1:
        return unit
    square = re.fullmatch(r"(.+?)·?2|(?:sq|square)·(.+)", unit)
    return (square[1] or square[2]) if square else None


@cache
def _spelt(kind: str, *, exact: bool) -> dict[str, tuple[float, ...]]:
    found: dict[str, tuple[float, ...]] = {}
    for row in UNITS[kind]:
        for spelling in map(str, row[1:]):
            plain = plain_unit(spelling)
            for form in {plain, plain.replace("·", "")}:
                key, factor = form if exact else form.casefold(), float(row[0])
                before = found.get(key, ())
                found[key] = before if factor in before else (*before, factor)
    return found
