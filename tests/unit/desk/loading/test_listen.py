"""A run's sound beside its trace, by the command line, kept for good."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest
import soundfile
from tests.commands import strikeproof
from tests.sound_study import blow_train

from strikeproof.campaign.store import open_store
from strikeproof.desk.loading.listen import listen
from strikeproof.desk.loading.load import load_campaign
from strikeproof.desk.runs import sounds
from strikeproof.desk.runs.one_run import look_at_run
from strikeproof.desk.workspace.check import check_workspace
from strikeproof.errors import BadFile, NotFound
from strikeproof.plain_json import to_json
from strikeproof.trace import SoundPlan, TracePlan, record_blows, simulate_sound

CAMPAIGN = """
[campaign]
name = "heard"
reference = "plain"
[rig]
unit = "kN"
[[tool]]
name = "air"
[[article]]
name = "plain"
"""


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("heard")
    (folder / "logs").mkdir()
    rng = np.random.default_rng(5)
    times, levels = blow_train(rng, "air")
    trace = record_blows(rng, times, levels, plan=TracePlan(length_s=13.0, sample_rate_hz=5000.0))
    rows = "\n".join(f"{t:.4f},{v:.3f}" for t, v in zip(trace.time, trace.reading, strict=True))
    (folder / "logs" / "1.csv").write_text("time [s],load [kN]\n" + rows + "\n")
    sound = simulate_sound(rng, times, plan=SoundPlan(agc=True, loudest=3.0))
    soundfile.write(folder / "phone.wav", sound.samples, 48_000)
    soundfile.write(folder / "room.wav", 0.1 * rng.standard_normal(96_000).clip(-3, 3), 48_000)
    (folder / "campaign.toml").write_text(CAMPAIGN)
    (folder / "runs.csv").write_text("run,log,article,block,score\na,1.csv,plain,1,\nb,,plain,1,80\n")
    assert load_campaign(folder, folder / "lab").exit_code == 0
    return folder


def test_the_sound_of_a_run_agrees_and_is_kept(folder: Path) -> None:
    words = ("listen", "a", folder / "phone.wav", "-w", folder / "lab")
    said, _ = strikeproof(*words)
    assert "\nagrees\n" in said and "blows a second" in said
    told = json.loads(strikeproof(*words, "--json")[0])
    assert told["verdict"] == "agrees" and told["reasons"] == []
    assert told["sound"]["blows"] == told["trace"]["blows"] == told["in_common"]["matched"]
    store = open_store(folder / "lab")
    run = store.find_run(1, "a")
    assert [event.kind for event in store.history(run)].count("sound") == 1
    kept = store.originals / str(store.sound(run))
    assert kept.read_bytes() == (folder / "phone.wav").read_bytes()
    checked = check_workspace(folder / "lab")
    assert checked.problems == () and checked.leftovers == ()


def test_the_list_of_runs_tells_the_sound(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    workspace = folder / "lab"
    listen(workspace, "a", folder / "phone.wav")
    a, b = json.loads(strikeproof("runs", "-w", workspace, "--json")[0])
    assert (a["sound"]["recording"], a["sound"]["verdict"]) == ("phone.wav", "agrees")
    assert a["sound"]["blows"] == a["blows"] and a["sound"]["reasons"] == []
    assert b["sound"] is None
    # It is not listened to again: the run's page has it at once.
    monkeypatch.setattr(sounds, "hear_original", None)
    seen = look_at_run(workspace, None, "a").sound
    assert seen is not None and (seen.verdict, seen.blows) == ("agrees", a["blows"])
    assert look_at_run(workspace, None, "b").sound is None


def test_the_last_recording_counts_and_one_that_is_gone_stops_nobody(tmp_path: Path, folder: Path) -> None:
    workspace = tmp_path / "lab"
    load_campaign(folder, workspace)
    for name in ("phone.wav", "room.wav"):
        listen(workspace, "a", folder / name)
    told = look_at_run(workspace, None, "a").sound
    assert told is not None and (told.recording, told.verdict) == ("room.wav", "cannot tell")
    store = open_store(workspace)
    listen(workspace, "a", folder / "phone.wav")
    (store.originals / str(store.sound(store.find_run(1, "a")))).unlink()
    gone = look_at_run(workspace, None, "a").sound
    assert gone is not None and gone.verdict == "cannot tell" and gone.reasons


def test_what_cannot_be_told_says_why(folder: Path) -> None:
    noise = listen(folder / "lab", "a", folder / "room.wav")
    assert str(noise.check).startswith("cannot tell: no train of blows")
    without = listen(folder / "lab", "b", folder / "phone.wav")
    assert str(without.check) == "cannot tell: the run has no log"
    assert to_json(without)["trace"] is None and without.sound.count is not None
    with pytest.raises(BadFile, match="is no sound file"):
        listen(folder / "lab", "a", folder / "campaign.toml")
    with pytest.raises(NotFound):
        listen(folder / "lab", "c", folder / "phone.wav")
