"""Commands of the live rig."""

from __future__ import annotations

import select
import sys
import time
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from strikeproof.cli.application import app
from strikeproof.cli.speaking import (
    AsJson,
    CampaignName,
    CampaignPath,
    RunName,
    Workspace,
    print_json,
    print_rows,
    say,
    show,
)
from strikeproof.errors import StrikeproofError

if TYPE_CHECKING:
    from strikeproof.desk.recording.recorder import Recorder
    from strikeproof.desk.recording.views import Hold, RecordView

__all__ = ["record", "simulated_rig"]

_KEYS = (
    "Enter: ready to hammer, or end the run   r [WHY]: repeat the last run   u: undo\n"
    "a RUN WHY: exclude a run   p RUN: include it again   n RUN TEXT: add to its note   n RUN -: delete it\n"
    "b [NAME]: new bolt   l WHY: leave out the next run   k: one more block   q: quit\n"
    "z: the bolt is loose, so what the rig shows is the cell's own zero"
)
_UNDER_WAY = {"armed": "hammer now:", "recording": "recording", "keeping": "saving"}
"""What a phase of a run is called, before the run's name."""

_HOLDS: dict[Hold, str] = {
    "decide": "waiting for you: r repeats {last}, Enter accepts it and goes on to the next run",
    "bolt changed": "waiting for the bolt: change it, then press Enter",
    "stop": "waiting: read the lines that say STOP; Enter goes on all the same",
    "loosen": "waiting until the bolt is loose",
}
"""What --auto waits for, and what ends that; the rest is said already where it is."""


@app.command()
def record(
    workspace: Workspace,
    port: Annotated[str, typer.Option(help="Serial port of the rig, such as /dev/ttyACM0.")],
    campaign: CampaignName = None,
    baud: Annotated[int, typer.Option(help="Baud rate of a real serial port.")] = 115_200,
    runs: Annotated[
        int, typer.Option(help="Number of runs to record; 0 records until the plan is done.")
    ] = 0,
    auto: Annotated[
        bool,
        typer.Option(
            "--auto",
            help="Start each run by itself once the tool is cool and the bolt loose. It still waits "
            "for a person when a run is to be repeated, a bolt to be changed, or a caution says stop.",
        ),
    ] = False,
) -> None:
    """Record the planned runs from a live rig; Enter is the button."""
    from strikeproof.desk.planning.sheet import expected_overloads, find_expected_of
    from strikeproof.desk.recording.recorder import open_recorder

    if stop := find_expected_of(workspace, campaign):
        say(f"! {stop}")
    with open_recorder(workspace, campaign) as recorder:
        recorder.book.expected = expected_overloads(workspace, campaign)
        recorder.connect(port, baud)
        recorder.run_in_background()
        show(_KEYS)
        _attend(recorder, runs=runs, auto=auto)


def _attend(recorder: Recorder, *, runs: int, auto: bool) -> None:
    """Show what happens and do what is typed, until the end."""
    shown: tuple[object, ...] = ()
    told, made, typing, beyond, over, held = 0, 0, True, "", "", ""
    while True:
        view = recorder.view()
        for message in view.messages[told:]:
            say(f"! {message}")
        told = len(view.messages)
        coming, last = view.next, view.last
        now = (
            view.phase,
            coming and view.phase != "keeping" and (coming.row.run, coming.row.bolt),  # it moves on meanwhile
            last and last.run,
            view.spent and view.spent.run,
        )
        if now != shown:
            if view.last is not None and (len(shown) < 3 or shown[2] != view.last.run):
                made += 1
            _show(recorder)
            shown, held = now, ""
        if view.phase == "all done" or (runs and made >= runs and view.phase == "idle"):
            return
        if view.live is not None and view.live.is_beyond and view.live.run != beyond:
            beyond = view.live.run
            say("! STOP: the load is beyond what the bolt may carry. Release the trigger.")
        if view.live is not None and view.live.is_over and view.live.run != over:
            over = view.live.run
            show(f"{over}: time is up. Release the trigger.", flush=True)
        if auto and view.phase == "idle":
            held = _go_on(recorder, view, held)
        if typing and select.select([sys.stdin], [], [], 0.1)[0]:
            line = sys.stdin.readline()
            typing = bool(line)
            if line.strip() == "q":
                return
            if line:
                _do(recorder, line.strip())
        else:
            time.sleep(0.0 if typing else 0.1)


def _go_on(recorder: Recorder, view: RecordView, held: str) -> str:
    """Arm unasked, or say once what must be answered first; returns what was said last."""
    if view.hold is None:
        _do(recorder, "")
        return ""
    words = _HOLDS.get(view.hold, "").format(last=view.undecided)
    if words and words != held:
        show(words, flush=True)
    return words or held


def _show(recorder: Recorder) -> None:
    from strikeproof.desk.recording.before_run import standing_words
    from strikeproof.desk.safety.bolt_limit import watch_words

    view = recorder.view()
    last, coming = view.last, view.next
    if view.phase in ("idle", "all done") and last is not None:
        score = "" if last.score is None else f", {last.score:.4g} {last.unit}"
        show(f"{last.run}  {last.headline}{score}", flush=True)
    if view.phase == "no rig":
        show(f"no rig: {view.line.trouble or 'checking the signal'}", flush=True)
    elif view.phase == "idle" and coming is not None:
        cool = f", cool down {coming.cool_down_left_s:.0f} s" if coming.cool_down_left_s else ""
        is_spent = view.spent is not None and view.spent.bolt == coming.row.bolt
        unnamed = "same bolt" if last is not None else "no bolt named yet"
        bolt = "a new bolt" if is_spent else coming.row.bolt or unnamed
        show(
            f"next {coming.row.run} ({coming.done} of {coming.total} done): {coming.row.tool}, "
            f"{coming.row.article}, {bolt}, {coming.supply or 'no supply given'}{cool}"
        )
        for caution in coming.cautions:
            show(f"  ! {caution}")
        if view.standing is not None and view.standing.is_loaded:
            show(f"  ! The bolt is under load: {standing_words(view.standing)}. Loosen it before the run.")
        _say_to_name_bolt(recorder)
        sys.stdout.flush()
    elif coming is not None:
        limit = watch_words(coming.limit) if view.phase == "armed" else ""
        run = coming.row.run if view.live is None else view.live.run  # the plan moves on while a run is saved
        show(f"{_UNDER_WAY.get(view.phase, view.phase)} {run}{limit and '. '}{limit}", flush=True)


def _say_to_name_bolt(recorder: Recorder) -> None:
    if recorder.view().spent is not None:
        say("! Name the new bolt once it is in: b NAME")


def _do(recorder: Recorder, line: str) -> None:
    """One line as typed; what cannot be done is reported."""
    word, _, rest = line.partition(" ")
    run, _, text = rest.partition(" ")
    book = recorder.book
    try:
        match word:
            case "" if recorder.view().phase == "recording":
                recorder.stop()
            case "":
                recorder.arm()
            case "z":
                show(f"{recorder.take_zero()} is used as the cell's own zero; the runs say so", flush=True)
            case "r":
                book.repeat(rest or None)
            case "u":
                show(f"undone: {book.undo() or 'nothing'}")
            case "a" | "p" | "n":
                show(_of_a_run(recorder, word, run, text.strip()), flush=True)
            case "b" | "l" | "k":
                show(_of_the_plan(recorder, word, rest), flush=True)
            case _:
                show(_KEYS)
    except StrikeproofError as wrong:
        say(f"! {wrong}")
        _say_to_name_bolt(recorder)
        standing = recorder.view().standing
        if standing is not None and standing.asks:
            say("! if the bolt is loose, type z: what the rig shows is then used as the cell's own zero")
        time.sleep(0.3)


def _of_a_run(recorder: Recorder, word: str, run: str, text: str) -> str:
    """What is decided or said of one run; returns what holds then."""
    if word == "a":
        recorder.book.set_aside(run, text)
        return f"{run} is excluded: {text}"
    if word == "p":
        recorder.book.put_back(run)
        return f"{run} is included again"
    return _note(recorder, run, text)


def _of_the_plan(recorder: Recorder, word: str, rest: str) -> str:
    """What is changed in the plan; returns what holds then."""
    book = recorder.book
    if word == "b":
        return f"bolt {book.change_bolt(rest or None)}"
    if word == "k":
        return f"planned {', '.join(book.add_block(_tool(recorder)))}"
    book.leave_out(rest)
    return "left out of the plan"


def _note(recorder: Recorder, run: str, text: str) -> str:
    """Add to a run's note, say it, or delete it; returns what its note is then."""
    book = recorder.book
    if text == "-":
        book.note(run, "")
        return f"{run} has no note now"
    if text:
        book.add_note(run, text)
    note = book.note_of(run)
    known = f"note of {run}: {note}" if note else f"{run} has no note"
    return known if text else f"{known} (n {run} TEXT adds to it, n {run} - deletes it)"


def _tool(recorder: Recorder) -> str:
    coming = recorder.view().next
    return coming.row.tool if coming else recorder.campaign.tools[0].name


@app.command("simulated-rig")
def simulated_rig(
    campaign: CampaignPath,
    speech: Annotated[str, typer.Option(help="What the rig sends: frames, numbers or stamped.")] = "frames",
    payload: Annotated[str, typer.Option(help="Numbers inside frames: int16, int24 or float32.")] = "int24",
    rate: Annotated[float, typer.Option(help="Samples a second. [Hz]")] = 10_000.0,
    pace: Annotated[
        float, typer.Option(help="How many times faster than real time; 0 sends as fast as it can be read.")
    ] = 1.0,
    seed: Annotated[int, typer.Option(help="Random seed.")] = 1,
    link: Annotated[
        Path | None, typer.Option(help="Path of a link to the port; it stays when the port is unplugged.")
    ] = None,
    every: Annotated[
        float, typer.Option(help="Start a run by itself at this interval; 0 waits for an announced run. [s]")
    ] = 0.0,
    wait: Annotated[float, typer.Option(help="Time from an announced run to its first blow. [s]")] = 1.5,
) -> None:
    """Act as a simulated rig on a pseudo-terminal until standard input ends."""
    from strikeproof.desk.simulating.rig import read_settings, run_simulated_rig

    settings = read_settings(
        campaign,
        speech,
        payload,
        rate_hz=rate,
        pace=pace,
        seed=seed,
        link=link,
        every_s=every,
        wait_s=wait,
    )
    run_simulated_rig(settings)


@app.command()
def listen(
    run: RunName,
    recording: Annotated[Path, typer.Argument(help="Sound file of the run (WAV), from any phone.")],
    workspace: Workspace,
    campaign: CampaignName = None,
    as_json: AsJson = False,
) -> None:
    """Compare the sound of a run with its trace, and store it with the run."""
    from strikeproof.desk.loading.listen import listen as hear

    outcome = hear(workspace, run, recording, campaign)
    if as_json:
        print_json(outcome)
        return
    print_rows(outcome.lines())
    show(outcome.check)
    for remark in (*outcome.check.remarks, *outcome.notes):
        show(f"! {remark}")
