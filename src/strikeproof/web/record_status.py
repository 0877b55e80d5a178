"""What is said largest at the rig: the state in a word, what to do, and what the button does."""

from __future__ import annotations

from typing import Any, Final, Literal

from strikeproof.desk.recording.views import LineView, LiveScore, NextRun, Phase, StationView
from strikeproof.language import retold, say, write_figures
from strikeproof.quantity import write_number
from strikeproof.web.units import Units

__all__ = ["button_words", "second_words", "sentence", "signal_of", "status_words"]

Tone = Literal["calm", "armed", "live", "good", "bad", "wait"]

_SILENT_S: Final = 2.0
_BUTTONS: Final[dict[Phase, tuple[str, str | None, str]]] = {
    "recording": (say("End the run"), "stop", "calm"),
    "keeping": (say("Wait"), None, "calm"),
    "armed": (say("Not yet"), "disarm", "armed"),
    "no rig": (say("Waiting for the rig"), None, "calm"),
    "all done": (say("Plan one more block"), "add block", "calm"),
}
"""What the large button says, does and looks like; between runs it depends."""


def status_words(view: StationView, units: Units, me: str) -> dict[str, str]:
    """The one thing to know now, in a word or two, with what to do; the most pressing first."""
    phase, live = view.record.phase, view.record.live
    if phase == "recording":
        return _too_much(live, units) or _while_recorded(view.record.line, live)
    if phase == "keeping":
        wait = _said("wait", say("Saving"), say("The run is being saved and judged."))
        return _failed(view) or _too_much(live, units) or wait
    return (
        _spent_now(view)
        or _failed(view)
        or _trouble(view)
        or _armed(view, me)
        or _spent(view)
        or _after_a_run(view)
    )


Signal = Literal["", "ready", "release", "stop", "done", "repeat"]


def signal_of(view: StationView) -> Signal:
    """What a screen at the rig also sounds, where a person wants it: a code for what `status_words` says."""
    record = view.record
    live, last, runs = record.live, record.last, record.phase == "recording"
    between = record.phase not in ("armed", "recording", "keeping")
    is_lost = runs and (not record.line.plugged or record.line.silent_s >= _SILENT_S)
    is_beyond = live is not None and live.is_beyond
    is_spent = between and last is not None and bool(last.overload) and record.spent is not None
    is_good = last is not None and last.good and last.row.set_aside is None
    signals: tuple[tuple[bool, Signal], ...] = (
        (bool(record.failure) or is_beyond or is_lost or is_spent, "stop"),
        (record.phase == "armed", "ready"),
        (runs and live is not None and live.is_over, "release"),
        (between and view.undecided is not None, "repeat"),
        (between and is_good, "done"),
    )
    return next((signal for is_so, signal in signals if is_so), "")


def _failed(view: StationView) -> dict[str, str] | None:
    if not view.record.failure:
        return None
    detail = f"{sentence(view.record.failure)}."
    return _said("bad", say("Release trigger"), detail, say("Then go on, and report it."))


def _trouble(view: StationView) -> dict[str, str] | None:
    if view.unkept:
        return _said(
            "bad",
            say("Not saved"),
            sentence(view.unkept),
            say("Free some disk space, then press Save it now."),
        )
    if view.starting:
        return _said("wait", say("Starting"), say("A simulated rig is starting."), say("Wait a moment."))
    if view.record.phase == "no rig":
        return _no_rig(view.record.line)
    return _disk(view)


def _said(tone: Tone, title: str, detail: str = "", fix: str = "") -> dict[str, str]:
    return {"tone": tone, "title": title, "detail": detail, "fix": fix}


def _too_much(live: LiveScore | None, units: Units) -> dict[str, str] | None:
    if live is None or live.allowed is None or not live.is_beyond:
        return None
    most, unit = units.convert(live.allowed, live.level_unit)
    detail = say(
        "The level has passed {most} {unit}, the most for this bolt.", most=write_number(most, 3), unit=unit
    )
    return _said("bad", say("Stop"), detail, say("Release the trigger. Take the bolt out and use a new one."))


def _spent_now(view: StationView) -> dict[str, str] | None:
    """An overload in the run that was just made beats every other verdict, and problems with the rig."""
    last = view.record.last
    return _spent(view) if last is not None and last.overload else None


def _spent(view: StationView) -> dict[str, str] | None:
    spent = view.record.spent
    if spent is None:
        return None
    return _said(
        "bad",
        say("Stop"),
        say("Run {run}: {says}.", run=spent.run, says=spent.says),
        say("Take {called} out and use a new one.", called=spent.called),
    )


def _while_recorded(line: LineView, live: LiveScore | None) -> dict[str, str]:
    if not line.plugged:
        fix = say("Release the trigger; plug the rig in, and the run goes on.")
        return _said("bad", say("Unplugged"), line.trouble, fix)
    if line.silent_s >= _SILENT_S:
        fix = say("Release the trigger; check rig and cable.")
        return _said("bad", say("No signal"), line.trouble, fix)
    if live is not None and live.is_over:
        detail = say("The {duration_s} s are recorded.", duration_s=write_figures(f"{live.duration_s:g}"))
        return _said("armed", say("Time is up"), detail, say("Release the trigger."))
    return _said("live", say("Recording"), say("Keep hammering until it says time is up."))


def _no_rig(line: LineView) -> dict[str, str]:
    if line.port is None:
        return _said(
            "wait",
            say("No rig"),
            say("No port is chosen."),
            say("Choose the rig's port, or start a simulated rig."),
        )
    if not line.plugged:
        return _said(
            "bad",
            say("Unplugged"),
            say("{port} is not there.", port=line.port),
            say("Plug the rig in; it is connected again by itself."),
        )
    if line.silent_s >= _SILENT_S:
        detail = say(
            "Nothing has arrived from the rig for {silent_s} s.",
            silent_s=write_figures(f"{line.silent_s:.0f}"),
        )
        return _said("bad", say("No signal"), detail, say("Switch the rig on and check its cable."))
    if line.trouble:
        fix = say("Check the baud rate, or choose another port.")
        return _said("bad", say("Not understood"), f"{sentence(line.trouble)}.", fix)
    return _said(
        "wait",
        say("Checking"),
        say("The rig is connected; its signal is being checked."),
        say("Wait a moment."),
    )


def _disk(view: StationView) -> dict[str, str] | None:
    if view.short is None:
        return None
    free, needed = (f"{each / 1e6:.0f} MB" for each in view.short)
    return _said(
        "bad",
        say("Disk full"),
        say("{free} free; a run needs {needed}.", free=free, needed=needed),
        say("Free some disk space."),
    )


def _armed(view: StationView, me: str) -> dict[str, str] | None:
    if view.record.phase != "armed":
        return None
    detail = say("Recording starts with the first blow.")
    if view.armed_by and view.armed_by != me:
        detail = say("Started at another screen. Recording starts with the first blow.")
    return _said("armed", say("Hammer now"), detail)


def _after_a_run(view: StationView) -> dict[str, str]:
    last, onward = view.record.last, _onward(view.record.next)
    if last is not None and view.undecided is not None:
        return _said(
            "bad",
            say("Repeat"),
            say("Run {run}: {reason}.", run=last.run, reason=last.reason),
            say("Repeat it, or use it all the same."),
        )
    if last is not None and last.row.set_aside is not None:
        return _said(
            "calm",
            say("Next run"),
            say("Run {run} is excluded: {set_aside}.", run=last.run, set_aside=last.row.set_aside),
            onward,
        )
    if last is not None and last.overload:
        return _said(
            "calm",
            say("Next run"),
            say("The bolt was changed after the overload in run {run}.", run=last.run),
            onward,
        )
    if last is not None and last.good:
        title = say("Good") if last.outcome == "good" else say("Good, but")
        return _said(
            "good", title, say("Run {run}: {headline}.", run=last.run, headline=last.headline), onward
        )
    if view.record.phase == "all done":
        return _said(
            "good",
            say("All done"),
            say("Every planned run is recorded."),
            say("Compare, or plan one more block."),
        )
    return _said("calm", say("Next run"), say("The rig is connected."), onward)


def _onward(run: NextRun | None) -> str:
    if run is None:
        return say("Every planned run is recorded.")
    return (
        say("Once more with the same article.")
        if run.attempt > 1
        else say("Next: {article}.", article=run.row.article)
    )


def button_words(view: StationView) -> dict[str, Any]:
    """The one large button: what it says, what it does, and what it asks before."""
    record = view.record
    known = _BUTTONS.get(record.phase)
    asked_in = ("idle", "no rig") if record.last is not None and record.last.overload else ("idle",)
    if record.spent is not None and record.next is not None and record.phase in asked_in:
        return _press(say("Change the bolt"), "change bolt", tone="bad", suggest=record.spent.fresh)
    if view.undecided is not None:
        known = (say("Repeat"), "repeat", "bad")
    elif view.starting:
        known = (say("Wait"), None, "calm")
    elif record.phase == "no rig" and record.line.port is None:
        known = (say("Choose the rig"), "show rig", "calm")
    elif record.phase == "idle" and view.short is not None:
        known = (say("No room"), None, "calm")
    if known is None:
        return _arm(record.next)
    label, do, tone = known
    return _press(label, do, tone=tone)


def _arm(run: NextRun | None) -> dict[str, Any]:
    ask = ""
    if run is not None and run.cool_down_left_s > 0:
        ask = say("The tool is still cooling down. Press again to go on all the same")
    label = say("Ready to hammer")
    if run is not None and run.new_bolt:
        label = say("New bolt is in")
    elif run is not None and run.attempt > 1:
        label = say("Ready to repeat")
    return _press(label, "arm", tone="go", ask=ask)


def _press(
    label: str, do: str | None, *, tone: str = "calm", ask: str = "", suggest: str = ""
) -> dict[str, Any]:
    return {"label": label, "do": do, "tone": tone, "ask": ask, "suggest": suggest}


def second_words(view: StationView) -> dict[str, Any] | None:
    """The smaller button beside it, where there are two ways."""
    last = view.record.last
    if view.unkept:
        return {"label": say("Save it now"), "do": "recover", "with": []}
    if view.undecided is not None:
        return {"label": say("Use it all the same"), "do": "accept", "with": []}
    between = view.record.phase not in ("armed", "recording", "keeping")
    standing = view.record.standing
    if view.record.phase == "idle" and standing is not None and standing.asks:
        return {"label": say("Bolt is loose: use this as zero"), "do": "take zero", "with": []}
    if between and last is not None and last.was_cut and last.row.set_aside is not None:
        return {"label": say("Include {run}", run=last.run), "do": "put back", "with": [last.run]}
    return None


def sentence(text: str) -> str:
    """With a capital in front."""
    text = retold(text)
    return text[:1].upper() + text[1:]
