"""At the rig a cell that is calibrated as one whose reading falls under load shows the load all the same."""

from __future__ import annotations

from pathlib import Path
from types import SimpleNamespace
from typing import Any, cast

import numpy as np
import pytest
from tests.unit.desk.live_bench import CAMPAIGN

from strikeproof.campaign.folder import read_campaign
from strikeproof.capture.buckets import Buckets
from strikeproof.desk.calibrating.calibration import calibrate_folder
from strikeproof.desk.calibrating.worth import Worth, level_in_readings
from strikeproof.desk.recording.before_run import see_standing
from strikeproof.desk.recording.rig import live_chart, live_score
from strikeproof.desk.safety.bolt_limit import find_limit

ZERO = 3.0  # of the cell, in volts


def live(folder: Path, sign: float, rule: str) -> tuple[Any, Any, Any]:
    """What the screen shows 4 s into a run up to 170 kN, where M20 of class 10.9 may carry 152 kN."""
    folder.mkdir()
    points = [f"{force},{ZERO + sign * force / 20:g}" for force in range(0, 201, 20)]
    (folder / "calibration.csv").write_text("applied,reading\n" + "\n".join(points) + "\n")
    text = CAMPAIGN.replace('unit = "kN"', 'unit = "V"').replace("[rig]", f'score = "{rule}"\n[rig]')
    text += '[calibration]\nsheet = "calibration.csv"\napplied_unit = "kN"\n'
    (folder / "campaign.toml").write_text(text)
    campaign, found = read_campaign(folder / "campaign.toml"), calibrate_folder(folder)
    worth = Worth("kN", "force", found, None, None, sign=found.sign)
    buckets, time = Buckets(), np.arange(0.0, 6.0, 0.002)
    buckets.add(time, ZERO + sign * np.clip((time - 2.0) * 42.5, 0.0, None) / 20.0)
    rig = cast("Any", SimpleNamespace(buckets=buckets, factor=1.0, zero=ZERO, now=6.0))
    watch = cast("Any", SimpleNamespace(began=2.0, calm=SimpleNamespace(zero=ZERO)))
    run = cast("Any", SimpleNamespace(run="r1"))
    level = level_in_readings(worth, campaign.protocol.score)
    shown = live_score(campaign, worth, level, run, watch, rig)
    chart = live_chart(campaign, worth, rig, watch, run, None, 5.0)
    assert find_limit(campaign, worth).level == shown.allowed
    return shown, chart, see_standing(campaign, worth, rig, asks=False)


@pytest.mark.parametrize("rule", ["end", "time to 100 kN"])
def test_the_live_watch_reads_a_falling_cell_as_a_rising_one(tmp_path: Path, rule: str) -> None:
    rising, falling = (live(tmp_path / f"{sign:g}", sign, rule) for sign in (1.0, -1.0))
    assert rising[0].is_beyond and falling[0].is_beyond
    for name in ("level", "score", "highest", "allowed"):
        assert getattr(falling[0], name) == pytest.approx(getattr(rising[0], name), rel=1e-6)
    assert falling[0].score == pytest.approx(169.0 if rule == "end" else 100.0 / 42.5, rel=0.02)
    assert falling[1].high == pytest.approx(rising[1].high, abs=1e-6)
    assert falling[2].is_loaded and falling[2].level == pytest.approx(rising[2].level)
