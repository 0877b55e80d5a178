"""What the recording page says and offers, from the recorder's codes and never from its sentences."""

from __future__ import annotations

from dataclasses import replace

from strikeproof.desk.record_views import LineView, RecordView, RunVerdict
from strikeproof.desk.station_view import StationView
from strikeproof.web.record_status import second_words, status_words
from strikeproof.web.units import Units

VERDICT = RunVerdict(
    run="r001",
    tool="air",
    article="plain",
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
    set_aside=None,
    note=None,
)
LINE = LineView("/dev/rig", True, "frames of int24", 1e4, 0.0, "", simulated=False)


def after(verdict: RunVerdict) -> StationView:
    """What a page is given between runs."""
    record = RecordView(
        campaign="drum rollers",
        phase="idle",
        line=LINE,
        next=None,
        again=None,
        live=None,
        last=verdict,
        undo=None,
        messages=(),
        simulated=False,
        changes=1,
    )
    return StationView(
        record=record,
        undecided=None if verdict.good or verdict.set_aside else verdict.run,
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


def test_a_run_that_was_cut_can_count_whatever_the_reason_says() -> None:
    cut = replace(VERDICT, outcome="repeat", reason="the recorder stopped", flags=("cut-short",))
    offered = second_words(after(replace(cut, set_aside="the recorder died")))
    assert offered is not None and offered["do"] == "put back"
    assert second_words(after(replace(VERDICT, set_aside="cut short by the lunch bell"))) is None
