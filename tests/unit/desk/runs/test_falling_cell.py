"""A cell that is calibrated as one whose reading falls under load gives the results of one that rises."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pytest
from tests.unit.desk.runs.test_overload import HEAD, judge, load

from strikeproof.desk.loading.bolt_audit import BoltAudit, audit_bolts
from strikeproof.desk.safety.bolt_limit import find_limit
from strikeproof.desk.workspace.opening import open_campaign
from strikeproof.trace import TracePlan, simulate_trace

SIGNS = (1.0, -1.0)
RUNS = {"low": 1.0, "over": 2.2}  # over 173 kN, which M24x2 of class 8.8 may carry
PER_KN = {"V": 0.05, "kN": 1.0}
NM_PER_KN = 3.5  # as friction 0.12 on that thread, near enough


def write(folder: Path, sign: float, unit: str, applied: str, *, loosens: bool = False) -> str:
    """Logs and a calibration sheet, all readings times `sign`; the run sheet's text."""
    scale, rng = PER_KN[unit], np.random.default_rng(7)
    (folder / "logs").mkdir(parents=True)
    lines = ["applied,reading,direction,repeat"]
    for repeat in (1, 2):
        for force in range(0, 241, 40):
            amount = force * NM_PER_KN if applied == "N m" else force
            reading = sign * scale * (force + rng.normal(0.0, 0.1))
            lines.append(f"{amount:g},{reading:.9g},up,{repeat}")
    (folder / "calibration.csv").write_text("\n".join(lines) + "\n")
    for name, factor in RUNS.items():
        plan = TracePlan(
            sample_rate_hz=250.0,
            length_s=9.0,
            start_s=2.5,
            hammer_s=4.3,
            window_s=4.0,
            zero=40.0 if loosens else 0.0,
            direction="loosen" if loosens else "tighten",
        )
        trace = simulate_trace(np.random.default_rng(3), plan=plan)
        reading = sign * scale * factor * trace.reading
        rows = np.column_stack([trace.time, reading])
        head = f"time [s],load [{unit}]"
        np.savetxt(folder / "logs" / f"{name}.csv", rows, "%.6f", ",", header=head, comments="")
    # a score on the sheet is a size, above zero
    typed = f"typed,,air,ring,2,b9,,,,{scale * 190:g}\n"
    return HEAD + "".join(f"{n},{n}.csv,air,plain,1,{n},,,,\n" for n in RUNS) + typed


def seen(folder: Path, sign: float, unit: str, applied: str, **changes: Any) -> dict[str, Any]:
    """What the program says of the runs and their bolts."""
    loosens = bool(changes.pop("loosens", False))
    sheet = write(folder / "campaign", sign, unit, applied, loosens=loosens)
    table = f'[calibration]\nsheet = "calibration.csv"\napplied_unit = "{applied}"'
    if loosens:
        changes["changes"] = (('duration = "4 s"', 'duration = "4 s"\ndirection = "loosen"'),)
    lab = load(folder, sheet, unit=unit, calibration=table, **changes)
    judged, audit = judge(lab), audit_bolts(*open_campaign(lab, None))
    assert isinstance(audit, BoltAudit)
    return {
        "unit": judged.unit,
        "limit": find_limit(judged.campaign, judged.worth).level,
        "ratio": [run.only_ratio is None for run in judged.runs],
        "flags": [sorted(flag.kind for flag in run.flags) for run in judged.runs],
        "score": [run.score for run in judged.runs],
        "force": [run.clamp_load_n for run in judged.runs],
        "over": {r.stored.row.run: r.overload.level for r in judged.runs if r.overload is not None},
        "loading": audit.names,
    }


@pytest.mark.parametrize(
    ("unit", "applied", "changes"),
    [
        ("kN", "N m", {}),
        ("V", "N m", {"score": "time to 200 N m"}),
        ("V", "kN", {"loosens": True}),
    ],
)
def test_a_falling_cell_says_what_a_rising_one_says(
    tmp_path: Path, unit: str, applied: str, changes: dict[str, Any]
) -> None:
    rising, falling = (seen(tmp_path / f"{sign:g}", sign, unit, applied, **changes) for sign in SIGNS)
    assert rising["over"].keys() >= {"over"}
    assert rising["loading"] == falling["loading"]
    for name in ("unit", "ratio", "flags"):
        assert rising[name] == falling[name]
    for name in ("score", "force"):
        values = [[np.nan if each is None else each for each in which[name]] for which in (rising, falling)]
        assert values[0] == pytest.approx(values[1], rel=1e-6, nan_ok=True)
    assert rising["over"] == pytest.approx(falling["over"], rel=1e-6)
    assert rising["limit"] == pytest.approx(falling["limit"], rel=1e-6)


def test_a_reading_that_rises_against_a_falling_calibration_is_flagged(tmp_path: Path) -> None:
    sheet = write(tmp_path / "campaign", -1.0, "V", "kN")
    for log in (tmp_path / "campaign" / "logs").iterdir():
        time, reading = np.loadtxt(log, delimiter=",", skiprows=1, unpack=True)
        np.savetxt(
            log, np.column_stack([time, -reading]), "%.6f", ",", header="time [s],load [V]", comments=""
        )
    table = '[calibration]\nsheet = "calibration.csv"\napplied_unit = "kN"'
    low, over, _typed = judge(load(tmp_path, sheet, unit="V", calibration=table)).runs
    assert "backwards" in {flag.kind for flag in low.flags}
    assert over.overload is not None
