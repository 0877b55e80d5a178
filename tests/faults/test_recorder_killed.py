"""A recorder that is killed, or whose disk is full, in mid-run: at most half a second is lost, and said."""

from __future__ import annotations

import os
import secrets
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from datetime import datetime
from pathlib import Path

import numpy as np
import pytest
from tests.unit.desk.live_bench import CAMPAIGN, write_campaign

from strikeproof.capture.recording import read_recording
from strikeproof.desk.loading.load import load_campaign
from strikeproof.desk.recording.recorder import open_recorder
from strikeproof.desk.simulating.rig import RigSettings
from strikeproof.desk.simulating.rig_process import RigProcess, start_rig
from strikeproof.desk.workspace.check import check_workspace

KILLS = int(os.environ.get("STRIKEPROOF_LIVE_KILLS", "3"))
MOST_LOST_S = 0.5
BUSY_S = 0.15  # for two cores that do other things: between the last sample and the kill that was asked for


@pytest.fixture(scope="module")
def campaign(tmp_path_factory: pytest.TempPathFactory) -> Path:
    text = CAMPAIGN  # without all that is waited for: a hot tool, a new bolt, an overload that is expected
    for words in ('cool_down = "30 s"', "runs_per_bolt = 4", 'class = "10.9"'):
        text = text.replace(words, "")
    return write_campaign(tmp_path_factory.mktemp("campaign") / "folder", text)


@pytest.fixture
def rig(campaign: Path) -> Iterator[RigProcess]:
    link = campaign.parent / "rig"
    with start_rig(RigSettings(campaign, rate_hz=20_000.0, link=link, wait_s=0.6)) as made:
        yield made


@pytest.fixture
def lab(campaign: Path, tmp_path: Path) -> Path:
    load_campaign(campaign, tmp_path / "lab")
    return tmp_path / "lab"


def start_recorder(lab: Path, port: str, largest_kb: int = 0) -> subprocess.Popen[str]:
    """`strikeproof record` that arms by itself, its files limited to so many kilobytes."""
    limit = ["bash", "-c", 'ulimit -f "$0"; exec "$@"', str(largest_kb)] if largest_kb else []
    words = "-m strikeproof record --auto --runs 1"
    return subprocess.Popen(
        [*limit, sys.executable, *words.split(), "-w", str(lab), "--port", port],
        stdin=subprocess.DEVNULL,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
    )


def wait_for(child: subprocess.Popen[str], word: str) -> str:
    """All that was said up to a line that begins with the word."""
    said = ""
    assert child.stdout is not None
    for line in child.stdout:
        said += line
        if line.startswith(word):
            return said
    raise AssertionError(said)


def end(child: subprocess.Popen[str], how: signal.Signals) -> datetime:
    """Send the signal and wait; returns when it was sent."""
    now = datetime.now().astimezone()
    child.send_signal(how)
    child.wait()
    if child.stdout is not None:
        child.stdout.close()
    return now


@pytest.mark.parametrize("number", range(KILLS))
def test_killed_at_a_random_moment_of_a_run_at_most_half_a_second_is_lost(
    lab: Path, rig: RigProcess, number: int
) -> None:
    seed = int(os.environ.get("STRIKEPROOF_SEED") or secrets.randbelow(2**32))
    print(f"seed {seed}: to have the same moment again, set STRIKEPROOF_SEED")
    child = start_recorder(lab, rig.port)
    wait_for(child, "recording")
    time.sleep(float(np.random.default_rng([seed, number]).uniform(0.3, 2.0)))
    killed = end(child, signal.SIGKILL)
    (log,) = (lab / "campaigns" / "drum-rollers" / "logs").glob("*.arrows")
    found = read_recording(log, log.read_bytes())
    assert found.ending is None
    last = datetime.fromisoformat(found.about["started"]).timestamp() + found.time[-1]
    lost = killed.timestamp() - last
    print(f"kill {number}: {lost:.3f} s lost")
    assert lost < MOST_LOST_S + BUSY_S
    with open_recorder(lab) as again:
        assert any("cut short" in message for message in again.view().messages)
        run = again.book.kept["r001"]
        assert run.trace is not None and run.trace.samples == len(found.time)
        assert "cut-short" in [each["kind"] for each in run.trace.findings]
        assert run.set_aside == "cut short: the recorder stopped"
        coming = again.view().next
        assert coming is not None and coming.row.run == "r001-2"
    assert check_workspace(lab).problems == ()


def test_a_disk_that_fills_in_mid_run_is_said_and_what_was_recorded_is_kept(
    lab: Path, rig: RigProcess
) -> None:
    child = start_recorder(lab, rig.port, largest_kb=1600)
    said = wait_for(child, "! ")
    while "cannot be recorded" not in said:
        said += wait_for(child, "! ")
    end(child, signal.SIGTERM)
    assert "free some disk space" in said
    with open_recorder(lab) as again:
        (run,) = again.book.kept.values()
        assert run.trace is not None and run.trace.samples > 60_000
        assert "cut-short" in [each["kind"] for each in run.trace.findings]
    assert check_workspace(lab).problems == ()
