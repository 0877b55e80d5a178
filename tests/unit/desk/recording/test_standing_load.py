"""A bolt that is tight before its run: arming waits for a loose one, each limit counts what it carries."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from tests.unit.desk.live_bench import CAMPAIGN, PtyRig, one_run, quiet, record_one, write_campaign

from strikeproof.cli.recording import _do, _go_on, _show
from strikeproof.desk.loading.load import load_campaign
from strikeproof.desk.recording.recorder import Recorder, open_recorder
from strikeproof.errors import BadInput

STANDING = 80.0  # kN on an M20 of class 10.9, of which 152 kN are allowed (ISO 898-1:2013, Table 5)


def test_a_tight_bolt_is_not_armed_on(
    recorder: Recorder, rig: PtyRig, capsys: pytest.CaptureFixture[str]
) -> None:
    rig.play(recorder, quiet(3.0, zero=STANDING))
    standing = recorder.view().standing
    assert standing is not None and standing.is_loaded and not standing.asks
    assert standing.level == pytest.approx(STANDING, abs=0.5)
    _show(recorder)
    assert "The bolt is under load: 80" in "".join(capsys.readouterr())
    with pytest.raises(BadInput, match=r"under load: the rig shows 80.* kN before the run"):
        recorder.arm()
    _do(recorder, "")
    assert "if the bolt is loose, type z" in "".join(capsys.readouterr())
    rig.play(recorder, quiet(3.0))
    standing = recorder.view().standing
    assert standing is not None and not standing.is_loaded and not standing.asks
    recorder.arm()


def test_a_zero_that_nobody_asked_for_is_not_taken(recorder: Recorder, rig: PtyRig) -> None:
    with pytest.raises(BadInput, match="zero is not asked for"):
        recorder.take_zero()


def test_a_zero_that_a_person_vouches_for_stays_with_every_run(recorder: Recorder, rig: PtyRig) -> None:
    rig.play(recorder, quiet(3.0, zero=STANDING))
    _do(recorder, "")
    _do(recorder, "z")
    for name in ("r001", "r002"):
        recorder.arm()
        trace = one_run().reading + (STANDING - 2.0)
        rig.play(recorder, np.r_[trace, quiet(3.0, zero=STANDING)])
        last = recorder.view().last
        assert last is not None and last.run == name
        assert "own-zero" in last.flags
        assert not {"overload", "begins-loaded"} & set(last.flags)
    rig.play(recorder, quiet(3.0, zero=2.0 * STANDING))
    with pytest.raises(BadInput, match="under load"):
        recorder.arm()


def test_a_load_that_comes_after_arming_counts_towards_the_stop(recorder: Recorder, rig: PtyRig) -> None:
    """Some 98 kN grow on 80 kN that were there: beyond the 152 kN that are allowed."""
    recorder.arm()
    recorder._watch.reset()
    rig.play(recorder, quiet(0.2, zero=STANDING))
    recorder.disarm()
    rig.play(recorder, quiet(3.0, zero=STANDING))
    recorder._must_be_loose = lambda: None  # type: ignore[method-assign]  # as if it had come a moment later
    recorder.arm()
    rig.play(recorder, (one_run().reading + STANDING - 2.0)[: round(2000 * 8.0)])
    live, chart = recorder.view().live, recorder.chart()
    assert live is not None and live.is_beyond
    assert live.level is not None and live.level < 110.0, "the score counts the growth alone"
    assert chart.allowed == pytest.approx(152.0 - STANDING, abs=1.5)
    recorder.stop()
    last = recorder.view().last
    assert last is not None and {"overload", "begins-loaded"} <= set(last.flags)


def test_an_arbitrary_reading_is_no_load(tmp_path: Path, rig: PtyRig) -> None:
    text = CAMPAIGN.replace('unit = "kN"', 'unit = "reading"')
    load_campaign(write_campaign(tmp_path / "campaign", text), tmp_path / "lab")
    with open_recorder(tmp_path / "lab") as recorder:
        recorder.connect(rig.port)
        rig.play(recorder, quiet(3.0, zero=STANDING))
        standing = recorder.view().standing
        assert standing is not None and not standing.is_loaded
        recorder.arm()
        rig.play(recorder, quiet(2.0, zero=0.0))
        assert "still under load at the start" in recorder.view().messages[-1]
        assert recorder.view().phase == "armed"


def test_what_goes_on_by_itself_waits_for_a_verdict_a_bolt_and_a_loose_bolt(
    recorder: Recorder, rig: PtyRig, capsys: pytest.CaptureFixture[str]
) -> None:
    assert recorder.view().hold == "bolt changed", "the first run is on a bolt that nobody put in yet"
    record_one(recorder, rig, hammer_s=1.5)
    view = recorder.view()
    assert view.last is not None and not view.last.good
    assert (view.undecided, view.hold) == ("r001", "decide")
    held = _go_on(recorder, view, "")
    assert _go_on(recorder, view, held) == held
    assert "".join(capsys.readouterr()).count("waiting") == 1
    recorder.book.accept()
    assert recorder.view().hold == "cool"
    rig.play(recorder, quiet(3.0, zero=STANDING))
    assert recorder.view().hold == "loosen"
