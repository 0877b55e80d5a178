"""What is said largest at the rig: the state in a word, what to do, and what the button does."""

from __future__ import annotations

from typing import Any, Final, Literal

from strikeproof.desk.recording.views import LineView, LiveScore, NextRun, Phase, StationView
from strikeproof.quantity import write_number
from strikeproof.web.units import Units

__all__ = ["button_words", "second_words", "sentence", "status_words"]

Tone = Literal["calm", "armed", "live", "good", "bad", "wait"]

_SILENT_S: Final = 2.0
_BUTTONS: Final[dict[Phase, tuple[str, str | None, str]]] = {
    "recording": ("End the run", "stop", "calm"),
    "keeping": ("Wait", None, "calm"),
    "armed": ("Not yet", "disarm", "armed"),
    "no rig": ("Waiting for the rig", None, "calm"),
    "all done": ("Plan one more block", "add block", "calm"),
}
"""What the large button says, does and looks like; between runs it depends."""


def status_words(view: StationView, units: Units, me: str) -> dict[str, str]:
    """The one thing to know now, in a word or two, with what to do; the most pressing first."""
    phase, live = view.record.phase, view.record.live
    if phase == "recording":
        return _too_much(live, units) or _while_recorded(view.record.line, live)
    if phase == "keeping":
        wait = _said("wait", "Saving", "The run is being saved and judged.")
        return _failed(view) or _too_much(live, units) or wait
    return (
        _spent_now(view)
        or _failed(view)
        or _trouble(view)
        or _armed(view, me)
        or _spent(view)
        or _after_a_run(view)
    )


def _failed(view: StationView) -> dict[str, str] | None:
    if not view.record.failure:
        return None
    detail = f"{sentence(view.record.failure)}."
    return _said("bad", "Release trigger", detail, "Then go on, and report it.")


def _trouble(view: StationView) -> dict[str, str] | None:
    if view.unkept:
        return _said(
            "bad", "Not saved", sentence(view.unkept), "Free some disk space, then press Save it now."
        )
    if view.starting:
        return _said("wait", "Starting", "A simulated rig is starting.", "Wait a moment.")
    if view.record.phase == "no rig":
        return _no_rig(view.record.line)
    return _disk(view)


def _said(tone: Tone, title: str, detail: str = "", fix: str = "") -> dict[str, str]:
    return {"tone": tone, "title": title, "detail": detail, "fix": fix}


def _too_much(live: LiveScore | None, units: Units) -> dict[str, str] | None:
    if live is None or live.allowed is None or not live.is_beyond:
        return None
    most, unit = units.convert(live.allowed, live.level_unit)
    detail = f"The level has passed {write_number(most, 3)} {unit}, the most for this bolt."
    return _said("bad", "Stop", detail, "Release the trigger. Take the bolt out and use a new one.")


def _spent_now(view: StationView) -> dict[str, str] | None:
    """An overload in the run that was just made beats every other verdict, and problems with the rig."""
    last = view.record.last
    return _spent(view) if last is not None and last.overload else None


def _spent(view: StationView) -> dict[str, str] | None:
    spent = view.record.spent
    if spent is None:
        return None
    return _said(
        "bad", "Stop", f"Run {spent.run}: {spent.says}.", f"Take {spent.called} out and use a new one."
    )


def _while_recorded(line: LineView, live: LiveScore | None) -> dict[str, str]:
    if not line.plugged:
        fix = "Release the trigger; plug the rig in, and the run goes on."
        return _said("bad", "Unplugged", line.trouble, fix)
    if line.silent_s >= _SILENT_S:
        fix = "Release the trigger; check rig and cable."
        return _said("bad", "No signal", line.trouble, fix)
    if live is not None and live.is_over:
        detail = f"The {live.duration_s:g} s are recorded."
        return _said("armed", "Time is up", detail, "Release the trigger.")
    return _said("live", "Recording", "Keep hammering until it says time is up.")


def _no_rig(line: LineView) -> dict[str, str]:
    if line.port is None:
        return _said(
            "wait", "No rig", "No port is chosen.", "Choose the rig's port, or start a simulated rig."
        )
    if not line.plugged:
        return _said(
            "bad",
            "Unplugged",
            f"{line.port} is not there.",
            "Plug the rig in; it is connected again by itself.",
        )
    if line.silent_s >= _SILENT_S:
        detail = f"Nothing has arrived from the rig for {line.silent_s:.0f} s."
        return _said("bad", "No signal", detail, "Switch the rig on and check its cable.")
    if line.trouble:
        fix = "Check the baud rate, or choose another port."
        return _said("bad", "Not understood", f"{sentence(line.trouble)}.", fix)
    return _said("wait", "Checking", "The rig is connected; its signal is being checked.", "Wait a moment.")


def _disk(view: StationView) -> dict[str, str] | None:
    if view.short is None:
        return None
    free, needed = (f"{each / 1e6:.0f} MB" for each in view.short)
    return _said("bad", "Disk full", f"{free} free; a run needs {needed}.", "Free some disk space.")


def _armed(view: StationView, me: str) -> dict[str, str] | None:
    if view.record.phase != "armed":
        return None
    other = "Started at another screen. " if view.armed_by and view.armed_by != me else ""
    return _said("armed", "Hammer now", f"{other}Recording starts with the first blow.")


def _after_a_run(view: StationView) -> dict[str, str]:
    last, onward = view.record.last, _onward(view.record.next)
    if last is not None and view.undecided is not None:
        return _said("bad", "Repeat", f"Run {last.run}: {last.reason}.", "Repeat it, or use it all the same.")
    if last is not None and last.row.set_aside is not None:
        return _said("calm", "Next run", f"Run {last.run} is excluded: {last.row.set_aside}.", onward)
    if last is not None and last.overload:
        return _said(
            "calm", "Next run", f"The bolt was changed after the overload in run {last.run}.", onward
        )
    if last is not None and last.good:
        title = "Good" if last.outcome == "good" else "Good, but"
        return _said("good", title, f"Run {last.run}: {last.headline}.", onward)
    if view.record.phase == "all done":
        return _said("good", "All done", "Every planned run is recorded.", "Compare, or plan one more block.")
    return _said("calm", "Next run", "The rig is connected.", onward)


def _onward(run: NextRun | None) -> str:
    if run is None:
        return "Every planned run is recorded."
    return "Once more with the same article." if run.attempt > 1 else f"Next: {run.row.article}."


def button_words(view: StationView) -> dict[str, Any]:
    """The one large button: what it says, what it does, and what it asks before."""
    record = view.record
    known = _BUTTONS.get(record.phase)
    asked_in = ("idle", "no rig") if record.last is not None and record.last.overload else ("idle",)
    if record.spent is not None and record.next is not None and record.phase in asked_in:
        return _press("Change the bolt", "change bolt", tone="bad", suggest=record.spent.fresh)
    if view.undecided is not None:
        known = ("Repeat", "repeat", "bad")
    elif view.starting:
        known = ("Wait", None, "calm")
    elif record.phase == "no rig" and record.line.port is None:
        known = ("Choose the rig", "show rig", "calm")
    elif record.phase == "idle" and view.short is not None:
        known = ("No room", None, "calm")
    if known is None:
        return _arm(record.next)
    label, do, tone = known
    return _press(label, do, tone=tone)


def _arm(run: NextRun | None) -> dict[str, Any]:
    ask = ""
    if run is not None and run.cool_down_left_s > 0:
        ask = "The tool is still cooling down. Press again to go on all the same"
    label = "Ready to hammer"
    if run is not None and run.new_bolt:
        label = "New bolt is in"
    elif run is not None and run.attempt > 1:
        label = "Ready to repeat"
    return _press(label, "arm", tone="go", ask=ask)


def _press(
    label: str, do: str | None, *, tone: str = "calm", ask: str = "", suggest: str = ""
) -> dict[str, Any]:
    return {"label": label, "do": do, "tone": tone, "ask": ask, "suggest": suggest}


def second_words(view: StationView) -> dict[str, Any] | None:
    """The smaller button beside it, where there are two ways."""
    last = view.record.last
    if view.unkept:
        return {"label": "Save it now", "do": "recover", "with": []}
    if view.undecided is not None:
        return {"label": "Use it all the same", "do": "accept", "with": []}
    between = view.record.phase not in ("armed", "recording", "keeping")
    standing = view.record.standing
    if view.record.phase == "idle" and standing is not None and standing.asks:
        return {"label": "Bolt is loose: use this as zero", "do": "take zero", "with": []}
    if between and last is not None and last.was_cut and last.row.set_aside is not None:
        return {"label": f"Include {last.run}", "do": "put back", "with": [last.run]}
    return None


def sentence(text: str) -> str:
    """With a capital in front."""
    return text[:1].upper() + text[1:]
