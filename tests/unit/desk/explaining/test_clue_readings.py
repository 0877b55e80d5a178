"""Growth curves and peaks of a campaign with logs become clues of its evidence."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from tests.unit.desk.scores import Bench, load

from strikeproof.desk.explaining.clue_readings import SHARES, usual_peak
from strikeproof.desk.explaining.evidence import gather_evidence
from strikeproof.desk.loading.load import load_campaign
from strikeproof.desk.workspace.opening import open_campaign
from strikeproof.explain import Clue, Evidence

RATE, BLOWS_HZ, DURATION = 8000.0, 20.0, 2.0
CAMPAIGN = """\
[campaign]
name = "logged"
reference = "plain"
simulated = true
[protocol]
duration = "2 s"
[rig]
name = "bench"
channel = "load"
unit = "kN"
[[tool]]
name = "wrench"
mechanism = "air"
blow_rate_hz = 20
[[article]]
name = "plain"
polar_inertia_kg_m2 = 1e-4
[[article]]
name = "quick"
polar_inertia_kg_m2 = 2e-4
[runs]
sheet = "runs.csv"
"""
TRUE = {"plain": (1.0, 0.5, 500.0), "quick": (1.2, 0.3, 700.0)}
"""Level at the end over the reference's, time constant of the growth [s], peak torque [N·m]."""


def record(article: str, rng: np.random.Generator) -> str:
    """A log of a stepwise growth, and of a torque that pulses for a millisecond at every blow."""
    end, constant, peak = TRUE[article]
    time = np.arange(0.0, DURATION + 1.2, 1.0 / RATE)
    blow = np.floor((time - 0.5) * BLOWS_HZ + 1e-9)
    hit = (time >= 0.5) & (blow < DURATION * BLOWS_HZ + 2)
    count = np.clip(blow, -1.0, DURATION * BLOWS_HZ + 1)
    level = 100.0 * end * np.exp(rng.normal(0.0, 0.01)) * -np.expm1(-(count + 1.0) / BLOWS_HZ / constant)
    level = np.where(time >= 0.5, level, 0.0) + rng.normal(0.0, 0.05, time.size)
    since = time - 0.5 - blow / BLOWS_HZ
    torque = np.where(hit & (since < 1e-3), peak * np.sin(np.pi * 1e3 * since), 0.0)
    torque += rng.normal(0.0, 1.0, time.size)
    rows = (f"{t:.6f},{a:.3f},{b:.2f}" for t, a, b in zip(time, level, torque, strict=True))
    return "time [s],load [kN],torque [N m]\n" + "\n".join(rows) + "\n"


@pytest.fixture(scope="module")
def evidence(tmp_path_factory: pytest.TempPathFactory) -> Evidence:
    folder = tmp_path_factory.mktemp("logged")
    (folder / "logs").mkdir()
    (folder / "campaign.toml").write_text(CAMPAIGN)
    rng = np.random.default_rng(1)
    sheet = ["run,log,tool,article,block"]
    for block in range(3):
        for article in ("plain", "quick", "plain"):
            number = len(sheet)
            (folder / "logs" / f"{number}.csv").write_text(record(article, rng))
            sheet.append(f"r{number},{number}.csv,wrench,{article},{block}")
    (folder / "runs.csv").write_text("\n".join(sheet) + "\n")
    outcome = load_campaign(folder, folder / "workspace")
    assert not outcome.problems, outcome.problems
    return gather_evidence(*open_campaign(folder / "workspace", None)).evidence


def clue(evidence: Evidence, article: str, reading: object) -> Clue:
    return next(each for each in evidence.clues if (each.article, each.reading) == (article, reading))


def true_level(article: str, share: float) -> float:
    """Level after so much of the duration since the first blow, which has moved the level itself."""
    end, constant, _peak = TRUE[article]
    after = np.array([share * DURATION, DURATION]) + 1.0 / BLOWS_HZ
    early, late = -np.expm1(-after / constant)
    return float(end * early / late)


def test_growth_curves_are_read_at_their_shares(evidence: Evidence) -> None:
    for share in SHARES:
        shape = clue(evidence, "plain", share)
        assert shape.value == pytest.approx(np.log(true_level("plain", share)), abs=0.08)
        quick = clue(evidence, "quick", share)
        end = evidence.gains[0].log_gain
        early = np.log(true_level("quick", share) / true_level("plain", share))
        assert quick.value == pytest.approx(early - quick.carry * end, abs=0.05)


def test_peaks_are_read_where_a_torque_was_logged_fast_enough(evidence: Evidence) -> None:
    assert clue(evidence, "plain", "peak").value == pytest.approx(np.log(500.0), abs=0.02)
    quick = clue(evidence, "quick", "peak")
    wanted = np.log(1.4) - quick.carry * evidence.gains[0].log_gain
    assert quick.value == pytest.approx(wanted, abs=0.02)


def test_scores_alone_have_no_clues(tmp_path: Path) -> None:
    found = gather_evidence(*open_campaign(load(tmp_path, Bench()), None)).evidence
    assert found.clues == () and found.clue_covariance.shape == (0, 0)


def test_a_torque_without_blows_has_no_peak() -> None:
    time = np.arange(0.0, 1.0, 1e-4)
    assert usual_peak(time[:1], time[:1], 20.0) == 0.0
    assert usual_peak(time[:2000], np.sin(2e3 * time[:2000]), 20.0) == 0.0, "four stretches are too few"
