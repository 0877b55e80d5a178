"""The page of a run in a real browser tells what its recording says."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
import soundfile
from playwright.sync_api import Browser, expect
from tests.browser.web_bench import serving, settle, watching
from tests.sound_study import blow_train
from tests.unit.desk.loading.test_listen import CAMPAIGN

from strikeproof.desk.loading.listen import listen
from strikeproof.desk.loading.load import load_campaign
from strikeproof.trace import SoundPlan, TracePlan, record_blows, simulate_sound

pytestmark = pytest.mark.browser


def test_a_run_with_a_recording_says_whether_it_agrees(chromium: Browser, tmp_path: Path) -> None:
    rng = np.random.default_rng(5)
    times, levels = blow_train(rng, "air")
    trace = record_blows(rng, times, levels, plan=TracePlan(length_s=13.0, sample_rate_hz=5000.0))
    rows = "\n".join(f"{t:.4f},{v:.3f}" for t, v in zip(trace.time, trace.reading, strict=True))
    (tmp_path / "logs").mkdir()
    (tmp_path / "logs" / "1.csv").write_text("time [s],load [kN]\n" + rows + "\n")
    soundfile.write(tmp_path / "phone.wav", simulate_sound(rng, times, plan=SoundPlan()).samples, 48_000)
    (tmp_path / "campaign.toml").write_text(CAMPAIGN)
    (tmp_path / "runs.csv").write_text("run,log,article,block,score\na,1.csv,plain,1,\nb,,plain,1,80\n")
    workspace = tmp_path / "lab"
    load_campaign(tmp_path, workspace)
    listen(workspace, "a", tmp_path / "phone.wav")
    with serving(workspace) as server, watching(chromium, server) as watched:
        page = watched.go("/run?run=a")
        settle(page)
        section = page.locator("section", has=page.get_by_role("heading", name="Sound", exact=True))
        expect(section).to_contain_text("The sound agrees.")
        expect(section).to_contain_text("phone.wav")
        page = watched.go("/run?run=b")
        settle(page)
        expect(page.get_by_role("heading", name="History", exact=True)).to_be_visible()
        expect(page.get_by_role("heading", name="Sound", exact=True)).to_have_count(0)
