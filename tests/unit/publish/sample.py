"""An invented campaign of 200 simulated runs, judged by the real code; names and figures mean nothing."""

from __future__ import annotations

import hashlib
from dataclasses import replace
from functools import cache

import numpy as np

from strikeproof.campaign.records import (
    Article,
    Bolt,
    CalibrationSource,
    Campaign,
    Protocol,
    Rig,
    RunRow,
    ScoreRule,
    Tool,
)
from strikeproof.judge.budget import calibration_budget
from strikeproof.judge.calibration import fit_calibration
from strikeproof.judge.comparison import compare_runs
from strikeproof.judge.questions.answers import answer_runs
from strikeproof.judge.records import ScoredRun
from strikeproof.publish.report import Report, ReportRun

ARTICLES = {  # price and true gain in percent
    "plain-24": (14.0, 0.0),
    "deep-24": (19.5, 9.0),
    "heavy-24": (31.0, 14.0),
    "slim-24": (12.0, -7.0),
    "long-24 with adapter": (27.0, -14.0),
    "ring-24": (44.0, 16.5),
    "worn-24": (6.0, -2.0),
    "plain-24-b": (14.5, 0.3),
}
TOOLS = {"air-a": 92.0, "oil-b": 78.0}
BLOCKS = 11
TORQUE_PER_FORCE = 0.0031


def _score(rng: np.random.Generator, tool: str, article: str, order: int, drift: float) -> float:
    gain = ARTICLES[article][1]
    return float(TOOLS[tool] * (1 + gain / 100) * np.exp(drift * order + rng.normal(0.0, 0.014)))


def _growth(rng: np.random.Generator, end: float, blows: int) -> tuple[np.ndarray, np.ndarray]:
    time = np.sort(rng.normal(np.linspace(0.0, 10.0, blows), 0.004))
    rise = 1 - np.exp(-np.linspace(0.0, 10.0, blows) / rng.normal(3.1, 0.12))
    return np.clip(time, 0.0, 10.0), end * rise / rise[-1]


def _run(
    rng: np.random.Generator, tool: str, article: str, block: int, order: int, drift: float
) -> ReportRun:
    score = _score(rng, tool, article, order, drift)
    time, level = _growth(rng, score, 230)
    name = f"r{order:03d}"
    started = f"2026-03-02 {8 + order // 30:02d}:{2 * order % 60:02d}"
    return ReportRun(
        row=RunRow(name, article, tool, f"{block}", log=f"logs/{name}.csv", started=started),
        order=order,
        unit="kN",
        score=score,
        standard_uncertainty=0.35,
        clamp_load_n=score * 1000,
        torque_n_m=score * 1000 * TORQUE_PER_FORCE,
        blows=230,
        blow_rate_hz=23.0 + float(rng.normal(0, 0.2)),
        log_sha256=hashlib.sha256(name.encode()).hexdigest(),
        growth_time=time,
        growth_level=level,
    )


def _runs(rng: np.random.Generator, drift: float) -> list[ReportRun]:
    runs: list[ReportRun] = []
    for block in range(1, BLOCKS + 1):
        for tool in TOOLS:
            middle = [name for name in ARTICLES if name != "plain-24"]
            order = ["plain-24", *rng.permutation(middle), "plain-24"]
            for article in order:
                runs.append(_run(rng, tool, str(article), block, len(runs) + 1, drift))
    for article in ("deep-24", "slim-24"):
        runs.append(_run(rng, "air-a", article, BLOCKS, len(runs) + 1, drift))
    return runs


def _spoil(runs: list[ReportRun]) -> list[ReportRun]:
    """One run set aside, one beyond the calibration, one without blows, one with a long note."""
    runs[40] = replace(
        runs[40],
        score=0.62 * (runs[40].score or 1.0),
        growth_level=0.62 * runs[40].growth_level,
        row=replace(runs[40].row, set_aside="hose came off at four seconds"),
        flags=(("too-short", "hammering for 4.1 s of 10 s"),),
    )
    high = max(range(len(runs)), key=lambda place: runs[place].score or 0.0)
    runs[high] = replace(runs[high], only_ratio="above the highest applied value of the calibration")
    runs[90] = replace(
        runs[90],
        blows=None,
        blow_rate_hz=None,
        flags=(
            ("rate-too-low", "80 samples a second cannot show single blows; the score can still be read"),
        ),
    )
    note = "new hose fitted before this run, pressure read twice at the coupling"
    runs[91] = replace(runs[91], row=replace(runs[91].row, note=note))
    return runs


def _campaign() -> Campaign:
    return Campaign(
        name="24 mm sockets on the harvester bench",
        reference="plain-24",
        margin_percent=3.0,
        currency="EUR",
        protocol=Protocol(duration_s=10.0, score=ScoreRule("end")),
        rig=Rig("bench A", channel="load", unit="mV"),
        bolt=Bolt("M20x2.5", "10.9", friction=0.12),
        tools=(
            Tool("air-a", "air", 12.7, "6.2 bar"),
            Tool("oil-b", "oil-pulse", 12.7, "18 V"),
        ),
        articles=tuple(Article(name, price=price) for name, (price, _) in ARTICLES.items()),
        calibration=CalibrationSource("calibration.csv", "kN", 1.0),
        simulated=True,
    )


def _calibration(rng: np.random.Generator):  # type: ignore[no-untyped-def]  # the tuple says it
    up = np.linspace(0, 110, 12)
    applied = np.concatenate([up, up[::-1]] * 2)
    rising = np.tile(np.repeat([True, False], 12), 2)
    reading = (
        0.4 + 0.0915 * applied + 1.6e-5 * applied**2 + rng.normal(0, 0.012, applied.size) - 0.01 * rising
    )
    fit = fit_calibration(applied, np.round(reading, 3), rising=rising, repeat=np.repeat([1, 2], 24))
    return fit, calibration_budget(fit, at=90.0, reference_uncertainty_percent=1.0)


def _prices() -> dict[str, float]:
    return {name: price for name, (price, _) in ARTICLES.items()}


@cache
def sample_report(*, drift: float = -4e-5, seed: int = 7) -> Report:
    """The whole campaign; a strong `drift` (per run) puts the rig out of control."""
    rng = np.random.default_rng(seed)
    runs = _spoil(_runs(rng, drift))
    scored = [
        ScoredRun(
            r.row.run,
            r.row.article,
            r.row.tool,
            r.row.block,
            r.order,
            r.score or 0.0,
            set_aside=r.row.set_aside is not None,
        )
        for r in runs
    ]
    comparison = compare_runs(
        scored,
        reference="plain-24",
        margin_percent=3.0,
        rng=rng,
        draws=499,
        prices=_prices(),
    )
    fit, budget = _calibration(rng)
    return Report(
        campaign=_campaign(),
        comparison=comparison,
        runs=tuple(runs),
        quantity="clamp load at the end",
        unit="kN",
        level_quantity="clamp load",
        level_unit="kN",
        command="strikeproof report -w bench --campaign '24 mm sockets on the harvester bench' -o page.html",
        version="0.1.0",
        made="2026-03-04",
        calibration=fit,
        budget=budget,
        bolt=(
            ("Bolt", "M20x2.5, class 10.9"),
            ("Proof load", "203 kN"),
            ("Highest load in the test", "108 kN, 53 % of proof load"),
            ("Torque for clamp load", "3.10 N·m/kN at friction 0.12"),
        ),
        cautions=(
            "Wear eye, ear and hand protection; guard the rig against flying pieces.",
            "Impact-rated parts only; air pressure no higher than the tool’s rating.",
        ),
        hashes=tuple((run.row.log or "", run.log_sha256 or "") for run in runs),
        seed=seed,
        answers=answer_runs(scored, "plain-24", margin_percent=3.0, confidence=0.95, prices=_prices()),
    )
