"""How well blows, scores and flags are found in simulated traces of known truth.

Run `python -m tests.detector_study` (about six minutes) to print the tables of docs/detector.md; with
`--write` it replaces the part of that file between its two marks.
"""

from __future__ import annotations

import argparse
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
from scipy import signal
from tests.slow_rises import LENGTH_S, NO_RISES, is_found, no_rise, slow_rise
from tests.study_page import put_between

from strikeproof.quantity import FloatArray
from strikeproof.trace import SimulatedTrace, TracePlan, TraceSettings, examine_trace, simulate_trace
from strikeproof.trace.rise_fit import least_rise

SEED = 20261125
TOLERANCE_S = 0.010  # a blow found within this of a true one is that one; a quarter of a usual interval
RATES_HZ = (20.0, 80.0, 200.0, 500.0, 1000.0, 2000.0, 5000.0, 10_000.0, 20_000.0, 50_000.0)
NOISES = (0.05, 0.2, 0.5, 1.0)
CONDITIONS: dict[str, dict[str, float]] = {
    "noise alone": {},
    "mains hum": {"hum": 1.0},
    "drift": {"drift_per_s": 0.2},
    "spikes": {"spikes_per_s": 2.0, "spike_height": 20.0},
    "all three": {"hum": 1.0, "drift_per_s": 0.2, "spikes_per_s": 2.0, "spike_height": 20.0},
}


@dataclass(frozen=True, slots=True)
class Tally:
    """Blows found, true and matched, and the timing errors (k,) of the matched. [s]"""

    found: int
    true: int
    errors: FloatArray

    @property
    def recall(self) -> float:
        """Share of the true blows that were found."""
        return self.errors.size / self.true if self.true else 1.0

    @property
    def precision(self) -> float:
        """Share of the found blows that are true; nan when none was found."""
        return self.errors.size / self.found if self.found else float("nan")

    @property
    def rms_s(self) -> float:
        """Root mean square of the timing errors."""
        return float(np.sqrt(np.mean(self.errors**2))) if self.errors.size else float("nan")

    def __add__(self, other: Tally) -> Tally:
        return Tally(self.found + other.found, self.true + other.true, np.r_[self.errors, other.errors])


NOTHING = Tally(0, 0, np.zeros(0))


def match_blows(found: FloatArray, true: FloatArray, tolerance_s: float = TOLERANCE_S) -> Tally:
    """Pair found with true blows one to one, the nearest pairs first."""
    if not found.size or not true.size:
        return Tally(found.size, true.size, np.zeros(0))
    off = found[:, None] - true[None, :]
    errors, used_f, used_t = [], set(), set()
    near = np.argwhere(np.abs(off) <= tolerance_s)
    for f, t in near[np.argsort(np.abs(off[near[:, 0], near[:, 1]]), kind="stable")]:
        if f not in used_f and t not in used_t:
            used_f.add(f)
            used_t.add(t)
            errors.append(off[f, t])
    return Tally(found.size, true.size, np.array(errors))


def plans(rng: np.random.Generator, repeats: int, **fixed: object) -> Iterator[TracePlan]:
    """Plans as they come in a shop: 18 to 45 blows a second, various growth and ringing."""
    for _ in range(repeats):
        drawn = TracePlan(
            blow_rate_hz=rng.uniform(18, 45),
            growth_blows=rng.uniform(30, 120),
            interval_scatter=rng.uniform(0.01, 0.05),
            ring_share=0.02,
            ring_hz=rng.uniform(250, 450),
            hum_hz=rng.choice((50.0, 60.0)) + rng.uniform(-0.1, 0.1),
        )
        yield replace(drawn, **fixed)  # type: ignore[arg-type]


def find_by_prominence(trace: SimulatedTrace, plan: TracePlan) -> FloatArray:
    """Blows as peaks of the plain reading, SciPy told the true noise and half the true interval."""
    distance = max(1, int(0.5 * plan.sample_rate_hz / plan.blow_rate_hz))
    peaks, _ = signal.find_peaks(trace.reading, prominence=6 * plan.noise, distance=distance)
    return np.asarray(trace.time[peaks], dtype=np.float64)


def tally_blows(seed: int, repeats: int, **fixed: object) -> tuple[Tally, Tally]:
    """Our tally and that of `find_by_prominence` over simulated runs."""
    rng = np.random.default_rng(seed)
    ours, plain = NOTHING, NOTHING
    for plan in plans(rng, repeats, **fixed):
        trace = simulate_trace(rng, plan=plan)
        settings = TraceSettings(nominal_blow_rate_hz=plan.blow_rate_hz)
        facts = examine_trace(trace.time, trace.reading, settings=settings)
        ours += match_blows(facts.blow_times, trace.truth.blow_times)
        plain += match_blows(find_by_prominence(trace, plan), trace.truth.blow_times)
    return ours, plain


def score_errors(seed: int, repeats: int, **fixed: object) -> tuple[FloatArray, FloatArray]:
    """Error of the end score and its stated standard uncertainty (k,) over simulated runs."""
    rng = np.random.default_rng(seed)
    errors, stated = [], []
    for plan in plans(rng, repeats, **fixed):
        trace = simulate_trace(rng, plan=plan)
        settings = TraceSettings(nominal_blow_rate_hz=plan.blow_rate_hz)
        facts = examine_trace(trace.time, trace.reading, settings=settings)
        if facts.score is not None and facts.score_uncertainty is not None:
            errors.append(facts.score - trace.truth.score)
            stated.append(facts.score_uncertainty)
    return np.array(errors), np.array(stated)


FAULTS: dict[str, tuple[str, dict[str, object]]] = {
    "nothing wrong": ("", {}),
    "second strikes, 5 % of blows": ("double-blows", {"double_share": 0.05}),
    "missed blows, 5 %": ("missed-blows", {"missed_share": 0.05}),
    "clipped at 85 % of the end level": ("clipped", {"clip_level": 87.0}),
    "50 ms without values": ("dropout", {"dropouts": ((5.0, 0.05),)}),
    "200 ms frozen at 0": ("dropout", {"dropouts": ((5.0, 0.2),), "dropout_reading": 0.0}),
    "zero 2 % off after the run": (
        "zero-moved",
        {"zero_shift": 2.0, "release_after_s": 0.5, "length_s": 13.0},
    ),
    "load taken off, zero unmoved": ("", {"release_after_s": 0.5, "length_s": 13.0}),
    "hammering stops at 7 s": ("too-short", {"hammer_s": 7.0}),
    "begins 4 s into a 12 s log": ("late-start", {"start_s": 4.0}),
    "wired backwards": ("backwards", {"polarity": -1}),
    "3 spikes a second": ("spikes", {"spikes_per_s": 3.0}),
    "no hammering": ("no-hammering", {"final_level": 1e-9, "ring_share": 0.0, "drift_per_s": 0.02}),
    "coarse converter (step 0.5)": ("", {"resolution": 0.5}),
}
OTHER_RUNS: dict[str, dict[str, object]] = {
    "8 blows a second": {"blow_rate_hz": 8.0},
    "85 blows a second": {"blow_rate_hz": 85.0},
    "50 blows a second, hum 2 % at 50 Hz": {"blow_rate_hz": 50.0, "hum": 2.0, "hum_hz": 50.0},
    "hum 5 %": {"hum": 5.0},
    "ringing at 1 kHz": {"ring_hz": 1000.0},
    "ringing at 120 Hz, decaying in 8 ms": {"ring_hz": 120.0, "ring_decay_s": 0.008},
    "fronts of 4 ms": {"rise_s": 0.004},
    "neither ringing nor overshoot": {"ring_share": 0.0, "overshoot_share": 0.0},
    "growth not yet levelling off": {"growth_blows": 500.0},
    "intervals scattering by 10 %": {"interval_scatter": 0.1},
    "0.2 s before the start": {"start_s": 0.2},
    "drift of 2 % a second": {"drift_per_s": 2.0},
    "30 % second strikes": {"double_share": 0.3},
}
ACCEPTED = {"blows-faint", "rate-too-low"}  # say what cannot be seen, not that something is wrong


def flag_rates(
    seed: int, repeats: int, rate_hz: float, noise: float
) -> dict[str, tuple[float, Counter[str]]]:
    """For each fault: how often its flag is raised, and how often any other."""
    out = {}
    for name, (wanted, fixed) in FAULTS.items():
        rng = np.random.default_rng(seed)
        hits, others = 0, Counter[str]()
        for plan in plans(rng, repeats, **{"sample_rate_hz": rate_hz, "noise": noise} | fixed):
            trace = simulate_trace(rng, plan=plan)
            settings = TraceSettings(nominal_blow_rate_hz=plan.blow_rate_hz)
            kinds = {flag.kind for flag in examine_trace(trace.time, trace.reading, settings=settings).flags}
            hits += wanted in kinds
            others.update(kinds - ACCEPTED - {wanted})
        out[name] = hits / repeats, others
    return out


def _table(head: list[str], rows: list[list[str]]) -> str:
    lines = [head, ["---"] * len(head), *rows]
    return "\n".join("| " + " | ".join(row) + " |" for row in lines)


def _rate(rate_hz: float) -> str:
    return f"{rate_hz / 1000:g} kS/s" if rate_hz >= 1000 else f"{rate_hz:g} S/s"


def _cell(tally: Tally) -> str:
    if not tally.found:
        return "not seen"
    return f"{tally.recall:.3f} / {tally.precision:.3f} / {1e3 * tally.rms_s:.2f}"


def write_tables(repeats: int) -> str:
    """All tables as Markdown."""
    parts = [f"Seed {SEED}, {repeats} runs a cell. Recall / precision / rms timing error in ms.\n"]
    for name, extra in CONDITIONS.items():
        rows = []
        for rate in RATES_HZ:
            cells = [tally_blows(SEED, repeats, sample_rate_hz=rate, noise=n, **extra)[0] for n in NOISES]
            rows.append([_rate(rate), *map(_cell, cells)])
        parts += [f"### Blows, {name}\n", _table(["", *(f"noise {n:g} %" for n in NOISES)], rows), ""]
    parts += [
        "### Against scipy.signal.find_peaks on the same traces\n",
        _table(*_against_peaks(repeats)),
        "",
    ]
    parts += ["### Score at the end of the window\n", _table(*_coverage(4 * repeats)), ""]
    parts += ["### Other kinds of run, 10 kS/s, noise 0.2 %\n", _table(*_others(repeats)), ""]
    parts += ["### Slow rises: share found, rms error over stated u\n", _table(*_rises(4 * repeats)), ""]
    parts += ["### The least steady rise that any test could find\n", _table(*_least_rises()), ""]
    parts += [
        "### No rise: share taken for one, share without a flag that doubts it\n",
        _table(*_no_rises(4 * repeats)),
        "",
    ]
    parts += ["### Flags\n", _table(*_flags(repeats)), ""]
    return "\n".join(parts)


def _against_peaks(repeats: int) -> tuple[list[str], list[list[str]]]:
    rows = []
    for rate in (1000.0, 5000.0, 20_000.0):
        for name in ("noise alone", "all three"):
            for noise in (0.05, 0.5):
                ours, plain = tally_blows(SEED, repeats, sample_rate_hz=rate, noise=noise, **CONDITIONS[name])
                rows.append([_rate(rate), name, f"{noise:g} %", _cell(ours), _cell(plain)])
    return ["", "condition", "noise", "Strikeproof", "find_peaks"], rows


def _coverage(repeats: int) -> tuple[list[str], list[list[str]]]:
    rows = []
    for rate in (20.0, 80.0, 1000.0, 10_000.0):
        for noise in (0.05, 0.2, 1.0):
            errors, stated = score_errors(SEED, repeats, sample_rate_hz=rate, noise=noise)
            z = np.abs(errors / stated)
            rows.append(
                [
                    _rate(rate),
                    f"{noise:g} %",
                    f"{np.sqrt(np.mean(errors**2)):.4f}",
                    f"{np.sqrt(np.mean(stated**2)):.4f}",
                    f"{(z < 1).mean():.2f}",
                    f"{(z < 1.96).mean():.2f}",
                ]
            )
    return ["", "noise", "rms error, %", "stated, %", "within 1 u", "within 1.96 u"], rows


def _others(repeats: int) -> tuple[list[str], list[list[str]]]:
    rows = []
    for name, extra in OTHER_RUNS.items():
        fixed = {"sample_rate_hz": 10_000.0, "noise": 0.2} | extra
        tally, _ = tally_blows(SEED, repeats, **fixed)
        errors, stated = score_errors(SEED, 2 * repeats, **fixed)
        z = np.abs(errors / stated)
        within = f"{(z < 1).mean():.2f} / {(z < 1.96).mean():.2f}"
        rows.append([name, _cell(tally), f"{np.sqrt(np.mean(errors**2)):.3f}", within, f"{z.max():.1f}"])
    return ["", "blows", "score: rms error, %", "within 1 u / 1.96 u", "worst error over u"], rows


SLOW_RATES_HZ = (10.0, 20.0, 50.0, 200.0, 2000.0, 20_000.0)


def _rises(repeats: int) -> tuple[list[str], list[list[str]]]:
    rows = []
    for quiet in (1.0, 2.0):
        for height in (10.0, 13.0, 20.0, -20.0, 170.0):
            cells = [_rise_cell(repeats, rate, height, quiet) for rate in SLOW_RATES_HZ]
            rows.append([f"{height:g} deviations, {quiet:g} s of zero before", *cells])
    for height in (10.0, 20.0):
        cells = [_rise_cell(repeats, rate, height, 2.0, length_s=12.0) for rate in SLOW_RATES_HZ]
        rows.append([f"{height:g} deviations, 2 s of zero before, the log ends with the rise", *cells])
    return ["steady, in 10 s", *map(_rate, SLOW_RATES_HZ)], rows


def _rise_cell(
    repeats: int, rate_hz: float, height: float, quiet_s: float, length_s: float = LENGTH_S
) -> str:
    rng = np.random.default_rng(SEED)
    settings = TraceSettings(direction="tighten" if height > 0 else "loosen")
    pulls = []
    for _ in range(repeats):
        rise = slow_rise(rng, rate_hz, height, quiet_s=quiet_s, length_s=length_s)
        facts = examine_trace(*rise, settings=settings)
        if facts.score is not None and facts.score_uncertainty is not None:
            pulls.append((facts.score - abs(height)) / facts.score_uncertainty)
    share = len(pulls) / repeats
    return f"{share:.2f}, {np.sqrt(np.mean(np.square(pulls))):.2f}" if pulls else f"{share:.2f}"


def _least_rises() -> tuple[list[str], list[list[str]]]:
    rows = []
    for length in (11.0, 12.0, 14.0, 20.0):
        cells = [f"{least_rise(length, 1 / rate, 10.0):.2g}" for rate in SLOW_RATES_HZ]
        rows.append([f"{length:g} s, a rise of 10 s in the middle", *cells])
    return ["deviations of a sample, in a log of", *map(_rate, SLOW_RATES_HZ)], rows


def _no_rises(repeats: int) -> tuple[list[str], list[list[str]]]:
    rows = []
    for kind in NO_RISES:
        cells = []
        for rate in SLOW_RATES_HZ:
            rng = np.random.default_rng(SEED)
            logs = [no_rise(rng, rate, kind) for _ in range(repeats)]
            found, plain = (
                np.mean([is_found(*log, warned=warned) for log in logs]) for warned in (True, False)
            )
            cells.append(f"{found:.2f}, {plain:.2f}" if found else "0")
        rows.append([kind, *cells])
    return ["a log of 14 s", *map(_rate, SLOW_RATES_HZ)], rows


def _flags(repeats: int) -> tuple[list[str], list[list[str]]]:
    cases = ((80.0, 0.1), (2000.0, 0.1), (10_000.0, 0.1), (10_000.0, 0.5))
    found = [flag_rates(SEED, repeats, rate, noise) for rate, noise in cases]
    rows = []
    for name, (wanted, _) in FAULTS.items():
        cells = []
        for each in found:
            share, others = each[name]
            false = ", ".join(f"{kind} {count / repeats:.2f}" for kind, count in sorted(others.items()))
            cells.append((f"{share:.2f}" if wanted else "–") + (f" (also {false})" if false else ""))
        rows.append([name, wanted or "none", *cells])
    return ["fault", "flag", *(f"{_rate(rate)}, {noise:g} %" for rate, noise in cases)], rows


BEGIN, END = "<!-- measured: begin -->", "<!-- measured: end -->"


def main() -> None:
    """Print the tables, or put them into docs/detector.md."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--repeats", type=int, default=12, help="simulated runs a cell")
    parser.add_argument("--write", action="store_true", help="replace the tables in docs/detector.md")
    asked = parser.parse_args()
    tables = write_tables(asked.repeats)
    if not asked.write:
        print(tables)
        return
    put_between(Path(__file__).parent.parent / "docs" / "detector.md", (BEGIN, END), f"\n{tables}")


if __name__ == "__main__":
    main()
