"""Where a run is in a clip: by its sound, or as a person says."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

import numpy as np
import numpy.typing as npt

from strikeproof.campaign.bounds import Bounds
from strikeproof.campaign.gate import Job, read_each
from strikeproof.capture.clip import ClipFacts, opened_clip, read_clip, read_sound_of_clip
from strikeproof.errors import BadInput, StrikeproofError
from strikeproof.quantity import FloatArray
from strikeproof.trace import ClipSync, front_strength, sync_clip

__all__ = ["Mark", "SyncSaid", "parse_clap", "probe_clip", "sync_run"]

_SOUND_HZ: Final = 32_000
_MOST_S: Final = 1800.0
_CHUNK_S: Final = 30.0
_OVERLAP_S: Final = 0.25
_FARTHEST_S: Final = 86_400.0


@dataclass(frozen=True, slots=True)
class Mark:
    """What a person says: when the first blow strikes in the clip, or a clap in both clip and trace. [s]

    With a clap `trace_s` is its moment on the clock of the trace; None for the first blow.
    """

    clip_s: float
    trace_s: float | None = None


@dataclass(frozen=True, slots=True)
class SyncSaid:
    """First blow in the clip [s], seconds of the run for one of the clip, and how that was found."""

    first_blow_s: float
    pace: float
    by: str


def parse_clap(text: str) -> Mark:
    """`12.34:0.82`: a clap at 12.34 s of the clip that is at 0.82 s of the trace.

    Raises
    ------
    BadInput
        If it is not two numbers.
    """
    clip, _, trace = text.partition(":")
    try:
        mark = Mark(float(clip), float(trace))
    except ValueError:
        mark = Mark(float("nan"), float("nan"))
    return _checked(mark, "clap", "two times in seconds such as 12.34:0.82, in the clip and in the trace")


def _checked(mark: Mark, key: str, allowed: str) -> Mark:
    times = [mark.clip_s, *([] if mark.trace_s is None else [mark.trace_s])]
    if not all(np.isfinite(each) and abs(each) < _FARTHEST_S for each in times):
        raise BadInput(f"--{key} is no such time", where="film", allowed=allowed, key=key)
    return mark


def probe_clip(path: Path) -> ClipFacts:
    """What a clip is, read behind the gate.

    Raises
    ------
    BadFile
        If it cannot be read as a film.
    """
    facts: ClipFacts = _behind_gate(path, read_clip, 60.0)
    return facts


def sync_run(facts: ClipFacts, run: str, blows: FloatArray, start_s: float, mark: Mark | None) -> SyncSaid:
    """Where the first blow of a run is in a clip.

    Parameters
    ----------
    run
        Its name, for what is said.
    blows : (m,)
        When each blow struck on the trace's clock. [s]
    start_s
        The first blow on that clock. [s]
    mark
        What a person says; None to go by the sound.

    Raises
    ------
    BadInput
        If the sound does not surely say where, or there is none.
    BadFile
        If the sound cannot be read.
    """
    if mark is not None:
        _checked(mark, "offset", "seconds from the beginning of the clip")
        first = mark.clip_s if mark.trace_s is None else mark.clip_s + start_s - mark.trace_s
        return SyncSaid(first, 1.0, "by hand")
    if not facts.has_sound:
        raise _unsure(facts.path, run, "the clip has no sound", None)
    strength: npt.NDArray[np.float32] = _behind_gate(facts.path, _hear, 60.0 + 2.0 * facts.length_s)
    found: ClipSync = sync_clip(blows, strength.astype(np.float64))
    if not found.sure or found.first_blow_s is None:
        raise _unsure(facts.path, run, found.reason, found.first_blow_s)
    return SyncSaid(found.first_blow_s, found.clock_ratio, "by sound")


def _unsure(path: Path, run: str, why: str, guess: float | None) -> BadInput:
    near = "" if guess is None else f"; the best guess is {guess:.2f} s"
    return BadInput(
        f"it is not sure when run {run} begins in {path.name}: {why}{near}",
        where="film",
        allowed="a clip in whose sound the blows stand out",
        fix="give the moment of the first blow in the clip (--offset SECONDS), or a clap that both show "
        "(--clap CLIP:TRACE)",
        key="offset",
    )


def _behind_gate(path: Path, function: Callable[[Path], Any], seconds: float) -> Any:
    bounds = Bounds(1_500_000_000, seconds, 6.0 * seconds)
    (outcome,) = read_each([Job(path, function, (path,), bounds)])
    if isinstance(outcome, StrikeproofError):
        raise outcome
    return outcome


def _hear(path: Path) -> npt.NDArray[np.float32]:
    """Rises of the sound from time 0 of the pictures on, every `sound.STEP_S`; of half an hour at most."""
    with opened_clip(path) as container:
        total = np.zeros(0, np.float32)
        pieces: list[npt.NDArray[np.float32]] = []
        behind = 0
        for at, samples in read_sound_of_clip(container, _SOUND_HZ, "mono"):
            first = round(at * _SOUND_HZ)
            if first > behind:
                pieces.append(np.zeros((min(first, round(_MOST_S * _SOUND_HZ)) - behind, 1), np.float32))
            part = samples[max(behind - first, 0) :]
            pieces.append(part)
            behind = max(behind, first) + len(part)
            if behind > _MOST_S * _SOUND_HZ:
                break
        total = np.concatenate(pieces) if pieces else np.zeros((0, 1), np.float32)
    return _rises(total)


def _rises(sound: npt.NDArray[np.float32]) -> npt.NDArray[np.float32]:
    """Worked out stretch by stretch, so that a long film needs no more memory than a short one."""
    each, over = round(_CHUNK_S * _SOUND_HZ), round(_OVERLAP_S * _SOUND_HZ)
    step = _SOUND_HZ // 4000
    parts = []
    for first in range(0, max(len(sound) - over, 1), each):
        begin, end = max(first - over, 0), min(first + each + over, len(sound))
        if end - begin < over:
            break
        rises = front_strength(sound[begin:end].astype(np.float64), float(_SOUND_HZ))
        parts.append(rises[(first - begin) // step : (min(first + each, len(sound)) - begin) // step])
    return np.concatenate(parts).astype(np.float32) if parts else np.zeros(1, np.float32)
