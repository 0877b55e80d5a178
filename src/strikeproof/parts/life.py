"""Life in blows: an S-N curve with scatter for a place, and the damage of a run's blows added up."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, TypeAlias

import numpy as np

from strikeproof.parts.materials import Material
from strikeproof.quantity import FloatArray

__all__ = [
    "CONSTANT",
    "DETAIL",
    "Life",
    "LifeCurve",
    "Spectrum",
    "Stresses",
    "metal_curve",
    "notch_sensitivity",
    "read_spectrum",
    "strain_strength",
    "weld_curve",
]

Spectrum: TypeAlias = Sequence[tuple[float, float]]
"""Peaks over the largest, and the share of the blows that reach each."""

CONSTANT: Final[Spectrum] = ((1.0, 1.0),)
"""Every blow as hard as the hardest: on the safe side."""

DETAIL: Final = 80e6
"""Shear range that a fillet weld in torsion withstands 2 million times at 95 % survival: EN 1993-1-9, Table
8.5, detail 8, category 80, slope 5 to 1e8; IIW FAT 80 for parallel shear is the same (both from memory).
[Pa]"""

_STEPS: Final = 20
_Z90: Final = 1.2815515594457831  # of the normal distribution, 90 %
_KNEE: Final = 1e6  # blows; Shigley, 9th ed., sec. 6-8 (from memory)
_WELD_KNEE: Final = 1e8
_ENDLESS: Final = 1e12  # blows: longer than any tool lives
_WELD_SLOPE: Final = 5.0
_WELD_LOG_LIFE: Final = 0.2
"""Standard deviation of the decimal logarithm of a weld's life; a characteristic curve lies two of them
below the middle. IIW recommendations, XIII-1823, sec. 6.4 (from memory)."""

_SPECIMEN, _SURFACE, _NOTCH = 0.138, 0.058, 0.11
"""Coefficients of variation: endurance of steel on its mean tensile strength, surface factor of a machined
part, fatigue notch factor of a shoulder. Shigley, 9th ed., eq. (6-70), Tables 6-10 and 6-15 (from memory)."""
_HELD: Final = 1.5  # the most that a notch's strain control is counted for: our limit, no source
_OTHER: Final = 0.20  # of metals other than steel: an estimate, no source


def read_spectrum(relative: FloatArray) -> Spectrum:
    """How hard blows are against the hardest, in twenty steps, each at its upper edge: on the safe side.

    Parameters
    ----------
    relative : (n,)
        Peak of each blow over the largest of its run, 0 to 1; without any, every blow counts as the hardest.
    """
    if not relative.size:
        return CONSTANT
    steps = np.clip(np.ceil(relative * _STEPS - 1e-9), 1, _STEPS).astype(int)
    counts = np.bincount(steps, minlength=_STEPS + 1) / relative.size
    return tuple((step / _STEPS, float(share)) for step, share in enumerate(counts) if share > 0)


@dataclass(frozen=True, slots=True)
class Life:
    """Blows until a crack.

    Parameters
    ----------
    at_90
        That nine of ten articles withstand.
    at_50
        That half of them withstand.
    """

    at_90: float
    at_50: float


@dataclass(frozen=True, slots=True)
class LifeCurve:
    """Life of a place under torque that pulsates from zero: N = knee · s^-slope, 2·slope − 1 beyond the knee.

    s is the fully reversed stress after Goodman over the median strength at the knee. The mean stress is
    that away from the notch; where the notch yields at the first blow it is what remains below the yield
    stress, if that is less (Juvinall & Marshek, *Fundamentals of Machine Component Design*, 5th ed., sec.
    8.11, from memory).

    Parameters
    ----------
    amplitude
        Alternating stress in the notch over the median strength at the knee. [1/(N·m)]
    mean, local
        Mean stress away from the notch and alternating stress in it, over the breaking stress. [1/(N·m)]
    yields
        Yield stress over the breaking stress.
    knee
        Blows at s = 1.
    slope
        Of the part before the knee.
    scatter
        Standard deviation of the logarithm of the strength.
    """

    amplitude: float
    mean: float
    local: float
    yields: float
    knee: float
    slope: float
    scatter: float

    def blows(self, torque: float, weaker: float = 1.0) -> float:
        """Life under blows that all reach one torque; 0 where it breaks at the first.

        References
        ----------
        Basquin; Goodman; beyond the knee Haibach, *Betriebsfestigkeit*, 2nd ed., sec. 2.1 (from memory).

        Parameters
        ----------
        torque
            [N·m]
        weaker
            Strength over the median.
        """
        mean = min(self.mean * torque, max(self.yields - self.local * torque, 0.0))
        if mean >= 1:
            return 0.0
        stress = self.amplitude * torque / (1 - mean) / weaker
        if stress <= 0:
            return math.inf
        power = self.slope if stress >= 1 else 2 * self.slope - 1
        return self.knee * math.exp(min(-power * math.log(stress), 200.0))

    def life(self, peak: float, spectrum: Spectrum = CONSTANT) -> Life:
        """Life under blows of a spectrum whose hardest reaches a peak.

        References
        ----------
        Palmgren; Miner, J. Appl. Mech. 12 (1945) A159: damage Σ n/N adds up, 1 is a crack.

        Parameters
        ----------
        peak
            [N·m]
        spectrum
            Of the run; its shares add up to 1.
        """
        return Life(*(self._summed(peak, spectrum, math.exp(-z * self.scatter)) for z in (_Z90, 0.0)))

    def _summed(self, peak: float, spectrum: Spectrum, weaker: float) -> float:
        lives = [(self.blows(peak * relative, weaker), share) for relative, share in spectrum]
        if any(blows < 1 for blows, _share in lives):
            return 0.0
        damage = sum(share / blows for blows, share in lives)
        return min(1 / damage, _ENDLESS) if damage > 0 else _ENDLESS


def notch_sensitivity(tensile: float, radius: float) -> float:
    """How much of a notch a steel feels, q = 1/(1 + √a/√r).

    Parameters
    ----------
    tensile
        Rm, taken between 345 and 1520 MPa. [Pa]
    radius
        Of the notch. [m]

    References
    ----------
    Neuber; Shigley, 9th ed., eq. (6-34) and (6-35a), bending: √a = 0.246 − 3.08e-3 S + 1.51e-5 S² − 2.67e-8
    S³, S in kpsi, a in inches (from memory).
    """
    s = min(max(tensile, 345e6), 1520e6) / 6.894757e6
    root = max(0.246 - 3.08e-3 * s + 1.51e-5 * s**2 - 2.67e-8 * s**3, 0.0)
    return 1 / (1 + root / math.sqrt(max(radius, 1e-6) / 0.0254))


def _first_share(tensile: float) -> float:
    """Strength at a thousand reversals over Rm.

    References
    ----------
    Shigley, 11th ed., eq. (6-11): f = 1.06 − 2.8e-3 S + 6.9e-6 S², S from 70 to 200 kpsi (from memory).
    """
    s = min(max(tensile / 6.894757e6, 70.0), 200.0)
    return 1.06 - 2.8e-3 * s + 6.9e-6 * s**2


def strain_strength(tensile: float, reversals: float) -> float:
    """Strain amplitude that a steel withstands so many reversals, times its elastic modulus. [Pa]

    Parameters
    ----------
    tensile
        Rm, from which the hardness: HB = Rm/3.45 MPa. [Pa]
    reversals
        Twice the cycles.

    References
    ----------
    Roessle & Fatemi, Int. J. Fatigue 22 (2000) 495, eq. (8): E Δε/2 = (4.25 HB + 225)(2N)^−0.09 +
    (0.32 HB² − 487 HB + 191 000)(2N)^−0.56 MPa, for 150 to 700 HB (from memory).
    """
    hardness = min(max(tensile / 3.45e6, 150.0), 700.0)
    elastic = (4.25 * hardness + 225) * reversals**-0.09
    plastic = max(0.32 * hardness**2 - 487 * hardness + 191_000, 0.0) * reversals**-0.56
    return float(elastic + plastic) * 1e6


@dataclass(frozen=True, slots=True)
class Stresses:
    """What one newton metre does to a place, and what its metal withstands in that kind of load.

    Parameters
    ----------
    notched, plain
        Stress in the notch and away from it. [Pa per N·m]
    endures
        Endurance of the part, fully reversed: with surface, size and kind of load. [Pa]
    ultimate, yields
        Breaking and yield stress in the same kind of load. [Pa]
    """

    notched: float
    plain: float
    endures: float
    ultimate: float
    yields: float

    @property
    def has_notch(self) -> bool:
        """Whether the notch adds anything."""
        return self.notched > 1.01 * self.plain


def metal_curve(material: Material, place: Stresses) -> LifeCurve | None:
    """The curve of parent metal from a thousand blows to its endurance at a million; None without endurance.

    A plain section starts from f·Rm. In a notch of steel the metal around holds the strain, so it starts
    from the strain that the metal withstands, at most half more than that.

    Parameters
    ----------
    material
        What it is made of.
    place
        Stresses and strengths.

    References
    ----------
    Shigley, 9th ed., eq. (6-13) to (6-16); scatter: eq. (6-70), Tables 6-10, 6-15 (from memory).
    """
    steel = material.elastic_modulus > 180e9 and material.density < 9000
    share = _first_share(material.tensile_strength)
    if steel and place.has_notch:
        strained = strain_strength(material.tensile_strength, 2e3) / material.tensile_strength
        share = min(max(strained, share), _HELD * share)
    first = share * place.ultimate
    if not 0 < place.endures < first:
        return None
    parts = (_SPECIMEN if steel else _OTHER, _SURFACE, _NOTCH if place.has_notch else 0.0)
    return LifeCurve(
        amplitude=place.notched / 2 / place.endures,
        mean=place.plain / 2 / place.ultimate,
        local=place.notched / 2 / place.ultimate,
        yields=place.yields / place.ultimate,
        knee=_KNEE,
        slope=math.log(_KNEE / 1e3) / math.log(first / place.endures),
        scatter=math.hypot(*parts),
    )


def weld_curve(section: float) -> LifeCurve:
    """The curve of a fillet weld sheared along its throat by torsion, median and scatter.

    Parameters
    ----------
    section
        Throat times length times arm: torque over shear stress. [m³]

    References
    ----------
    EN 1993-1-9, Table 8.5, detail 8 (`DETAIL`).
    """
    characteristic = DETAIL * section * (2e6 / _WELD_KNEE) ** (1 / _WELD_SLOPE)
    median = characteristic * 10 ** (2 * _WELD_LOG_LIFE / _WELD_SLOPE)
    scatter = _WELD_LOG_LIFE * math.log(10) / _WELD_SLOPE
    return LifeCurve(1 / median, 0.0, 0.0, math.inf, _WELD_KNEE, _WELD_SLOPE, scatter)
