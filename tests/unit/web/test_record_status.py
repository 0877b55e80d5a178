"""What the recording page says and offers, from the recorder's codes and never from its sentences."""

from __future__ import annotations

from dataclasses import replace

import pytest

from strikeproof.campaign.records import RunRow
from strikeproof.desk.recording.views import (
    LineView,
    LiveScore,
    NextRun,
    Outcome,
    Phase,
    RecordView,
    RunVerdict,
    SpentBolt,
    Standing,
    StationView,
)
from strikeproof.desk.runs.flag_words import list_flags
from strikeproof.desk.safety.bolt_limit import BoltLimit
from strikeproof.language import retold_all, speaking
from strikeproof.web.record_status import button_words, second_words, signal_of, status_words
from strikeproof.web.record_words import screen_words, script_words
from strikeproof.web.units import Units

VERDICT = RunVerdict(
    row=RunRow("r001", "plain", "air", "1"),
    outcome="good",
    reason="",
    flags=(),
    details=(),
    score=120.0,
    unit="kN",
    standard_uncertainty=None,
    clamp_load_n=None,
    torque_n_m=None,
    blows=40,
    overload="",
)
PHASES_OF_A_RUN: tuple[Phase, ...] = ("recording", "keeping")
LINE = LineView("/dev/rig", True, "frames of int24", 1e4, 0.0, "", simulated=False)


def after(verdict: RunVerdict) -> StationView:
    """What a page is given between runs."""
    record = RecordView(
        campaign="drum rollers",
        phase="idle",
        line=LINE,
        next=None,
        again=None,
        spent=None,
        standing=None,
        undecided=None,
        hold=None,
        live=None,
        last=verdict,
        undo=None,
        messages=(),
        failure="",
        simulated=False,
        changes=1,
    )
    return StationView(
        record=record,
        undecided=None if verdict.good or verdict.row.set_aside else verdict.run,
        armed_by="",
        news=(),
        ports=(),
        simulated=False,
        left_s=0.0,
        short=None,
        recent=(),
        unkept="",
        starting=False,
    )


def test_the_title_follows_the_outcome() -> None:
    doubtful = replace(VERDICT, outcome="doubtful", reason="zero moved")
    clipped = replace(VERDICT, outcome="repeat", reason="clipped", flags=("clipped",))
    assert status_words(after(VERDICT), Units(), "")["title"] == "Good"
    assert status_words(after(doubtful), Units(), "")["title"] == "Good, but"
    said = status_words(after(clipped), Units(), "")
    assert (said["title"], said["detail"]) == ("Repeat", "Run r001: clipped.")


def test_a_recorder_that_failed_asks_to_release_the_trigger_before_all_else() -> None:
    view = after(VERDICT)
    failed = replace(view, record=replace(view.record, failure="the recorder failed and has started again"))
    said = status_words(failed, Units(), "")
    assert (said["title"], said["tone"]) == ("Release trigger", "bad")
    assert said["detail"] == "The recorder failed and has started again."


def test_a_run_that_was_cut_can_count_whatever_the_reason_says() -> None:
    cut = replace(VERDICT, outcome="repeat", reason="the recorder stopped", flags=("cut-short",))
    offered = second_words(after(replace(cut, row=replace(cut.row, set_aside="the recorder died"))))
    assert offered is not None and offered["do"] == "put back"
    assert (
        second_words(
            after(replace(VERDICT, row=replace(VERDICT.row, set_aside="cut short by the lunch bell")))
        )
        is None
    )


OVER = replace(VERDICT, overload="the bolt was loaded to 176 kN; 152 kN is allowed", flags=("overload",))
SPENT = SpentBolt("r001", "bolt-1", OVER.overload, "bolt-1-new-1")


@pytest.mark.parametrize("outcome", ["good", "doubtful", "repeat"])
@pytest.mark.parametrize("trouble", ["", "no rig", "disk"])
def test_an_overload_beats_every_other_verdict_until_the_bolt_is_changed(
    outcome: Outcome, trouble: str
) -> None:
    view = after(replace(OVER, outcome=outcome, reason="clipped"))
    view = replace(
        view,
        record=replace(view.record, spent=SPENT, phase="no rig" if trouble == "no rig" else "idle"),
        short=(1, 2) if trouble == "disk" else None,
    )
    said = status_words(view, Units(), "")
    assert (said["title"], said["tone"]) == ("Stop", "bad")
    assert "176 kN" in said["detail"]
    assert said["fix"] == "Take bolt 'bolt-1' out and use a new one."
    changed = status_words(replace(view, record=replace(view.record, spent=None)), Units(), "")
    assert changed["tone"] != "good", "an overload is never green"


def test_the_button_asks_for_the_new_bolt_and_does_not_arm() -> None:
    view = after(OVER)
    coming = NextRun(
        row=RunRow("r002", "ring", "air", "1", bolt="bolt-1"),
        planned="r002",
        attempt=1,
        place=2,
        total=4,
        done=1,
        bolt_use=1,
        bolt_budget=None,
        new_bolt=False,
        limit=BoltLimit(152e3, 0.75, 152.0, "kN", None),
        supply=None,
        cool_down_left_s=0.0,
        cautions=(),
    )
    held = button_words(replace(view, record=replace(view.record, spent=SPENT, next=coming)))
    assert (held["do"], held["suggest"]) == ("change bolt", "bolt-1-new-1")
    assert button_words(replace(view, record=replace(view.record, next=coming)))["do"] == "arm"
    shown = screen_words(replace(view, record=replace(view.record, spent=SPENT, next=coming)), Units(), "")
    assert (shown["run"]["bolt"], shown["run"]["use"]) == ("a new one", "to be named")
    used = replace(coming, bolt_use=27, bolt_budget=27)
    shown = screen_words(replace(view, record=replace(view.record, spent=None, next=used)), Units(), "")
    assert shown["run"]["use"] == "all 27 runs on it are used up", "never the 28th of 27"


def test_the_verdict_of_an_overload_is_not_good_in_green() -> None:
    words = screen_words(after(OVER), Units(), "")
    assert words["verdict"]["good"] is False
    assert words["verdict"]["headline"] == "bolt overloaded, otherwise good"


def test_beyond_the_limit_the_screen_says_stop_while_the_run_is_recorded() -> None:
    live = LiveScore("r001", 3.0, 10.0, 176.0, "kN", 176.0, "kN", 176.0, 152.0)
    view = after(VERDICT)
    for phase in PHASES_OF_A_RUN:
        said = status_words(replace(view, record=replace(view.record, phase=phase, live=live)), Units(), "")
        assert (said["title"], said["tone"]) == ("Stop", "bad")
        assert said["fix"].startswith("Release the trigger.")


@pytest.mark.parametrize(
    ("elapsed_s", "title"), [(2.9, "Recording"), (3.0, "Time is up"), (3.8, "Time is up")]
)
def test_once_the_window_is_over_the_screen_says_so_and_to_release_the_trigger(
    elapsed_s: float, title: str
) -> None:
    live = LiveScore("r001", elapsed_s, 3.0, 80.0, "kN", 80.0, "kN", 80.0, 152.0)
    view = after(VERDICT)
    said = status_words(replace(view, record=replace(view.record, phase="recording", live=live)), Units(), "")
    assert said["title"] == title
    assert ("Keep hammering" in said["detail"]) == (title == "Recording")
    assert said["fix"].startswith("Release the trigger.") == (title == "Time is up")


def test_a_signal_goes_with_what_the_screen_says_largest() -> None:
    view = after(VERDICT)
    live = LiveScore("r001", 1.0, 3.0, 80.0, "kN", 80.0, "kN", 80.0, 152.0)
    run = replace(view.record, phase="recording", live=live)
    gone = replace(LINE, plugged=False)
    heard = {
        "done": view,
        "repeat": replace(view, undecided="r001"),
        "ready": replace(view, record=replace(view.record, phase="armed")),
        "": replace(view, record=run),
        "release": replace(view, record=replace(run, live=replace(live, elapsed_s=3.0))),
        "stop": replace(view, record=replace(run, live=replace(live, highest=153.0))),
    }
    assert {name: signal_of(each) for name, each in heard.items()} == {name: name for name in heard}
    assert signal_of(replace(view, record=replace(run, line=gone))) == "stop"


def test_between_runs_the_screen_shows_what_stands_on_the_bolt() -> None:
    view = after(VERDICT)
    loaded = Standing(100.0, "kN", 731.25, 0.4, "reading", is_loaded=True, was_loaded=True, asks=False)
    shown = replace(view, record=replace(view.record, standing=loaded))
    words = screen_words(shown, Units(), "")
    live = words["live"]
    assert words["reading"] == {"typed": "731.25", "scatter": "0.40", "unit": ""}, "as the rig says it itself"
    assert (live["level"], live["level_unit"]) == ("100.0", "kN")
    assert second_words(shown) is None, "no button takes a zero that nobody asked for"
    asked = replace(view, record=replace(view.record, standing=replace(loaded, asks=True)))
    offered = second_words(asked)
    assert offered is not None and offered["do"] == "take zero"


def test_the_screen_is_in_the_language_of_the_person_who_looks() -> None:
    """The recorder makes its sentences before anybody knows who looks; each screen says them again."""
    reason = list_flags(["zero-moved", "late-start"])
    view = after(replace(VERDICT, outcome="doubtful", reason=reason, score=120.5))
    view = replace(
        view,
        record=replace(
            view.record, standing=Standing(1.25, "kN", 12.75, 0.4, "reading", False, False, False)
        ),
    )
    with speaking("de"):
        shown = retold_all(screen_words(view, Units(), ""))
    assert shown["status"]["title"] == "Gut, aber"
    assert shown["verdict"]["headline"] == "gut, aber: Nullpunkt verschoben, endet vor dem Zeitfenster"
    assert shown["live"]["level"] == "1,25" and ["Wertung", "120,5 kN"] in shown["verdict"]["numbers"]
    assert script_words("de")["Undo"] == "Rückgängig" and script_words("en") == {}
