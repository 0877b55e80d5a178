"""How surely a run is found in the sound of a film: made films with echo, music and a second tool.

`python -m tests.film_study` prints the table of docs/publishing.md (about five minutes);
`--films N` makes N of each.
"""

from __future__ import annotations

import argparse
from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from strikeproof.quantity import FloatArray
from strikeproof.trace import ClipSync, SoundPlan, front_strength, simulate_sound, sync_clip

SEED = 20_261_201
PICTURE_S = 1 / 60
RATE = 32_000.0


@dataclass(frozen=True)
class Scene:
    """What is heard in a film beside the run; `scatter` is that of the tool's intervals over their mean."""

    sound: SoundPlan
    scatter: float = 0.02
    music_db: float | None = None
    second_db: float | None = None
    other_run: bool = False


_PLAN = SoundPlan(sample_rate_hz=RATE)
SCENES: Mapping[str, Scene] = {
    "usual (echo −6 dB in 0.4 s, noise −20 dB)": Scene(_PLAN),
    "echo +3 dB in 1.5 s": Scene(replace(_PLAN, echo_db=3.0, echo_s=1.5)),
    "noise 0 dB": Scene(replace(_PLAN, snr_db=0.0)),
    "gain control, clipped": Scene(replace(_PLAN, agc=True, loudest=3.0)),
    "music as loud as the blows": Scene(_PLAN, music_db=0.0),
    "second tool, 6 dB less": Scene(_PLAN, second_db=-6.0),
    "second tool as loud": Scene(_PLAN, second_db=0.0),
    "second tool, music and echo": Scene(
        replace(_PLAN, echo_db=0.0, echo_s=1.0), music_db=-6.0, second_db=-3.0
    ),
    "scatter of the intervals 1 %": Scene(_PLAN, scatter=0.01),
    "scatter of the intervals 0.1 %": Scene(_PLAN, scatter=0.001),
    "another run of the same tool": Scene(_PLAN, other_run=True),
}


def make_train(rng: np.random.Generator, rate: float, scatter: float, length: float) -> FloatArray:
    """Blows of a tool at `rate` [Hz] with independent intervals, over about `length`. [s]"""
    gaps = (1 + scatter * rng.standard_normal(int(length * rate))) / rate
    return np.asarray(np.cumsum(gaps), np.float64)


def make_music(rng: np.random.Generator, count: int, rate: float) -> FloatArray:
    """Notes with sharp beginnings at an even beat and between: tones and a drum, unit power."""
    music, beat = np.zeros(count), 0.5 * (0.8 + 0.4 * rng.random())
    time = np.arange(round(0.4 * rate)) / rate
    for place in np.arange(0.0, count / rate - 0.5, beat / 4):
        if rng.random() < 0.4:
            continue
        tone = np.sin(2 * np.pi * 220 * 2 ** (rng.integers(0, 36) / 12) * time) * np.exp(-time / 0.15)
        drum = rng.standard_normal(time.size) * np.exp(-time / 0.02)
        first = int(place * rate)
        music[first : first + time.size] += tone + (rng.random() < 0.4) * 1.5 * drum
    return music / max(float(np.sqrt(np.mean(music**2))), 1e-9)


def make_film(rng: np.random.Generator, scene: Scene) -> tuple[FloatArray, FloatArray, float, float]:
    """Blows on the trace's clock, samples, first blow on the film's [s], seconds of trace for one of film."""
    rate = rng.uniform(18.0, 45.0)
    blows = make_train(rng, rate, scene.scatter, rng.uniform(4.0, 10.0))
    ppm = float(rng.uniform(-5000.0, 5000.0))
    struck = make_train(rng, rate, scene.scatter, 8.0) if scene.other_run else blows
    plan = replace(scene.sound, lead_s=rng.uniform(1.0, 8.0), tail_s=rng.uniform(1.0, 6.0), clock_ppm=ppm)
    made = simulate_sound(rng, struck, plan=plan)
    samples = made.samples.copy()
    at = np.round(made.blow_times * RATE).astype(int)
    loud = float(np.sqrt(np.mean(samples[at[0] : at[-1]] ** 2)))
    if scene.music_db is not None:
        samples += loud * 10 ** (scene.music_db / 20) * make_music(rng, samples.size, RATE)
    if scene.second_db is not None:
        other = make_train(rng, rate * rng.uniform(0.9, 1.1), scene.scatter, samples.size / RATE - 1.0)
        more = simulate_sound(rng, other, plan=replace(scene.sound, lead_s=0.3, tail_s=0.3))
        loudness = float(np.sqrt(np.mean(more.samples**2)))
        part = more.samples[: samples.size] * (loud / loudness * 10 ** (scene.second_db / 20))
        samples[: part.size] += part
    return blows - blows[0], samples, float(made.blow_times[0]), 1 / (1 + 1e-6 * ppm)


def find(blows: FloatArray, samples: FloatArray) -> ClipSync:
    """The run in the film."""
    return sync_clip(blows, front_strength(samples[:, None], RATE))


def error_s(found: ClipSync, blows: FloatArray, first: float, ratio: float) -> float:
    """The largest error over the run, first blow to last. [s]"""
    if found.first_blow_s is None:
        return np.inf
    truth, seen = first + blows / ratio, found.first_blow_s + blows / found.clock_ratio
    return float(np.abs(truth - seen).max())


def study(films: int) -> list[tuple[str, int, int, int, float]]:
    """Scene, films, sure ones, sure ones within a picture, largest error of those within. [ms]"""
    rows = []
    for place, (name, scene) in enumerate(SCENES.items()):
        sure, right, worst = 0, 0, 0.0
        for number in range(films):
            rng = np.random.default_rng([SEED, place, number])
            blows, samples, first, ratio = make_film(rng, scene)
            found = find(blows, samples)
            if not found.sure:
                continue
            sure += 1
            off = np.inf if scene.other_run else error_s(found, blows, first, ratio)
            right += off <= PICTURE_S
            worst = max(worst, off) if off <= PICTURE_S else worst
        rows.append((name, films, sure, right, 1e3 * worst))
        print(f"| {name} | {films} | {sure} | {right} | {1e3 * worst:.1f} |", flush=True)
    return rows


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--films", type=int, default=100)
    print(
        "| sound beside the run | films | sure | of these within 1/60 s | largest error of these (ms) |\n"
        "|---|---|---|---|---|"
    )
    rows = study(parser.parse_args().films)
    sure, right = sum(row[2] for row in rows), sum(row[3] for row in rows)
    print(
        f"{right} of {sure} sure ones within one picture at 60 a second ({100 * right / max(sure, 1):.2f} %)"
    )


if __name__ == "__main__":
    main()
