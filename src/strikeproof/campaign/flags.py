"""Every flag that a run can have: how much it matters where, its words, and what to do.

The only list of flags there is. Files and JSON keep the code; whoever names, ranks or counts flags
reads it here.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from enum import IntEnum
from types import MappingProxyType
from typing import Final

__all__ = ["FLAGS", "OVERLOADS", "FlagKind", "Severity", "find_flag", "sort_flags"]


class Severity(IntEnum):
    """How much a flag matters; a greater one beats a lesser one."""

    NONE = 0
    WORTH_SAYING = 1
    SPOILS = 2
    STOP = 3
    """Someone may be hurt: said before anything else."""


@dataclass(frozen=True, slots=True)
class FlagKind:
    """What one code means.

    Parameters
    ----------
    code
        As files and JSON keep it.
    words, live_words
        What it is called; where it is called otherwise right after a live run, that too.
    meaning
        What is seen in the run or its file.
    fix
        What to do, in whole sentences.
    score
        What it does to the score where runs are compared: SPOILS names each such run that still counts beside
        the result, WORTH_SAYING names them together.
    rig
        What it does to the verdict right after a run: SPOILS asks for the run again.
    evidence
        Whether growth curve and peaks of such a run may still be read as extra evidence for an explanation.
    hides_level
        Whether the level may have been higher than what was read.
    misses_window
        Whether the timed window was not hammered or not logged in full.
    cause
        What broke, where this made the other flags of a run rather than followed from them.
    """

    code: str
    words: str
    meaning: str
    fix: str
    score: Severity = Severity.NONE
    rig: Severity = Severity.NONE
    evidence: bool = True
    live_words: str = ""
    hides_level: bool = False
    misses_window: bool = False
    cause: str = ""


_SAY, _SPOILS = Severity.WORTH_SAYING, Severity.SPOILS

_IN_TELLING_ORDER: Final = (
    FlagKind(
        "overload",
        "bolt beyond its allowed load",
        "the bolt was loaded beyond what it may carry",
        "Do not load this bolt again: take a new one, and look at the thread it was in.",
        rig=Severity.STOP,
    ),
    FlagKind(
        "bolt-overloaded",
        "bolt was overloaded before",
        "an earlier run loaded the same bolt beyond what it may carry",
        "Use a new bolt: this one may have yielded, and its score may be off.",
        rig=_SAY,
    ),
    FlagKind(
        "begins-loaded",
        "begins under load",
        "before the run the reading is as far off the cell's own zero as under load: the bolt was tight",
        "Loosen the bolt before each run. If it was loose, that reading is the cell's own zero: give it as "
        "rig.zero, or calibrate the rig.",
        score=_SPOILS,
        rig=_SPOILS,
        evidence=False,
    ),
    FlagKind(
        "off-zero",
        "below the zero of the cell",
        "with the bolt loose the reading is far below the cell's own zero, which no load can make",
        "Give as rig.zero what the rig shows with the bolt loose: until then an overload may be missed, or "
        "only seem to be one.",
        score=_SAY,
        rig=_SAY,
    ),
    FlagKind(
        "not-examined",
        "could not be examined",
        "the log cannot be worked through, so the run has no score",
        "Read what is wrong with the log; export it again, or exclude the run.",
        score=_SPOILS,
        rig=_SPOILS,
        evidence=False,
    ),
    FlagKind(
        "clipped",
        "clipped",
        "the reading stays at its upper limit while the load should grow",
        "Widen the range of cell or amplifier, and repeat the run.",
        score=_SPOILS,
        rig=_SPOILS,
        evidence=False,
        hides_level=True,
    ),
    FlagKind(
        "overflow-code",
        "over its range",
        'values by which recorders say "over range"',
        "Widen the range of cell or amplifier, and repeat the run.",
        score=_SPOILS,
        rig=_SPOILS,
        evidence=False,
        hides_level=True,
    ),
    FlagKind(
        "no-hammering",
        "no hammering",
        "no hammering in this log",
        "See that this is the run's log and the right channel.",
        score=_SPOILS,
        rig=_SPOILS,
        evidence=False,
        misses_window=True,
    ),
    FlagKind(
        "no-zero",
        "begins without a zero",
        "the log begins with hammering already on",
        "Log two seconds of quiet before the run, and repeat it.",
        score=_SPOILS,
        rig=_SPOILS,
        evidence=False,
        misses_window=True,
    ),
    FlagKind(
        "too-short",
        "shorter than the window",
        "hammering or log shorter than the timed window",
        "Hammer through the complete window, and repeat the run.",
        score=_SPOILS,
        rig=_SPOILS,
        # evidence: what was hammered before it ended is sound, and is read only as far as it reaches
        misses_window=True,
    ),
    FlagKind(
        "late-start",
        "ends before the window does",
        "hammering begins so late that the timed window runs past the log",
        "Hammer sooner or log for longer, and repeat the run.",
        score=_SPOILS,
        rig=_SPOILS,
        evidence=False,
        live_words="ended early",  # a live recording begins with its run, so only its end is amiss
        misses_window=True,
    ),
    FlagKind(
        "dropout",
        "samples missing",
        "samples missing, without a value, or frozen",
        "Check the cable and the logger, and repeat the run.",
        score=_SPOILS,
        rig=_SPOILS,
        evidence=False,
    ),
    FlagKind(
        "unplugged",
        "line was unplugged",
        "of a live recording: the line was pulled out",
        "Fasten the plug, and repeat the run if its window is not complete.",
        score=_SAY,
        rig=_SPOILS,
        evidence=False,
        cause="the line broke",
    ),
    FlagKind(
        "cut-short",
        "recording was cut short",
        "of a live recording: it has no end, since the recorder was stopped",
        "Repeat the run if its window is not complete.",
        score=_SAY,
        rig=_SPOILS,
        cause="the recorder stopped",
    ),
    FlagKind(
        "backwards",
        "moves the wrong way",
        "the reading moves against the campaign's direction; it was turned round",
        "Check the tool's direction, protocol.direction, and the sign of the cell.",
        score=_SPOILS,
        rig=_SPOILS,
        evidence=False,
    ),
    FlagKind(
        "cut-off",
        "file was cut off",
        "the file was not written to its end; what is there is read",
        "Export the log again.",
        score=_SPOILS,
        rig=_SPOILS,
        evidence=False,
    ),
    FlagKind(
        "scale",
        "scale unlike the other runs",
        "zero, noise or range differ by orders of magnitude from the other runs of the rig",
        "Check the unit and the channel of this log, and the range of the amplifier.",
        score=_SPOILS,
        rig=_SPOILS,
        evidence=False,
        hides_level=True,
    ),
    FlagKind(
        "not-reached",
        "level not reached",
        "of a score that is a time: the level was not reached in the timed window",
        "It counts as later than its window; lengthen the window or lower the level where many runs do this.",
        rig=_SAY,
    ),
    FlagKind(
        "zero-moved",
        "zero moved",
        "zero differs before and after the run, or creeps before it",
        "Let the cell settle, and check how it is mounted.",
        score=_SAY,
        rig=_SAY,
    ),
    FlagKind(
        "maybe-drift",
        "may be only drift",
        "a zero that drifts, swings or wanders explains the reading as well as a load that rises",
        "See on the trace that the tool hammered. Log two seconds of quiet before and after, or log faster.",
        score=_SAY,
        rig=_SAY,
        evidence=False,
    ),
    FlagKind(
        "own-zero",
        "zero on a person's word",
        "of a live recording: a person said that the bolt was loose, so that what the rig showed is its zero",
        "Calibrate the rig, or give rig.zero, so that it can be checked.",
        score=_SAY,
    ),
    FlagKind(
        "one-step",
        "one step, then nothing",
        "the reading goes up in one step and stays: a load that was put on at once looks the same",
        "See on the trace that the tool hammered, and that the bolt was not tight before.",
        score=_SAY,
        rig=_SAY,
        evidence=False,
    ),
    FlagKind(
        "flat",
        "level flat for most of the window",
        "no blows are seen, and for more than half of the timed window the level does not rise",
        "See on the trace whether the tool was let go early: then repeat the run.",
        score=_SAY,
        rig=_SAY,
    ),
    FlagKind(
        "short-zero",
        "too little zero for a small rise",
        "too few samples of zero to separate a small rise from a zero that drifts",
        "Log two seconds of quiet before the run and after it, or log faster.",
        rig=_SAY,
    ),
    FlagKind(
        "rate-off",
        "blow rate unusual",
        "blow rate away from the tool's usual one",
        "Check the tool's supply, and the blow rate that the plan gives for it.",
        rig=_SAY,
    ),
    FlagKind(
        "missed-blows",
        "blows missing",
        "holes in the train of blows",
        "Look at the trace; check the tool's supply.",
        rig=_SAY,
    ),
    FlagKind(
        "double-blows",
        "double blows",
        "blows that follow the one before far too soon",
        "Look at the trace; see that the article is fully on.",
        rig=_SAY,
    ),
    FlagKind(
        "spikes",
        "lone stray samples",
        "lone samples far off their neighbours, left out",
        "Check the cable's shield and plugs.",
        rig=_SAY,
    ),
    FlagKind(
        "clock-jump",
        "clock jump",
        "of a live recording: the rig's clock jumped",
        "Check the rig's clock if it comes again.",
        score=_SAY,
        rig=_SAY,
        evidence=False,
    ),
    FlagKind(
        "only-ratio",
        "ratio only, no calibrated value",
        "no calibration covers this reading: only ratios of it mean something",
        "Calibrate over the range and on the bolt of the runs.",
        rig=_SAY,
    ),
    FlagKind(
        "clipped-plateau",
        "stays at one reading",
        "a top or bottom cut off flat",
        "Look at the trace: repeat the run if it was clipped.",
        score=_SAY,
    ),
    FlagKind(
        "assumed",
        "something was assumed",
        "what had to be assumed, such as the order of day and month, or the rate",
        "Read what was assumed; where it is wrong, export the log with it, or set rig.sample_rate_hz.",
    ),
    FlagKind(
        "backward-time",
        "time ran backwards",
        "time stamps that go back",
        "Check the logger's clock.",
    ),
    FlagKind(
        "blows-faint",
        "blows sink in the noise",
        "blows sink into the noise before hammering is over",
        "Log faster or filter less; the level counts all the same.",
    ),
    FlagKind(
        "gap",
        "gap in the samples",
        "samples are missing",
        "Check the cable and the logger.",
    ),
    FlagKind(
        "garbage",
        "garbage",
        "of a live recording: bytes that were no samples",
        "Check the cable and the baud rate.",
    ),
    FlagKind(
        "not-a-number",
        "samples without a value",
        "cells that hold no number",
        "Check the cell's connection.",
    ),
    FlagKind(
        "rate-too-low",
        "too few samples for single blows",
        "too few samples a second to see single blows",
        "Log faster; the level counts all the same.",
    ),
    FlagKind(
        "repeated-time",
        "times repeated",
        "time stamps that do not go on; coarse stamps in a regular pattern are spread evenly",
        "Check the logger's clock, or export more digits of time.",
    ),
    FlagKind(
        "odd-name",
        "odd characters in a name",
        "names or units of columns held characters that no text may hold, or too many; these are left out",
        "Give the channels plain names in the logger.",
    ),
    FlagKind(
        "score-only",
        "a score, no log",
        "there is no log, only a score",
        "Load its log to have blows and growth checked.",
    ),
    FlagKind(
        "time-order",
        "times out of order",
        "repeated or backward times, left out or sorted",
        "Check the logger's clock.",
    ),
    FlagKind(
        "overdriven",
        "sound overdriven",
        "of a sound: it is overdriven; blows are counted all the same, loudness means nothing",
        "Record with less gain, or from further away.",
    ),
    FlagKind(
        "ends-early",
        "sound ends early",
        "of a sound: it ends while the hammer still strikes",
        "Record until after the run.",
    ),
    FlagKind(
        "extra",
        "extra sounds",
        "of a sound: some follow a blow far too soon, as second strikes or echoes do",
        "Record nearer to the tool, away from walls.",
    ),
    FlagKind(
        "holes",
        "blows missing in the sound",
        "of a sound: expected blows are missing",
        "Record nearer to the tool.",
    ),
    FlagKind(
        "starts-late",
        "sound starts late",
        "of a sound: it begins while the hammer strikes already",
        "Start the recording before the run.",
    ),
)

FLAGS: Final[Mapping[str, FlagKind]] = MappingProxyType({each.code: each for each in _IN_TELLING_ORDER})
"""By code, the most informative first."""
_PLACE: Final = {code: place for place, code in enumerate(FLAGS)}


def find_flag(code: str) -> FlagKind:
    """What a code means; one of a later version is still readable, and weighs nothing."""
    known = FLAGS.get(code)
    return known or FlagKind(code, code.replace("-", " "), "", "")


def sort_flags(codes: Iterable[str]) -> list[FlagKind]:
    """What each code means, the most informative first."""
    return [find_flag(code) for code in sorted(codes, key=lambda code: _PLACE.get(code, len(_PLACE)))]


OVERLOADS: Final = frozenset({"overload", "bolt-overloaded"})
"""What says that a bolt was beyond its limit: said in full, run by run, where others are only listed."""
