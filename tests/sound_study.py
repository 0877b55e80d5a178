"""How well blows are heard in simulated sound of known truth, and whether sound and trace are told apart.

Run `python -m tests.sound_study` (about three minutes) to print the tables of docs/detector.md; with
`--write` it replaces the part of that file between its two marks.
"""

from __future__ import annotations

import argparse
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import numpy as np
from tests.detector_study import match_blows
from tests.study_page import put_between

from strikeproof.drivetrain import (
    MECHANISMS,
    BoltModel,
    RigModel,
    build_chain,
    complete_tool,
    draw_scatter,
    plain_article,
    simulate_run,
)
from strikeproof.quantity import FloatArray
from strikeproof.trace import (
    RunFacts,
    SimulatedSound,
    SoundCheck,
    SoundFacts,
    SoundPlan,
    TracePlan,
    TraceSettings,
    check_sound,
    examine_trace,
    hear_blows,
    record_blows,
    simulate_sound,
)

SEED = 20261125
SAME_S = 0.005
CONDITIONS: dict[str, dict[str, object]] = {
    "near and quiet (SNR 40 dB, no echo)": {"snr_db": 40.0, "echo_db": None, "hiss_db": None},
    "usual (SNR 20 dB, echo −6 dB, hiss −15 dB)": {},
    "SNR 10 dB": {"snr_db": 10.0},
    "SNR 0 dB": {"snr_db": 0.0},
    "SNR −5 dB": {"snr_db": -5.0},
    "SNR −10 dB": {"snr_db": -10.0},
    "echo 0 dB, 1.5 s": {"echo_db": 0.0, "echo_s": 1.5},
    "echo +6 dB, 1.5 s": {"echo_db": 6.0, "echo_s": 1.5},
    "hiss 0 dB": {"hiss_db": 0.0},
    "clipped 12 dB": {"loudest": 4.0},
    "clipped 26 dB": {"loudest": 20.0},
    "gain control": {"agc": True},
    "gain control, clipped 10 dB, echo 0 dB in 1 s, SNR 10 dB": {
        "agc": True,
        "loudest": 3.0,
        "echo_db": 0.0,
        "echo_s": 1.0,
        "snr_db": 10.0,
    },
    "8 kS/s": {"sample_rate_hz": 8000.0},
    "begins 2 s late": {"lead_s": -2.0},
    "ends 3 s early": {"tail_s": -3.0},
    "noise alone (SNR −60 dB)": {"snr_db": -60.0},
}
WRONGS = ("another run's sound", "5 % of blows not in it", "5 % second strikes more", "every second blow")


@dataclass(frozen=True, slots=True)
class Received:
    """One simulated recording, what was heard in it, and beside its trace."""

    sound: SimulatedSound
    facts: SoundFacts
    check: SoundCheck


@cache
def _bench(mechanism: str):  # type: ignore[no-untyped-def]
    tool = complete_tool("tool", mechanism, 0.0127).tool
    chain = build_chain(tool, plain_article("article", 2e-4), BoltModel(2.5e-3, 9.19e-3, 13e-3), RigModel())
    return chain, tool


def blow_train(rng: np.random.Generator, mechanism: str) -> tuple[FloatArray, FloatArray]:
    """When each blow of a simulated 10 s run strikes [s], and the clamp load after it [kN]."""
    chain, tool = _bench(mechanism)
    run = simulate_run(chain, tool, duration=10.0, scatter=draw_scatter(tool, 10.0, rng))
    return run.time, run.clamp_load / 1000


def seen_blows(rng: np.random.Generator, times: FloatArray, levels: FloatArray) -> RunFacts:
    """The run's trace at 10 kS/s, noise 0.1 % of the end level, examined."""
    plan = TracePlan(length_s=13.0, noise=0.001 * float(levels[-1]), final_level=float(levels[-1]))
    trace = record_blows(rng, times, levels, plan=plan)
    return examine_trace(trace.time, trace.reading, settings=TraceSettings())


def spoil(rng: np.random.Generator, times: FloatArray, wrong: str, mechanism: str) -> FloatArray:
    """Blows (k,) that are not those of the trace, in one of the ways of WRONGS."""
    some = rng.choice(times.size - 2, times.size // 20, replace=False) + 1
    if wrong == "another run's sound":
        return blow_train(rng, mechanism)[0]
    if wrong == "5 % of blows not in it":
        return np.delete(times, some)
    if wrong == "5 % second strikes more":
        return np.sort(np.r_[times, times[some] + 0.4 * np.median(np.diff(times))])
    return times[::2]


def listen(mechanism: str, repeats: int, wrong: str = "", **fixed: object) -> Iterator[Received]:
    """Runs of one mechanism recorded under fixed conditions, their sound perhaps another's."""
    for repeat in range(repeats):
        rng = np.random.default_rng([SEED, repeat, MECHANISMS.index(mechanism)])
        times, levels = blow_train(rng, mechanism)
        trace = seen_blows(rng, times, levels)
        struck = spoil(rng, times, wrong, mechanism) if wrong else times
        clock = {"clock_ppm": float(rng.normal(0, 50))}
        sound = simulate_sound(rng, struck, plan=SoundPlan(**(clock | fixed)))  # type: ignore[arg-type]
        facts = hear_blows(sound.samples, sound.sample_rate_hz)
        yield Received(sound, facts, check_sound(trace, facts))


def shifted(found: FloatArray, true: FloatArray) -> FloatArray:
    """Found blows less their constant lag behind the true ones."""
    if not found.size:
        return found
    nearest = found[np.abs(found[:, None] - true[None, :]).argmin(axis=0)]
    return np.asarray(found - np.median(nearest - true), dtype=np.float64)


@dataclass(frozen=True, slots=True)
class Score:
    """Over several recordings: shares of blows heard, and how the stated figures hold."""

    recall: float
    precision: float
    told: float
    count_error: float
    count_within: float
    rate_error: float
    rate_within: float
    regularity_error: float
    agrees: float
    disagrees: float


def score(heard: list[Received]) -> Score:
    """All figures of one cell; the rate and the regularity against those of the true blows."""
    tallies = [
        match_blows(shifted(h.facts.blow_times, h.sound.blow_times), h.sound.blow_times, SAME_S)
        for h in heard
    ]
    tally = sum(tallies[1:], tallies[0])
    told = [h for h in heard if h.facts.count is not None]
    errors = np.array([h.facts.count - h.sound.blow_times.size for h in told], dtype=float)
    stated = np.array([h.facts.count_uncertainty for h in told], dtype=float)
    paces = np.array([true_pace(h) for h in told]).reshape(-1, 2)
    rates = np.array([h.facts.rate_hz for h in told], dtype=float)
    rate_u = np.array([h.facts.rate_uncertainty for h in told], dtype=float)
    regular = np.array([h.facts.regularity for h in told], dtype=float)
    verdicts = [h.check.verdict for h in heard]
    return Score(
        recall=tally.recall,
        precision=tally.precision,
        told=len(told) / len(heard),
        count_error=_rms(errors),
        count_within=_mean(np.abs(errors) <= 2 * stated),
        rate_error=_rms(rates / paces[:, 0] - 1),
        rate_within=_mean(np.abs(rates - paces[:, 0]) <= 2 * rate_u),
        regularity_error=_rms(regular - paces[:, 1]),
        agrees=verdicts.count("agrees") / len(heard),
        disagrees=verdicts.count("disagrees") / len(heard),
    )


def true_pace(heard: Received) -> tuple[float, float]:
    """Rate [Hz] and regularity of the true blows, by their regular intervals."""
    gaps = np.diff(heard.sound.blow_times)
    usual = np.median(gaps)
    regular = gaps[(gaps > 0.6 * usual) & (gaps < 1.6 * usual)]
    return 1 / float(regular.mean()), float(regular.std(ddof=1) / regular.mean())


def _rms(values: FloatArray) -> float:
    return float(np.sqrt(np.mean(values**2))) if values.size else float("nan")


def _mean(values: FloatArray) -> float:
    return float(np.mean(values)) if values.size else float("nan")


def _table(head: list[str], rows: list[list[str]]) -> str:
    lines = [head, ["---"] * len(head), *rows]
    return "\n".join("| " + " | ".join(row) + " |" for row in lines)


def _plain(value: float, form: str) -> str:
    return "–" if np.isnan(value) else format(value, form)


def write_tables(repeats: int) -> str:
    """All tables as Markdown."""
    parts = [f"Seed {SEED}, {repeats} recordings a row.\n"]
    head = [
        "recording",
        "found / true among found",
        "count given",
        "count off by (rms), within 2 u",
        "rate off by (rms), within 2 u",
        "regularity off by (rms)",
        "agrees / disagrees",
    ]
    for mechanism in MECHANISMS:
        rows = []
        for name, fixed in CONDITIONS.items():
            found = score(list(listen(mechanism, repeats, **fixed)))
            rows.append(
                [
                    name,
                    f"{found.recall:.3f} / {_plain(found.precision, '.3f')}",
                    f"{found.told:.2f}",
                    f"{_plain(found.count_error, '.1f')}, {_plain(found.count_within, '.2f')}",
                    f"{_plain(100 * found.rate_error, '.2f')} %, {_plain(found.rate_within, '.2f')}",
                    _plain(found.regularity_error, ".4f"),
                    f"{found.agrees:.2f} / {found.disagrees:.2f}",
                ]
            )
        rate = true_pace(next(listen(mechanism, 1)))
        title = (
            f"### Sound of a hammer, {mechanism}, {rate[0]:.0f} blows a second, regularity {rate[1]:.3f}\n"
        )
        parts += [title, _table(head, rows), ""]
    rows = []
    for wrong in WRONGS:
        cells = []
        for mechanism in MECHANISMS:
            found = score(list(listen(mechanism, repeats, wrong)))
            cells.append(f"{found.agrees:.2f} / {found.disagrees:.2f}")
        rows.append([wrong, *cells])
    parts += ["### A sound that is not the trace's, usual recording: agrees / disagrees\n"]
    parts += [_table(["sound", *MECHANISMS], rows), ""]
    return "\n".join(parts)


BEGIN, END = "<!-- sound: begin -->", "<!-- sound: end -->"


def main() -> None:
    """Print the tables, or put them into docs/detector.md."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--repeats", type=int, default=12, help="simulated recordings a row")
    parser.add_argument("--write", action="store_true", help="replace the tables in docs/detector.md")
    asked = parser.parse_args()
    tables = write_tables(asked.repeats)
    if not asked.write:
        print(tables)
        return
    put_between(Path(__file__).parent.parent / "docs" / "detector.md", (BEGIN, END), f"\n{tables}")


if __name__ == "__main__":
    main()
