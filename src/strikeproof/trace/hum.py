"""Mains hum: found as a sharp line near 50 or 60 Hz, confirmed in the quiet before the start, taken off."""

from __future__ import annotations

import numpy as np
from scipy import fft

from strikeproof.kernels import kernel
from strikeproof.quantity import FloatArray
from strikeproof.trace.zero import middle

__all__ = ["remove_hum", "wave", "wave_amplitude"]

MAINS_HZ = (50.0, 60.0)
SEARCH_HZ = 0.6  # public supplies keep within 1 % of nominal (EN 50160)
LOWEST_RATE_HZ = 250.0  # below it the line folds onto other parts of the spectrum


def remove_hum(level: FloatArray, step_s: float, quiet: int) -> FloatArray:
    """The level (n,) without mains hum and its second and third harmonic.

    The line must stand out of the whole trace, and as large in the first `quiet` samples, before the
    start: a hammer that strikes at mains frequency is not hum.

    Parameters
    ----------
    level : (n,)
        In even steps. [reading]
    step_s
        [s]
    quiet
        Samples before the start.

    References
    ----------
    Derived here (docs/detector.md, step 2).
    """
    if 1 / step_s < LOWEST_RATE_HZ or quiet * step_s < 0.1:
        return level
    each = max(1, min(int(1 / step_s / 800.0), level.size // 1024))
    coarse = level[: level.size // each * each].reshape(-1, each).mean(axis=1)
    line = _line(np.diff(coarse), each * step_s)
    if line is None:
        return level
    for harmonic in (1, 2, 3):
        left = _take_off(level, step_s, harmonic * line, quiet)
        if left is None and harmonic == 1:
            return level
        level = level if left is None else left
    return level


def _line(change: FloatArray, step_s: float) -> float | None:
    """Frequency of a line near mains frequency ten times above its neighbourhood, if any. [Hz]"""
    change = _winsorise(change - change.mean())
    size = fft.next_fast_len(4 * change.size, real=True)
    power = np.abs(fft.rfft(change * np.hanning(change.size), size))
    spacing = 1 / (size * step_s)
    best: tuple[float, float] | None = None
    for mains in MAINS_HZ:
        near = slice(int((mains - SEARCH_HZ) / spacing), int((mains + SEARCH_HZ) / spacing) + 2)
        around = slice(int((mains - 4) / spacing), int((mains + 4) / spacing))
        if around.stop >= power.size:
            continue
        top = near.start + int(np.argmax(power[near]))
        contrast = float(power[top] / np.median(power[around]))
        if contrast > 6 and (best is None or contrast > best[0]):
            best = contrast, (top + _vertex(power[top - 1 : top + 2])) * spacing
    return None if best is None else best[1]


def _vertex(three: FloatArray) -> float:
    """Offset of a parabola's top through three neighbours, in samples."""
    left, middle, right = three
    bend = left - 2 * middle + right
    return float(0.5 * (left - right) / bend) if bend < 0 else 0.0


def _winsorise(change: FloatArray) -> FloatArray:
    """Hold blow fronts down, which would leak into every frequency."""
    bound = 5 * middle(np.abs(change[:: max(1, change.size // 4096)]))
    return change.clip(-bound, bound) if bound > 0 else change


def _take_off(level: FloatArray, step_s: float, frequency: float, quiet: int) -> FloatArray | None:
    """Less the wave fitted to the whole run's changes, if the quiet part shows the same wave."""
    if frequency > 0.4 / step_s:
        return None
    turn = np.exp(2j * np.pi * frequency * step_s)
    change = np.diff(level)
    whole = wave_amplitude(_winsorise(change), turn) / (turn - 1)
    early = wave_amplitude(change[: quiet - 1], turn) / (turn - 1)
    if abs(whole - early) > 0.5 * abs(early):
        return None
    return np.asarray(level - wave(whole, turn, level.size), dtype=np.float64)


@kernel()
def wave_amplitude(values, turn):  # type: ignore[no-untyped-def]
    """Least-squares amplitude a of Re(a turn^n) in values (n,) over many turns, |turn| = 1."""
    total, phase = 0j, 1 + 0j
    for value in values:
        total += value * phase.conjugate()
        phase *= turn
    return 2 * total / values.size


@kernel()
def wave(amplitude, turn, size):  # type: ignore[no-untyped-def]
    """Re(amplitude turn^n) for n < size.

    Parameters
    ----------
    amplitude
        Complex: size and phase. [reading]
    turn
        Complex of size 1: one sample's turn.
    size
        n.

    Returns
    -------
    (n,) [reading]
    """
    out = np.empty(size)
    phase = amplitude
    for i in range(size):
        out[i] = phase.real
        phase *= turn
    return out
