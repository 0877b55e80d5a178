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

from strikeproof.language import say

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
    unread
        What is said before any result of runs that count with it, of their `{names}`: that their logs do not
        show what the rig did. Empty where nothing is.
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
    unread: str = ""


_SAY, _SPOILS = Severity.WORTH_SAYING, Severity.SPOILS

_IN_TELLING_ORDER: Final = (
    FlagKind(
        "overload",
        say("bolt beyond its allowed load"),
        say("the bolt was loaded beyond what it may carry"),
        say("Do not load this bolt again: take a new one, and look at the thread it was in."),
        rig=Severity.STOP,
    ),
    FlagKind(
        "bolt-overloaded",
        say("bolt was overloaded before"),
        say("an earlier run loaded the same bolt beyond what it may carry"),
        say("Use a new bolt: this one may have yielded, and its score may be off."),
        rig=_SAY,
    ),
    FlagKind(
        "begins-loaded",
        say("begins under load"),
        say("before the run the reading is as far off the cell's own zero as under load: the bolt was tight"),
        say(
            "Loosen the bolt before each run. If it was loose, that reading is the cell's own zero: give "
            "it as rig.zero, or calibrate the rig."
        ),
        score=_SPOILS,
        rig=_SPOILS,
        evidence=False,
    ),
    FlagKind(
        "off-zero",
        say("below the zero of the cell"),
        say("with the bolt loose the reading is far below the cell's own zero, which no load can make"),
        say(
            "Give as rig.zero what the rig shows with the bolt loose: until then an overload may be "
            "missed, or only seem to be one."
        ),
        score=_SAY,
        rig=_SAY,
    ),
    FlagKind(
        "not-examined",
        say("could not be examined"),
        say("the log cannot be worked through, so the run has no score"),
        say("Read what is wrong with the log; export it again, or exclude the run."),
        score=_SPOILS,
        rig=_SPOILS,
        evidence=False,
    ),
    FlagKind(
        "clipped",
        say("clipped"),
        say("the reading stays at its upper limit while the load should grow"),
        say("Widen the range of cell or amplifier, and repeat the run."),
        score=_SPOILS,
        rig=_SPOILS,
        evidence=False,
        hides_level=True,
        unread=say("cut off at a limit of rig or logger, so that the score may be too low: {names}"),
    ),
    FlagKind(
        "overflow-code",
        say("over its range"),
        say('values by which recorders say "over range"'),
        say("Widen the range of cell or amplifier, and repeat the run."),
        score=_SPOILS,
        rig=_SPOILS,
        evidence=False,
        hides_level=True,
    ),
    FlagKind(
        "no-hammering",
        say("no hammering"),
        say("no hammering in this log"),
        say("See that this is the run's log and the right channel."),
        score=_SPOILS,
        rig=_SPOILS,
        evidence=False,
        misses_window=True,
        unread=say("no hammering in the judged channel, so check that it is that of the load: {names}"),
    ),
    FlagKind(
        "no-zero",
        say("begins without a zero"),
        say("the log begins with hammering already on"),
        say("Log two seconds of quiet before the run, and repeat it."),
        score=_SPOILS,
        rig=_SPOILS,
        evidence=False,
        misses_window=True,
    ),
    FlagKind(
        "too-short",
        say("shorter than the window"),
        say("hammering or log shorter than the timed window"),
        say("Hammer through the complete window, and repeat the run."),
        score=_SPOILS,
        rig=_SPOILS,
        # evidence: what was hammered before it ended is sound, and is read only as far as it reaches
        misses_window=True,
    ),
    FlagKind(
        "late-start",
        say("ends before the window does"),
        say("hammering begins so late that the timed window runs past the log"),
        say("Hammer sooner or log for longer, and repeat the run."),
        score=_SPOILS,
        rig=_SPOILS,
        evidence=False,
        live_words=say("ended early"),  # a live recording begins with its run, so only its end is amiss
        misses_window=True,
    ),
    FlagKind(
        "dropout",
        say("samples missing"),
        say("samples missing, without a value, or frozen"),
        say("Check the cable and the logger, and repeat the run."),
        score=_SPOILS,
        rig=_SPOILS,
        evidence=False,
    ),
    FlagKind(
        "unplugged",
        say("line was unplugged"),
        say("of a live recording: the line was pulled out"),
        say("Fasten the plug, and repeat the run if its window is not complete."),
        score=_SAY,
        rig=_SPOILS,
        evidence=False,
        cause=say("the line broke"),
    ),
    FlagKind(
        "cut-short",
        say("recording was cut short"),
        say("of a live recording: it has no end, since the recorder was stopped"),
        say("Repeat the run if its window is not complete."),
        score=_SAY,
        rig=_SPOILS,
        cause=say("the recorder stopped"),
    ),
    FlagKind(
        "backwards",
        say("moves the wrong way"),
        say("the reading moves against the campaign's direction; it was turned round"),
        say("Check the tool's direction, protocol.direction, and the sign of the cell."),
        score=_SPOILS,
        rig=_SPOILS,
        evidence=False,
    ),
    FlagKind(
        "cut-off",
        say("file was cut off"),
        say("the file was not written to its end; what is there is read"),
        say("Export the log again."),
        score=_SPOILS,
        rig=_SPOILS,
        evidence=False,
    ),
    FlagKind(
        "scale",
        say("scale unlike the other runs"),
        say("zero, noise or range differ by orders of magnitude from the other runs of the rig"),
        say("Check the unit and the channel of this log, and the range of the amplifier."),
        score=_SPOILS,
        rig=_SPOILS,
        evidence=False,
        hides_level=True,
    ),
    FlagKind(
        "not-reached",
        say("level not reached"),
        say("of a score that is a time: the level was not reached in the timed window"),
        say(
            "It counts as later than its window; lengthen the window or lower the level where many runs "
            "do this."
        ),
        rig=_SAY,
    ),
    FlagKind(
        "zero-moved",
        say("zero moved"),
        say("zero differs before and after the run, or creeps before it"),
        say("Let the cell settle, and check how it is mounted."),
        score=_SAY,
        rig=_SAY,
    ),
    FlagKind(
        "maybe-drift",
        say("may be only drift"),
        say("a zero that drifts, swings or wanders explains the reading as well as a load that rises"),
        say(
            "See on the trace that the tool hammered. Log two seconds of quiet before and after, or log "
            "faster."
        ),
        score=_SAY,
        rig=_SAY,
        evidence=False,
    ),
    FlagKind(
        "own-zero",
        say("zero on a person's word"),
        say(
            "of a live recording: a person said that the bolt was loose, so that what the rig showed is "
            "its zero"
        ),
        say("Calibrate the rig, or give rig.zero, so that it can be checked."),
        score=_SAY,
    ),
    FlagKind(
        "one-step",
        say("one step, then nothing"),
        say("the reading goes up in one step and stays: a load that was put on at once looks the same"),
        say("See on the trace that the tool hammered, and that the bolt was not tight before."),
        score=_SAY,
        rig=_SAY,
        evidence=False,
    ),
    FlagKind(
        "flat",
        say("level flat for most of the window"),
        say("no blows are seen, and for more than half of the timed window the level does not rise"),
        say("See on the trace whether the trigger was released early: then repeat the run."),
        score=_SAY,
        rig=_SAY,
    ),
    FlagKind(
        "short-zero",
        say("too little zero for a small rise"),
        say("too few samples of zero to separate a small rise from a zero that drifts"),
        say("Log two seconds of quiet before the run and after it, or log faster."),
        rig=_SAY,
    ),
    FlagKind(
        "rate-off",
        say("blow rate unusual"),
        say("blow rate away from the tool's usual one"),
        say("Check the tool's supply, and the blow rate that the plan gives for it."),
        rig=_SAY,
    ),
    FlagKind(
        "missed-blows",
        say("blows missing"),
        say("holes in the train of blows"),
        say("Look at the trace; check the tool's supply."),
        rig=_SAY,
    ),
    FlagKind(
        "double-blows",
        say("double blows"),
        say("blows that follow the one before far too soon"),
        say("Look at the trace; see that the article is fully on."),
        rig=_SAY,
    ),
    FlagKind(
        "spikes",
        say("lone stray samples"),
        say("lone samples far off their neighbours, left out"),
        say("Check the cable's shield and plugs."),
        rig=_SAY,
    ),
    FlagKind(
        "clock-jump",
        say("clock jump"),
        say("of a live recording: the rig's clock jumped"),
        say("Check the rig's clock if it comes again."),
        score=_SAY,
        rig=_SAY,
        evidence=False,
    ),
    FlagKind(
        "only-ratio",
        say("ratio only, no calibrated value"),
        say("no calibration covers this reading: only ratios of it mean something"),
        say("Calibrate over the range and on the bolt of the runs."),
        rig=_SAY,
    ),
    FlagKind(
        "clipped-plateau",
        say("reading cut off flat"),
        say("a top or bottom cut off flat"),
        say("Look at the trace: repeat the run if it was clipped."),
        score=_SAY,
    ),
    FlagKind(
        "assumed",
        say("something was assumed"),
        say("what had to be assumed, such as the order of day and month, or the rate"),
        say("Read what was assumed; where it is wrong, export the log with it, or set rig.sample_rate_hz."),
    ),
    FlagKind(
        "backward-time",
        say("time ran backwards"),
        say("time stamps that go back"),
        say("Check the logger's clock."),
    ),
    FlagKind(
        "blows-faint",
        say("blows sink in the noise"),
        say("blows sink into the noise before hammering is over"),
        say("Log faster or filter less; the level counts all the same."),
    ),
    FlagKind(
        "gap",
        say("gap in the samples"),
        say("samples are missing"),
        say("Check the cable and the logger."),
    ),
    FlagKind(
        "garbage",
        say("garbage"),
        say("of a live recording: bytes that were no samples"),
        say("Check the cable and the baud rate."),
    ),
    FlagKind(
        "not-a-number",
        say("samples without a value"),
        say("cells that hold no number"),
        say("Check the cell's connection."),
    ),
    FlagKind(
        "rate-too-low",
        say("too few samples for single blows"),
        say("too few samples a second to see single blows"),
        say("Log faster; the level counts all the same."),
    ),
    FlagKind(
        "repeated-time",
        say("times repeated"),
        say("time stamps that do not go on; coarse stamps in a regular pattern are spread evenly"),
        say("Check the logger's clock, or export more digits of time."),
    ),
    FlagKind(
        "odd-name",
        say("odd characters in a name"),
        say(
            "names or units of columns held characters that no text may hold, or too many; these are left out"
        ),
        say("Give the channels plain names in the logger."),
    ),
    FlagKind(
        "score-only",
        say("a score, no log"),
        say("there is no log, only a score"),
        say("Load its log to have blows and growth checked."),
    ),
    FlagKind(
        "time-order",
        say("times out of order"),
        say("repeated or backward times, left out or sorted"),
        say("Check the logger's clock."),
    ),
    FlagKind(
        "overdriven",
        say("sound overdriven"),
        say("of a sound: it is overdriven; blows are counted all the same, loudness means nothing"),
        say("Record with less gain, or from further away."),
    ),
    FlagKind(
        "ends-early",
        say("sound ends early"),
        say("of a sound: it ends while the hammer still strikes"),
        say("Record until after the run."),
    ),
    FlagKind(
        "extra",
        say("extra sounds"),
        say("of a sound: some follow a blow far too soon, as second strikes or echoes do"),
        say("Record nearer to the tool, away from walls."),
    ),
    FlagKind(
        "holes",
        say("blows missing in the sound"),
        say("of a sound: expected blows are missing"),
        say("Record nearer to the tool."),
    ),
    FlagKind(
        "starts-late",
        say("sound starts late"),
        say("of a sound: it begins while the hammer strikes already"),
        say("Start the recording before the run."),
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
