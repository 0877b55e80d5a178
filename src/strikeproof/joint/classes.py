"""Property classes: what a bolt of a given strength may carry.

Minimum values of ISO 898-1 (metric) and SAE J429 (inch); both let the strength depend on the diameter.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass

from strikeproof.errors import BadInput, nearest
from strikeproof.joint.threads import System, Thread

__all__ = ["CLASSES", "PropertyClass", "Strength", "own_class", "parse_class"]

_MPA = 1e6
_KSI = 6.894757e6
_INCH = 0.0254


@dataclass(frozen=True, slots=True)
class Strength:
    """Smallest stresses a standard warrants. [Pa]"""

    proof_stress: float
    yield_strength: float
    tensile_strength: float


@dataclass(frozen=True, slots=True)
class _Band:
    """The strength of all sizes up to and including `largest`. [m]"""

    largest: float
    strength: Strength


@dataclass(frozen=True, slots=True)
class PropertyClass:
    """One row of a strength standard.

    Parameters
    ----------
    name
        "10.9" or "grade 5".
    standard
        Where the figures stand.
    system
        The threads the standard is for.
    smallest
        Smallest diameter it covers. [m]
    bands
        Strengths by ascending largest diameter.
    """

    name: str
    standard: str
    system: System
    smallest: float
    bands: tuple[_Band, ...]

    def strength(self, thread: Thread) -> Strength:
        """The stresses warranted for `thread`.

        Returns
        -------
        Smallest stresses of a bolt of this size. [Pa]

        Raises
        ------
        BadInput
            If the standard does not cover the thread: another system or a size out of its range.
        """
        if thread.system != self.system:
            raise BadInput(
                f"{self.name} ({self.standard}) does not cover the {thread.system} thread {thread}",
                where="property class",
                allowed=_listed(thread.system),
                fix=f"use a class for {thread.system} threads",
            )
        slack = 1e-9  # [m] so that 16 mm counts as 16 mm however it was computed
        for band in self.bands:
            if self.smallest - slack <= thread.diameter <= band.largest + slack:
                return band.strength
        raise BadInput(
            f"{self.standard} gives no strength for {thread} {self.name}",
            where="property class",
            allowed=self._range(),
            fix="use a size in this range",
        )

    def _range(self) -> str:
        largest = self.bands[-1].largest
        if self.system == "metric":
            return f"diameters from {self.smallest * 1e3:g} to {largest * 1e3:g} mm"
        return f"diameters from {self.smallest / _INCH:g} to {largest / _INCH:g} in"

    def __str__(self) -> str:
        return self.name


def _iso(name: str, *bands: tuple[float, float, float, float]) -> PropertyClass:
    """Bands of (largest diameter [mm], proof, yield, tensile [MPa]); ISO 898-1 covers M1.6 to M39."""
    made = tuple(_Band(d * 1e-3, Strength(p * _MPA, y * _MPA, t * _MPA)) for d, p, y, t in bands)
    return PropertyClass(name, "ISO 898-1", "metric", 1.6e-3, made)


def _sae(name: str, *bands: tuple[float, float, float, float]) -> PropertyClass:
    """Bands of (largest diameter [in], proof, yield, tensile [ksi]); SAE J429 covers 1/4 to 1 1/2 in."""
    made = tuple(_Band(d * _INCH, Strength(p * _KSI, y * _KSI, t * _KSI)) for d, p, y, t in bands)
    return PropertyClass(name, "SAE J429", "inch", 0.25 * _INCH, made)


def own_class(strength: Strength, system: System) -> PropertyClass:
    """A strength that a person knows of a bolt, for threads of any size."""
    return PropertyClass("own strength", "as given", system, 0.0, (_Band(math.inf, strength),))


# Rows marked "memory" are from memory; the others were read in a public copy of the table.
CLASSES = {
    made.name: made
    for made in (
        _iso("4.6", (39, 225, 240, 400)),  # ISO 898-1:2013, Table 3, memory
        _iso("4.8", (39, 310, 340, 420)),  # same, memory
        _iso("5.6", (39, 280, 300, 500)),  # same, memory
        _iso("5.8", (39, 380, 420, 520)),  # same, memory
        _iso("6.8", (39, 440, 480, 600)),  # same, memory
        _iso("8.8", (16, 580, 640, 800), (39, 600, 660, 830)),  # ISO 898-1:2013, Table 3
        _iso("9.8", (16, 650, 720, 900)),  # same, memory
        _iso("10.9", (39, 830, 940, 1040)),  # same
        _iso("12.9", (39, 970, 1100, 1220)),  # same
        _sae("grade 1", (1.5, 33, 36, 60)),  # SAE J429; Shigley 9th ed., Table 8-9, memory
        _sae("grade 2", (0.75, 55, 57, 74), (1.5, 33, 36, 60)),  # same, memory
        _sae("grade 4", (1.5, 65, 100, 115)),  # same, memory: studs
        _sae("grade 5", (1, 85, 92, 120), (1.5, 74, 81, 105)),  # SAE J429; Shigley 9th ed., Table 8-9
        _sae("grade 5.2", (1, 85, 92, 120)),  # same, memory
        _sae("grade 7", (1.5, 105, 115, 133)),  # same, memory
        _sae("grade 8", (1.5, 120, 130, 150)),  # same
        _sae("grade 8.2", (1, 120, 130, 150)),  # same, memory
    )
}
"""Every property class known here, by name."""

_PREFIX = re.compile(r"^(?:property|class|cl\.?|grade|gr\.?|iso|sae|898-1|j\s?429|\s|[-:,])*", re.IGNORECASE)


def parse_class(text: str) -> PropertyClass:
    """The property class a person wrote: "10.9", "class 8.8", "grade 5", "SAE 8", "5".

    Raises
    ------
    BadInput
        If it is none of the known ones; the message names the nearest.
    """
    digits = _PREFIX.sub("", text.strip(), count=1).replace(",", ".")
    for name in (digits, f"grade {digits}"):
        if name in CLASSES:
            return CLASSES[name]
    hint = _closest(digits)
    raise BadInput(
        f"{text.strip()!r} is not a known property class" if text.strip() else "no property class is given",
        where="property class",
        allowed=", ".join(CLASSES),
        fix=f"the nearest is {hint!r}" if hint else "write it like '10.9' or 'grade 5'",
    )


def _closest(digits: str) -> str | None:
    """The metric class or inch grade nearest in number, or in spelling when there is no number."""
    match = re.match(r"\d{1,4}(\.\d+)?", digits)
    if match is None:
        return nearest(digits, CLASSES) if digits else None
    wanted = float(match[0])
    system = "metric" if "." in digits or wanted > 8 else "inch"
    known = {name: float(name.split()[-1]) for name, each in CLASSES.items() if each.system == system}
    return min(known, key=lambda name: (abs(known[name] - wanted), -known[name]))


def _listed(system: System) -> str:
    return ", ".join(each.name for each in CLASSES.values() if each.system == system)
