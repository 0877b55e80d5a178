"""The sound of a run as a second witness: saved beside it, and compared with its trace."""

from __future__ import annotations

import secrets
import shutil
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

from strikeproof.desk.calibrating.worth import find_worth
from strikeproof.desk.loading.upload import INCOMING
from strikeproof.desk.runs.hearing import hear_file
from strikeproof.desk.runs.judged import judge_chosen
from strikeproof.desk.workspace.opening import open_campaign
from strikeproof.errors import StoreError
from strikeproof.quantity import write_number, write_uncertain
from strikeproof.trace import RunFacts, SoundCheck, SoundFacts, check_sound

__all__ = ["ListenOutcome", "listen", "listen_upload"]


@dataclass(frozen=True, slots=True, eq=False)
class ListenOutcome:
    """What a recording says of a run, what the run's trace does, and whether they agree."""

    run: str
    recording: str
    sound: SoundFacts
    trace: RunFacts | None
    check: SoundCheck
    notes: tuple[str, ...]

    def as_json(self) -> dict[str, Any]:
        """As the command line prints it."""
        sound, trace = self.sound, self.trace
        return {
            "run": self.run,
            "recording": self.recording,
            "verdict": self.check.verdict,
            "reasons": list(self.check.reasons),
            "sound": {
                "blows": sound.count,
                "blows_uncertainty": sound.count_uncertainty,
                "blow_rate_hz": sound.rate_hz,
                "blow_rate_uncertainty_hz": sound.rate_uncertainty,
                "regularity": sound.regularity,
                "reason": sound.reason,
                "flags": [str(flag) for flag in sound.flags],
                "length_s": sound.length_s,
                "sample_rate_hz": sound.sample_rate_hz,
            },
            "trace": None
            if trace is None
            else {
                "blows": int(trace.blow_times.size),
                "blow_rate_hz": trace.blow_rate_hz,
                "regularity": trace.blow_rate_cv,
            },
            "in_common": {key: value for key, value in asdict(self.check).items() if key not in _SAID},
            "remarks": [*self.check.remarks, *self.notes],
        }

    def lines(self) -> list[tuple[str, ...]]:
        """Rows for a terminal: sound against trace."""
        sound, trace = self.sound, self.trace
        blows = "–" if sound.count is None else write_uncertain(sound.count, sound.count_uncertainty)
        rate = "–" if sound.rate_hz is None else write_uncertain(sound.rate_hz, sound.rate_uncertainty)
        seen = trace is not None and trace.blow_times.size > 0
        return [
            ("", "sound", "trace"),
            ("blows", blows, str(trace.blow_times.size) if trace is not None and seen else "–"),
            ("blows a second", rate, write_number(trace.blow_rate_hz if trace else None, 4)),
            (
                "scatter of intervals",
                write_number(sound.regularity, 2),
                write_number(trace.blow_rate_cv if trace else None, 2),
            ),
        ]


_SAID = ("verdict", "reasons", "remarks")


def listen(workspace: Path, run: str, recording: Path, campaign: str | None = None) -> ListenOutcome:
    """Keep a recording beside a run and set it against the run's trace.

    The recording's bytes go into the workspace's originals; the same one again changes nothing.

    Raises
    ------
    BadFile
        If the recording is no sound file or cannot be read.
    StoreError, NotFound, BadInput
        If there is no such workspace, campaign or run, or it cannot be written.
    """
    store, key, found = open_campaign(workspace, campaign)
    stored = store.find_run(key, run)
    heard = hear_file(recording, store.originals)
    ((_judged, facts),) = judge_chosen(store, found, (stored,), find_worth(store, key, found))
    store.keep_sound(stored, (heard.digest, recording.name, heard.size))
    check = (
        SoundCheck("cannot tell", ("the run has no log",))
        if facts is None
        else check_sound(facts, heard.facts)
    )
    return ListenOutcome(run, recording.name, heard.facts, facts, check, heard.notes)


def listen_upload(workspace: Path, campaign: str | None, run: str, came: str, called: str) -> dict[str, Any]:
    """Keep a recording that came in beside a run; gives the verdict and a table of sound against trace.

    Parameters
    ----------
    came, called
        Under which name it came in, and what the person's file was called.

    Raises
    ------
    BadFile
        If it is no sound file.
    StoreError, NotFound, BadInput
        If it did not come, there is no such run, or the workspace cannot be written.
    """
    path = workspace / INCOMING / Path(came).name
    folder = path.with_name(secrets.token_hex(8))
    named = folder / (Path(called).name or "sound.wav")
    try:
        folder.mkdir()
        path.rename(named)
    except OSError as cause:
        folder.rmdir()
        raise StoreError("the sound did not come in", "send it again") from cause
    try:
        heard = listen(workspace, run, named, campaign)
    finally:
        shutil.rmtree(folder, ignore_errors=True)
    check = heard.check
    return {
        "run": run,
        "file": heard.recording,
        "verdict": check.verdict,
        "says": [*check.reasons, *check.remarks, *heard.notes],
        "rows": [list(each) for each in heard.lines()],
    }
