"""Sound of known truth: a train of blows as a phone beside the rig records it, with all that spoils it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from strikeproof.errors import BadInput
from strikeproof.quantity import FloatArray

__all__ = ["SimulatedSound", "SoundPlan", "simulate_sound"]

_AGC_BLOCK_S = 0.01


@dataclass(frozen=True, slots=True)
class SoundPlan:
    """A recording to simulate.

    The recording begins `lead_s` before the first blow and ends `tail_s` after the last; below zero it begins
    late or ends early. A blow is a burst of noise that decays in `burst_s` with rings at `ring_hz` that decay
    in `ring_s`; blows scatter in loudness by `scatter_db`. `hiss_db` is the tool's own steady noise while it
    runs, `echo_db` what comes back from the room, decaying by 60 dB in `echo_s`; both against the mean power
    of the blows. `snr_db` is that power over pink background noise from 20 Hz up. The loudest sound lies at
    `loudest` of full scale: above 1 it is clipped. `agc` rides the gain as phones do, within 10 ms down and
    half a second up, by up to 30 dB. The phone's clock is `clock_ppm` fast.
    """

    sample_rate_hz: float = 48_000.0
    lead_s: float = 1.5
    tail_s: float = 1.5
    burst_s: float = 0.003
    ring_hz: tuple[float, ...] = (1900.0, 3400.0, 5200.0)
    ring_s: float = 0.006
    scatter_db: float = 2.0
    hiss_db: float | None = -15.0
    echo_db: float | None = -6.0
    echo_s: float = 0.4
    snr_db: float = 20.0
    loudest: float = 0.5
    agc: bool = False
    clock_ppm: float = 0.0

    def __post_init__(self) -> None:
        if not 4000.0 <= self.sample_rate_hz <= 400_000.0:
            raise BadInput(
                f"sample rate {self.sample_rate_hz} Hz", where="simulated sound", allowed="4 to 400 kHz"
            )


@dataclass(frozen=True, slots=True, eq=False)
class SimulatedSound:
    """Samples (n,) between -1 and 1, and the blows (k,) that they hold, on the recorder's clock. [s]"""

    samples: FloatArray
    sample_rate_hz: float
    blow_times: FloatArray


def simulate_sound(rng: np.random.Generator, times: FloatArray, *, plan: SoundPlan) -> SimulatedSound:
    """What is recorded of blows that struck at `times` (m,), increasing. [s]

    Parameters
    ----------
    rng
        The only source of chance.
    times : (m,)
        Increasing, m ≥ 2. [s]
    plan
        How it is recorded.
    """
    rate = plan.sample_rate_hz
    spare = 0.5  # of sound before the first blow even where the recording begins later
    at = (times - times[0]) * (1 + 1e-6 * plan.clock_ppm) + spare + max(plan.lead_s, 0.0)
    count = int((at[-1] + spare + max(plan.tail_s, 0.0)) * rate)
    heard = _strike(rng, at, count, plan)
    power = float(np.mean(heard[int(at[0] * rate) : int(at[-1] * rate)] ** 2))
    heard += _hiss(rng, at, count, plan) * np.sqrt(power)
    heard += _echo(rng, heard, plan)
    heard += _pink(rng, count, rate) * np.sqrt(power * 10 ** (-plan.snr_db / 10))
    if plan.agc:
        heard *= _ridden_gain(heard, rate)
    begin, end = at[0] - plan.lead_s, at[-1] + plan.tail_s
    heard = heard[int(begin * rate) : int(end * rate)]
    heard *= plan.loudest / np.abs(heard).max()
    samples = np.round(heard.clip(-1, 1) * 32767) / 32768
    inside = at[(at >= begin) & (at < end)] - begin
    return SimulatedSound(samples, rate, inside)


def _strike(rng: np.random.Generator, at: FloatArray, count: int, plan: SoundPlan) -> FloatArray:
    rate = plan.sample_rate_hz
    time = np.arange(int(8 * max(plan.burst_s, plan.ring_s) * rate)) / rate
    decay, ring_decay = np.exp(-time / plan.burst_s), np.exp(-time / plan.ring_s)
    frequencies = np.array([hz for hz in plan.ring_hz if hz < 0.45 * rate])
    heard = np.zeros(count + time.size)
    for blow in at:
        phases = 2 * np.pi * rng.random(frequencies.size)
        rings = np.sin(2 * np.pi * frequencies[:, None] * time + phases[:, None]).sum(axis=0)
        burst = decay * rng.standard_normal(time.size) + ring_decay * rings
        first = int(blow * rate)
        heard[first : first + time.size] += 10 ** (plan.scatter_db * rng.standard_normal() / 20) * burst
    return heard[:count]


def _hiss(rng: np.random.Generator, at: FloatArray, count: int, plan: SoundPlan) -> FloatArray:
    if plan.hiss_db is None:
        return np.zeros(count)
    time = np.arange(count) / plan.sample_rate_hz
    on = np.clip((time - at[0] + 0.3) / 0.1, 0, 1) * np.clip((at[-1] + 0.2 - time) / 0.1, 0, 1)
    return np.asarray(on * rng.standard_normal(count) * 10 ** (plan.hiss_db / 20), dtype=np.float64)


def _echo(rng: np.random.Generator, heard: FloatArray, plan: SoundPlan) -> FloatArray:
    """What a diffuse room gives back: noise that decays exponentially (Kuttruff, *Room Acoustics*, ch. 4)."""
    from scipy import signal  # it brings scipy.stats: a second that only a simulation should pay

    if plan.echo_db is None:
        return np.zeros(heard.size)
    time = np.arange(int(plan.echo_s * plan.sample_rate_hz)) / plan.sample_rate_hz
    room = rng.standard_normal(time.size) * 10 ** (-3 * time / plan.echo_s)
    room[: int(0.002 * plan.sample_rate_hz)] = 0.0  # the nearest wall is a third of a metre off
    room *= 10 ** (plan.echo_db / 20) / np.sqrt(np.sum(room**2))
    return np.asarray(signal.oaconvolve(heard, room)[: heard.size], dtype=np.float64)


def _pink(rng: np.random.Generator, count: int, rate: float) -> FloatArray:
    """Noise of unit power whose density falls as 1/f above 20 Hz."""
    from scipy import fft  # loaded with scipy.signal, which a simulation has anyway

    size = fft.next_fast_len(count, real=True)  # a length with a large prime takes half of a simulation
    frequencies = fft.rfftfreq(size, 1 / rate)
    spectrum = fft.rfft(rng.standard_normal(count), size) / np.sqrt(frequencies.clip(min=20.0))
    noise = fft.irfft(spectrum, size)[:count]
    return np.asarray(noise / np.sqrt(np.mean(noise**2)), dtype=np.float64)


def _ridden_gain(heard: FloatArray, rate: float) -> FloatArray:
    each = max(1, int(_AGC_BLOCK_S * rate))
    blocks = np.sqrt(np.mean(heard[: heard.size // each * each].reshape(-1, each) ** 2, axis=1))
    loudest, release = float(blocks.max()), np.exp(-_AGC_BLOCK_S / 0.5)
    held, level = np.empty(blocks.size), 0.0
    for i, block in enumerate(blocks):
        level = max(block, release * level)
        held[i] = level
    gain = loudest / np.maximum(held, loudest / 10**1.5)
    return np.interp(np.arange(heard.size), (np.arange(blocks.size) + 0.5) * each, gain)
