"""While a run is saved and judged: what was said of it stays, and what is said of it then is kept."""

from __future__ import annotations

from pathlib import Path

import pytest
from tests.unit.desk.live_bench import PtyRig, one_run, sheet

from strikeproof.cli.recording import _do, _show
from strikeproof.desk.recording.recorder import Recorder
from strikeproof.desk.recording.thread import StepThread
from strikeproof.desk.safety.cautions import Stop

NOTE = "new bolt; jaw slipped; and the guard was open"  # the first words are those of the plan


@pytest.fixture
def keeping(recorder: Recorder, rig: PtyRig, monkeypatch: pytest.MonkeyPatch) -> Recorder:
    """A recorder whose run went beyond the bolt's limit, has ended, and is still to be saved."""
    recorder.arm()
    rig.play(recorder, 2.0 + 2.0 * (one_run().reading[:9000] - 2.0))
    live = recorder.view().live
    assert live is not None and live.is_beyond
    monkeypatch.setattr(StepThread, "is_stepping", property(lambda _thread: True))
    recorder.stop()
    assert recorder.view().phase == "keeping"
    return recorder


def test_the_run_is_named_and_still_beyond_its_limit(
    keeping: Recorder, capsys: pytest.CaptureFixture[str]
) -> None:
    live = keeping.view().live
    assert live is not None and live.run == "r001" and live.is_beyond
    _show(keeping)
    assert "saving r001" in capsys.readouterr().out


def test_its_note_waits_for_it_and_adds_to_the_one_before(
    keeping: Recorder, lab: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    _do(keeping, "n r001 jaw slipped")
    _do(keeping, "n r001 and the guard was open")
    assert "note of r001: new bolt; jaw slipped; and the guard was open" in capsys.readouterr().out
    _do(keeping, "n r009 nothing of the kind")
    assert "r009" in capsys.readouterr().err
    keeping.step()
    assert keeping.view().phase != "keeping"
    assert keeping.book.kept["r001"].row.note == NOTE
    assert sheet(lab)[0]["note"] == NOTE
    _do(keeping, "n r001")
    said = capsys.readouterr().out
    assert "jaw slipped; and the guard was open" in said and "n r001 -" in said
    assert keeping.book.kept["r001"].row.note is not None, "an empty note deletes nothing"
    _do(keeping, "n r001 -")
    assert keeping.book.kept["r001"].row.note is None
    _do(keeping, "a r001 it slipped")
    _do(keeping, "p r001")
    said = capsys.readouterr().out
    assert "r001 is excluded: it slipped" in said and "r001 is included again" in said


def test_an_overload_that_is_expected_is_said_beside_its_run_and_not_armed_unasked(
    recorder: Recorder,
) -> None:
    coming = recorder.view().next
    assert coming is not None
    recorder.book.expected = {(coming.row.tool, coming.row.article): Stop("STOP: too much")}
    view = recorder.view()
    assert view.next is not None and view.next.cautions[0] == "STOP: too much"
    recorder.book.expected = {(coming.row.tool, "another"): Stop("STOP: too much")}
    view = recorder.view()
    assert view.next is not None and "STOP: too much" not in view.next.cautions
