"""What can be said without simulating: one blow on a locked bolt, the collision chain, the clamp law.

Derived for this project and checked by independent scripts, but for the collision chain: Ricardo & Lee,
Eur. J. Phys. 36 (2015) 025013.
"""

from __future__ import annotations

import math

import numpy as np

from strikeproof.quantity import FloatArray

__all__ = [
    "best_ratio",
    "clamp_law",
    "collision_chain",
    "locked_envelope",
    "locked_torque",
    "reference_torque",
]


def reference_torque(speed: float, hammer: float, drive: float, bolt: float) -> float:
    """T_ref = ω0 √(J_h k_a k_b/(k_a + k_b)): the peak of an article without inertia. [N·m]

    Parameters
    ----------
    speed
        ω0 of the hammer. [rad/s]
    hammer
        Inertia J_h. [kg·m²]
    drive, bolt
        Stiffnesses k_a from hammer to article and k_b from there to the bolt. [N·m/rad]

    References
    ----------
    Derived here from the energy of two springs in series.
    """
    return speed * math.sqrt(hammer * drive * bolt / (drive + bolt))


def locked_torque(
    time: FloatArray, speed: float, hammer: float, article: float, drive: float, bolt: float
) -> FloatArray:
    """Torque on a locked bolt, two masses and two springs, no gaps, no damping. [N·m]

    T_b = ω0 k_a k_b/(J_s (ω2² − ω1²)) [sin ω1 t/ω1 − sin ω2 t/ω2], ω1 and ω2 the roots of
    J_h J_s ω⁴ − [J_h (k_a + k_b) + J_s k_a] ω² + k_a k_b = 0.

    Parameters
    ----------
    time : (n,)
        From first contact; it holds until the jaw opens. [s]
    speed
        ω0 of the hammer. [rad/s]
    hammer, article
        Inertias J_h and J_s. [kg·m²]
    drive, bolt
        Stiffnesses k_a and k_b. [N·m/rad]

    References
    ----------
    Derived here; two degrees of freedom as in any text, e.g. Rao, *Mechanical Vibrations*, ch. 5 (from
    memory).
    """
    total = hammer * (drive + bolt) + article * drive
    root = math.sqrt(total * total - 4.0 * hammer * article * drive * bolt)
    low = math.sqrt((total - root) / (2.0 * hammer * article))
    high = math.sqrt((total + root) / (2.0 * hammer * article))
    factor = speed * drive * bolt / (article * (high**2 - low**2))
    return factor * (np.sin(low * time) / low - np.sin(high * time) / high)


def locked_envelope(kappa: float, mu: float) -> float:
    """Largest possible R = T_peak/T_ref of the closed form, √{(1+κ)/[1 + (√κ − √μ)²]}.

    Parameters
    ----------
    kappa
        κ = k_b/k_a.
    mu
        μ = J_s/J_h.

    References
    ----------
    Derived here: both sines at their crests.
    """
    return math.sqrt((1.0 + kappa) / (1.0 + (math.sqrt(kappa) - math.sqrt(mu)) ** 2))


def best_ratio(kappa: float) -> tuple[float, float]:
    """Optimum, fitted: μ = 0.45 + 0.38 κ (2 %, κ ≥ 0.75), R = √[1 + 2.13 κ/(1+κ)] (0.5 %, κ ≥ 2).

    Parameters
    ----------
    kappa
        κ = k_b/k_a.

    Returns
    -------
    Inertia of the article over the hammer's, and T_peak/T_ref there.

    References
    ----------
    Derived here: fitted to the crests of `locked_torque`.
    """
    return 0.45 + 0.38 * kappa, math.sqrt(1.0 + 2.13 * kappa / (1.0 + kappa))


def collision_chain(
    speed: float, masses: tuple[float, float, float], restitution: tuple[float, float]
) -> float:
    """Speed of the third body, v3 = (1+e1)(1+e2) m1 m2 v1/[(m1+m2)(m2+m3)], largest at m2 = √(m1 m3).

    Parameters
    ----------
    speed
        v1 of the first body. [rad/s, or m/s]
    masses
        m1, m2, m3, > 0. [kg·m², or kg]
    restitution
        e1 of the first collision and e2 of the second, 0 to 1.

    References
    ----------
    Ricardo & Lee, Eur. J. Phys. 36 (2015) 025013.
    """
    first, second, third = masses
    e1, e2 = restitution
    return (1 + e1) * (1 + e2) * first * second * speed / ((first + second) * (second + third))


def clamp_law(blows: FloatArray, plateau: float, slope: float, drive_stiffness: float) -> FloatArray:
    """F_n = F∞ √(1 − exp(−n k_T/k_e)) of an elastic-Coulomb joint. [N]

    Parameters
    ----------
    blows : (n,)
        How many.
    plateau
        F∞ = T_peak/c. [N]
    slope
        k_T = c dF/dθ. [N·m/rad]
    drive_stiffness
        k_e of everything between hammer and bolt. [N·m/rad]

    References
    ----------
    Derived here from one blow on an elastic-Coulomb joint, Δθ = (E/T_f)[1 − (T_f/T_pk)²]: within 2.5 % of
    simulation up to 20 blows.
    """
    return plateau * np.sqrt(-np.expm1(-np.asarray(blows, dtype=float) * slope / drive_stiffness))
