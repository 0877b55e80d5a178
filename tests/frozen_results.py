"""Results on frozen inputs: whoever changes one raises the number of how results are made.

So no workspace goes on showing what an older program saved. After `SCORES` or `EXPLANATIONS` in
src/strikeproof/desk/workspace/results_version.py went up, this saves the new results:

    .venv/bin/python -m tests.frozen_results --write
"""

from __future__ import annotations

import argparse
import json
import math
import tempfile
from collections.abc import Mapping
from dataclasses import asdict, replace
from pathlib import Path
from typing import Any

import numpy as np

from strikeproof.campaign.records import ScoreRule
from strikeproof.desk.comparing.compare import compare_campaign
from strikeproof.desk.loading.load import load_campaign
from strikeproof.desk.workspace import results_version
from strikeproof.drivetrain import (
    BoltModel,
    RigModel,
    build_chain,
    complete_tool,
    plain_article,
    simulate_run,
)
from strikeproof.explain import Explanation, explain_campaign
from strikeproof.quantity import FloatArray
from strikeproof.trace import TracePlan, TraceSettings, examine_trace, hear_blows, simulate_trace

__all__ = [
    "CHAINS",
    "CHANGED",
    "ENGINE_RELATIVE",
    "SCORES_RELATIVE",
    "differences",
    "engine_results",
    "explained",
    "read_expected",
    "score_results",
]

FROZEN = Path(__file__).parent / "frozen"
CHANGED = """results on frozen inputs changed, so saved ones would be stale:
raise {name} in src/strikeproof/desk/workspace/results_version.py by one, then
    .venv/bin/python -m tests.frozen_results --write"""
STEP = 0.02  # of the frozen readings, which are whole numbers
SCORES_RELATIVE, ENGINE_RELATIVE = 1e-9, 1e-6
CHAINS = {"relative": 0.01, "absolute": 0.2}  # chains may part by rounding on another machine

CAMPAIGN = """\
[campaign]
name = "frozen"
reference = "plain"
[protocol]
duration = "4 s"
seed = 5
{rule}
[rig]
unit = "{unit}"
[bolt]
thread = "M20x2.5"
class = "10.9"
friction = 0.12
{calibration}
[[tool]]
name = "air"
[[article]]
name = "plain"
[[article]]
name = "ring"
[runs]
sheet = "runs.csv"
logs = "logs"
"""
CALIBRATED = '[calibration]\nsheet = "calibration.csv"\napplied_unit = "kN"\n'
READINGS = ((0, 0.1), (30, 24.6), (60, 49.1), (90, 74.2), (120, 98.6), (150, 123.1), (180, 147.2))


def frozen_traces() -> dict[str, tuple[FloatArray, FloatArray]]:
    """Time and reading of each saved trace; its name ends in its rate. [S/s]"""
    with np.load(FROZEN / "traces.npz") as saved:
        return {
            name: (np.arange(saved[name].size) / float(name.rsplit("-", 1)[1]), STEP * saved[name])
            for name in sorted(saved.files)
        }


def score_results(folder: Path) -> dict[str, Any]:
    """Every figure that a score, a flag or a comparison of the frozen inputs consists of."""
    rules = {"end": TraceSettings(duration_s=4.0)} | {
        kind: TraceSettings(score=rule, duration_s=4.0, level_reading=40.0)
        for kind, rule in {
            "at": ScoreRule("at", at_s=2.0),
            "peak": ScoreRule("peak"),
            "time to": ScoreRule("time to", level=40.0, level_unit="kN"),
        }.items()
    }
    found: dict[str, Any] = {}
    for name, (time, reading) in frozen_traces().items():
        for kind, settings in rules.items():
            way = "loosen" if name.startswith("falling") else "tighten"
            facts = examine_trace(time, reading, settings=replace(settings, direction=way))
            found[f"{name}, {kind}"] = _of_facts(asdict(facts))
    found["a score at the end, calibrated"] = _campaign(folder / "end", "", "kN", CALIBRATED)
    rule = 'score = "time to 20 kN"'
    found["time to a load, read as torque"] = _campaign(folder / "time", rule, "N·m", "")
    found["a recording"] = _of_facts(asdict(hear_blows(_recording(), 8000.0)))
    return found


def _of_facts(facts: Mapping[str, Any]) -> dict[str, Any]:
    """Numbers as they are, arrays by how many, their mean and their last, flags by kind."""
    out: dict[str, Any] = {}
    for name, value in facts.items():
        if isinstance(value, np.ndarray):
            out[name] = [int(value.size), *([float(value.mean()), float(value[-1])] if value.size else [])]
        elif name == "flags":
            out[name] = sorted(flag["kind"] for flag in value)
        elif value is None or isinstance(value, int | float):
            out[name] = value
    return out


def _campaign(folder: Path, rule: str, unit: str, calibration: str) -> dict[str, Any]:
    source = folder / "campaign"
    (source / "logs").mkdir(parents=True)
    (source / "campaign.toml").write_text(CAMPAIGN.format(rule=rule, unit=unit, calibration=calibration))
    rows = [f"{applied},{reading},up,1" for applied, reading in READINGS]
    (source / "calibration.csv").write_text("\n".join(["applied,reading,direction,repeat", *rows]) + "\n")
    sheet = ["run,log,tool,article,block"]
    traces = [each for name, each in frozen_traces().items() if name.startswith("growing")]
    for number, (time, reading) in enumerate(traces * 2, start=1):
        factor = 1.0 + 0.06 * (number % 2) + 0.003 * number
        lines = [f"{t:.6f},{factor * value:.6f}" for t, value in zip(time, reading, strict=True)]
        (source / "logs" / f"{number}.csv").write_text(f"time [s],load [{unit}]\n" + "\n".join(lines) + "\n")
        sheet.append(f"{number},{number}.csv,air,{('ring', 'plain')[number % 2 == 0]},{(number + 1) // 2}")
    (source / "runs.csv").write_text("\n".join(sheet) + "\n")
    loaded = load_campaign(source, folder / "lab")
    assert not loaded.problems, loaded.problems
    compared = compare_campaign(folder / "lab")
    runs = {
        run.stored.row.run: {
            "score": run.score,
            "standard_uncertainty": run.standard_uncertainty,
            "clamp_load_n": run.clamp_load_n,
            "torque_n_m": run.torque_n_m,
            "flags": sorted(flag.kind for flag in run.flags),
        }
        for run in compared.judged.runs
    }
    results = [
        [each.gain_percent, each.low_percent, each.high_percent, each.p]
        for each in compared.comparison.results
    ]
    return {"unit": compared.judged.unit, "runs": runs, "results": results}


def _recording() -> FloatArray:
    """Bursts at 20 a second in noise, made by arithmetic alone."""
    time = np.arange(24_000) / 8000.0
    since = np.mod(time - 0.31, 0.05)
    noise = np.mod(np.arange(24_000) * 0.6180339887 + 0.37 * np.arange(24_000) ** 2, 1.0) - 0.5
    bursts = np.exp(-since / 0.004) * np.sin(2 * np.pi * 1500 * since) * (time > 0.31)
    return np.asarray(0.4 * bursts + 0.01 * noise, dtype=np.float64)


def engine_results() -> dict[str, Any]:
    """What the drivetrain gives two articles on two tools: on it every explanation rests."""
    bolt, rig = BoltModel(2.5e-3, 9.19e-3, 13e-3), RigModel()
    found = {}
    for mechanism in ("air", "spring-and-cam"):
        tool = complete_tool("t", mechanism, 0.0127).tool
        for inertia in (6e-5, 5e-4):
            run = simulate_run(build_chain(tool, plain_article("p", inertia), bolt, rig), tool)
            found[f"{mechanism}, {inertia:g}"] = [
                run.end_load,
                int(run.clamp_load.size),
                float(run.peak_torque[-1]),
            ]
    return found


def explained(explanation: Explanation) -> dict[str, Any]:
    """An explanation's answer, in figures that its chance cannot move far."""
    return {
        "verdict": explanation.verdict,
        "weights": {each.name: round(each.weight, 3) for each in explanation.rivals},
        "articles": {each.article: each.predicted_percent for each in explanation.articles},
    }


def differences(
    found: Any, expected: Any, relative: float, absolute: float = 1e-12, at: str = ""
) -> list[str]:
    """Where two results differ, in words."""
    if isinstance(found, Mapping) and isinstance(expected, Mapping):
        names = [*expected, *(name for name in found if name not in expected)]
        missing = object()
        return [
            line
            for name in names
            for line in differences(
                found.get(name, missing), expected.get(name, missing), relative, absolute, f"{at} / {name}"
            )
        ]
    if isinstance(found, list | tuple) and isinstance(expected, list | tuple) and len(found) == len(expected):
        pairs = enumerate(zip(found, expected, strict=True))
        return [line for k, (a, b) in pairs for line in differences(a, b, relative, absolute, f"{at}[{k}]")]
    if isinstance(found, float | int) and isinstance(expected, float | int):
        same = math.isclose(found, expected, rel_tol=relative, abs_tol=absolute)
    else:
        same = found == expected
    return [] if same else [f"{at}: {expected!r} before, {found!r} now"]


def read_expected(which: str) -> dict[str, Any]:
    """The saved results, `scores` or `explanations`, with the `version` that they were made by."""
    found: dict[str, Any] = json.loads((FROZEN / f"{which}.json").read_text())
    return found


def _write_traces() -> None:
    """The inputs themselves: made once, and then never again."""
    rng = np.random.default_rng(20261201)
    made = {}
    for k, rate in enumerate((100, 500, 2000)):
        plan = TracePlan(
            sample_rate_hz=rate, length_s=6.5, start_s=1.5, hammer_s=4.4, window_s=4.0, growth_blows=40.0,
            final_level=90.0 + 7 * k, ring_share=0.02, noise=0.1,
        )  # fmt: skip
        made[f"growing-{k}-{rate}"] = simulate_trace(rng, plan=plan).reading
    for name, height, rate in (("rising", 51.0, 50), ("falling", -51.0, 200)):
        time = np.arange(7 * rate) / rate
        made[f"{name}-{rate}"] = (
            60 + height * np.clip((time - 2) / 4, 0, 1) + 0.3 * rng.standard_normal(time.size)
        )
    made["still-100"] = 0.3 * rng.standard_normal(600)
    saved = {name: np.round(each / STEP).astype(np.int16) for name, each in made.items()}
    np.savez_compressed(FROZEN / "traces.npz", **saved)  # type: ignore[arg-type]


def _save(which: str, version: int, results: Mapping[str, Any], relative: float) -> None:
    place = FROZEN / f"{which}.json"
    if place.exists():
        before = read_expected(which)
        if version == before["version"] and differences(results, before["results"], relative):
            raise SystemExit(f"{which}: results changed; first raise the number in results_version.py")
    text = json.dumps({"version": version, "results": results}, indent=1, sort_keys=True)
    place.write_text(text + "\n")


def main() -> None:
    """Save what the program finds now."""
    from tests.unit.explain.bench import measured

    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--write", action="store_true", required=True, help="replace the saved results")
    parser.parse_args()
    if not (FROZEN / "traces.npz").exists():
        _write_traces()
    with tempfile.TemporaryDirectory() as folder:
        _save("scores", results_version.SCORES, score_results(Path(folder)), SCORES_RELATIVE)
    explanation = explain_campaign(measured(), rng=np.random.default_rng(1), quick=True)
    results = {"engine": engine_results(), "explained": explained(explanation)}
    _save("explanations", results_version.EXPLANATIONS, results, ENGINE_RELATIVE)


if __name__ == "__main__":
    main()
