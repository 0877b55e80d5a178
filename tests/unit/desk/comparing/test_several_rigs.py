"""Runs of several rigs: each read by its own unit and calibration, never compared in units that differ."""

from __future__ import annotations

from pathlib import Path

import pytest

from strikeproof.desk.comparing.compare import ComparisonOutcome, compare_campaign, scored_runs
from strikeproof.desk.loading.load import load_campaign

CAMPAIGN = """
[campaign]
name = "two benches"
reference = "plain"
[rig]
name = "bench A"
unit = "kN"
[[other_rig]]
name = "bench B"
unit = "mV"
{calibration}
[[tool]]
name = "air"
[[article]]
name = "plain"
[[article]]
name = "ring"
"""
CALIBRATED = 'calibration = { sheet = "b.csv", applied_unit = "lbf" }'
POUND_FORCE = 4.4482216152605  # N, NIST SP 811, appendix B.8


def _load(folder: Path, calibration: str, rig: str = "bench B") -> tuple[str, ...]:
    """Bench B reads 2 mV for each 1000 lbf; both benches have blocks 1 to 4, and the same loads."""
    (folder / "campaign.toml").write_text(CAMPAIGN.format(calibration=calibration))
    steps = "".join(f"{1000 * i},{2 * i}\n" for i in range(31))
    (folder / "b.csv").write_text("applied,reading\n" + steps)
    rows = ["run,article,block,score,rig"]
    for i in range(16):
        article, on_b = ("plain", "ring")[(i + i // 2) % 2], i % 8 > 3
        load = (100.0 if article == "plain" else 110.0) * (1 + 0.002 * (i % 3))  # kN
        reading = 2 * load / POUND_FORCE if on_b else load
        rows.append(f"r{i},{article},{1 + i // 4},{reading:.5f},{rig if on_b else ''}")
    (folder / "runs.csv").write_text("\n".join(rows) + "\n")
    return tuple(map(str, load_campaign(folder, folder / "lab", relabel=True).problems))


def _gains(outcome: ComparisonOutcome) -> dict[str, float | None]:
    return {each.tool: each.gain_percent for each in outcome.comparison.results if each.article == "ring"}


def test_rigs_without_a_unit_in_common_are_compared_each_by_itself(tmp_path: Path) -> None:
    assert _load(tmp_path, "") == ()
    outcome = compare_campaign(tmp_path / "lab")
    assert _gains(outcome) == {"air": pytest.approx(10, abs=1), "air on bench B": pytest.approx(10, abs=1)}
    assert {run.stored.row.rig: run.unit for run in outcome.judged.runs} == {None: "kN", "bench B": "mV"}
    assert any("bench A in kN, bench B in mV" in each for each in outcome.warnings)
    assert outcome.as_json()["unit"] == "reading"


def test_with_a_calibration_both_are_in_one_unit_and_no_rig_is_in_a_difference(tmp_path: Path) -> None:
    assert _load(tmp_path, CALIBRATED) == ()
    outcome = compare_campaign(tmp_path / "lab")
    assert outcome.judged.unit == "kN" and set(_gains(outcome)) == {"air"}
    plain = [run.score for run in outcome.judged.runs if run.stored.row.article == "plain"]
    assert all(each == pytest.approx(100.2, abs=0.4) for each in plain)
    assert {each.block for each in scored_runs(outcome.judged)} == {
        "1", "2 on bench B", "3", "4 on bench B"
    }  # fmt: skip


def test_a_rig_that_nobody_declared_is_refused_with_its_line(tmp_path: Path) -> None:
    problems = _load(tmp_path, CALIBRATED, rig="bench b")
    assert len(problems) == 8 and "unknown rig 'bench b'" in problems[0] and "'bench B'" in problems[0]


def test_stored_runs_of_a_rig_that_is_gone_count_as_no_other_rigs(tmp_path: Path) -> None:
    _load(tmp_path, "")
    file = tmp_path / "campaign.toml"
    file.write_text(file.read_text().replace('name = "bench B"', 'name = "bench C"'))
    load_campaign(tmp_path, tmp_path / "lab")
    runs = compare_campaign(tmp_path / "lab").judged.runs
    lost = [run for run in runs if run.stored.row.rig == "bench B"]
    assert len(lost) == 8 and all(run.score is None for run in lost)
    assert "not-examined" in {flag.kind for flag in lost[0].flags}
