"""A campaign whose logs are binary files loads like any other, and may be judged by another channel later."""

from __future__ import annotations

from pathlib import Path

import h5py
import numpy as np
import pytest
from nptdms import ChannelObject, TdmsWriter

from strikeproof.campaign.store import open_store
from strikeproof.desk.loading.load import load_campaign

CAMPAIGN = """
[campaign]
name = "binary"
reference = "plain"
[rig]
channel = "{channel}"
unit = "kN"
[[tool]]
name = "air"
[[article]]
name = "plain"
"""
LOAD = 50.0 * np.tanh(np.arange(4000) / 800) + 0.1 * np.sin(np.arange(4000))
FORCE = 40.0 * np.tanh(np.arange(400) / 80)


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    (tmp_path / "logs").mkdir()
    fast = ChannelObject("fast", "load", LOAD, {"wf_increment": 1e-3, "unit_string": "kN"})
    slow = ChannelObject("slow", "force", FORCE, {"wf_increment": 1e-2, "unit_string": "N"})
    with TdmsWriter(tmp_path / "logs" / "1.tdms") as writer:
        writer.write_segment([fast, slow])
    with h5py.File(tmp_path / "logs" / "2.h5", "w") as file:
        for name, values, rate in (("fast/load", 0.9 * LOAD, 1000.0), ("slow/force", FORCE, 50.0)):
            file[name] = values
            file[name].attrs["sample_rate"] = rate
    (tmp_path / "runs.csv").write_text("run,log,article,block\na,1.tdms,plain,1\nb,2.h5,plain,1\n")
    return tmp_path


def _load(folder: Path, channel: str) -> tuple[int, int, int, int]:
    (folder / "campaign.toml").write_text(CAMPAIGN.format(channel=channel))
    outcome = load_campaign(folder, folder / "lab")
    return outcome.runs_loaded, outcome.runs_amended, outcome.runs_unchanged, len(outcome.problems)


def test_the_judged_channel_may_change_to_one_on_another_clock(folder: Path) -> None:
    assert _load(folder, "load") == (2, 0, 0, 0)
    assert _load(folder, "load") == (0, 0, 2, 0)
    assert _load(folder, "slow/force") == (0, 2, 0, 0)
    assert _load(folder, "torque") == (0, 0, 0, 2)
    assert _load(folder, "fast/load") == (0, 2, 0, 0)
    store = open_store(folder / "lab")
    for run, share in zip(store.runs(1), (1.0, 0.9), strict=True):
        assert run.trace is not None and run.trace.sample_rate_hz == pytest.approx(1000.0)
        assert [name for name, _unit in run.trace.channels] == ["fast/load"]
        np.testing.assert_allclose(store.samples(run.trace, "fast/load")[1], share * LOAD, rtol=1e-6)
