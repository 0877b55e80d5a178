"""What a person sees while recording: frozen pictures of one instant; light to import."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Final, Literal

from strikeproof.campaign.records import RunRow
from strikeproof.desk.safety.bolt_limit import BoltLimit
from strikeproof.language import say
from strikeproof.quantity import FloatArray

__all__ = [
    "MISHAPS",
    "Band",
    "Hold",
    "LineView",
    "LiveChart",
    "LiveScore",
    "NextRun",
    "Outcome",
    "Phase",
    "RecentRun",
    "RecordView",
    "RunVerdict",
    "SpentBolt",
    "Standing",
    "StationView",
    "plain",
]

Phase = Literal["no rig", "idle", "armed", "recording", "keeping", "all done"]
"""no rig: not connected, or nothing understood yet; armed: waits for the first blow; keeping: the run goes
into the store; all done: connected, and no run of the plan is open."""

Outcome = Literal["good", "doubtful", "repeat"]
"""What came of a run: good as it is; good, with a doubt worth saying; better made again."""

_CUTS: Final = {"unplugged", "cut-short"}
_HEADS: Final[dict[Outcome, str]] = {
    "good": say("good"),
    "doubtful": say("good, but: {reason}"),
    "repeat": say("repeat: {reason}"),
}


@dataclass(frozen=True, slots=True)
class LineView:
    """The rig's line.

    `speaks` is how the rig speaks, in words, None until it is known; `trouble` what is wrong, empty when
    nothing is; `silent_s` how long nothing came; `simulated` whether the rig says that its readings are.
    """

    port: str | None
    plugged: bool
    speaks: str | None
    rate_hz: float | None
    silent_s: float
    trouble: str
    simulated: bool


@dataclass(frozen=True, slots=True)
class SpentBolt:
    """A bolt that was overloaded, which nothing is armed on until a person names the new one.

    Parameters
    ----------
    run
        The run that overloaded it.
    bolt
        Its name, None where it has none.
    says
        How far it was loaded, and what is allowed.
    fresh
        What the new bolt may be called: as the plan has it, or the next free name.
    """

    run: str
    bolt: str | None
    says: str
    fresh: str

    @property
    def called(self) -> str:
        """The bolt as a sentence names it."""
        return say("bolt {bolt}", bolt=repr(self.bolt)) if self.bolt else say("the bolt")


@dataclass(frozen=True, slots=True)
class Standing:
    """What the rig shows between runs against the cell's own zero.

    `is_loaded` says that this is a load on the bolt, by the bolt's limit; `was_loaded` that there was one
    while the zero of the next run is taken; `asks` that arming was refused for a load, so that a person may
    say that the bolt is loose. `reading` is what the rig itself shows over the last half second, without zero
    or calibration, and `scatter` the standard deviation within it: what a calibration sheet takes.
    """

    level: float
    unit: str
    reading: float
    scatter: float
    reading_unit: str
    is_loaded: bool
    was_loaded: bool
    asks: bool


Hold = Literal["change bolt", "decide", "no run", "bolt changed", "stop", "loosen", "cool"]
"""Why nothing is armed unasked, the most pressing first: a spent bolt is in, a run is neither repeated nor
accepted, the plan is done, the bolt is to be changed, a caution says stop, the bolt is tight, the tool is
hot."""


@dataclass(frozen=True, slots=True)
class NextRun:
    """The run that arming will record.

    Parameters
    ----------
    row
        What it will be on the sheet; a second try of r012 is r012-2.
    planned
        The plan's name of it.
    place, total, done
        Its place in the plan from 1, the plan's length, and how many of it are done.
    bolt_use
        Runs that were made on this bolt before.
    new_bolt
        Whether the bolt has to be changed before it.
    limit
        What the bolt may carry, or why nothing watches for more.
    cool_down_left_s
        Until the tool has cooled down; 0 when it has. [s]
    """

    row: RunRow
    planned: str
    attempt: int
    place: int
    total: int
    done: int
    bolt_use: int
    bolt_budget: int | None
    new_bolt: bool
    limit: BoltLimit
    supply: str | None
    cool_down_left_s: float
    cautions: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class LiveScore:
    """The run that is being recorded, so far; `score` by the campaign's rule, None where it has none yet.

    `level` and `score` count from the reading before the run. `highest` is the highest level so far, from
    there or from the cell's own zero, whichever is more: a bolt may have been tight before. Of a bolt that
    is loosened it is the highest from the cell's own zero, None unless it rose. `allowed` is what the bolt
    may carry; both None where that is not known.
    """

    run: str
    elapsed_s: float
    duration_s: float
    level: float | None
    level_unit: str
    score: float | None
    score_unit: str
    highest: float | None
    allowed: float | None

    @property
    def is_beyond(self) -> bool:
        """Whether the load has passed what the bolt may carry."""
        return self.highest is not None and self.allowed is not None and self.highest > self.allowed

    @property
    def is_over(self) -> bool:
        """Whether the timed window has passed, so that no more hammering counts."""
        return self.elapsed_s >= self.duration_s


@dataclass(frozen=True, slots=True)
class RunVerdict:
    """What came of a run.

    `reason` says in a few words why an outcome is not plainly good; `details` has a sentence for each flag.
    `overload` says by how much the bolt was loaded beyond what it may carry, by the limit as it is or by an
    earlier one that still counts; empty where it was not.
    """

    row: RunRow
    outcome: Outcome
    reason: str
    flags: tuple[str, ...]
    details: tuple[str, ...]
    score: float | None
    unit: str
    standard_uncertainty: float | None
    clamp_load_n: float | None
    torque_n_m: float | None
    blows: int | None
    overload: str

    @property
    def run(self) -> str:
        """Its name."""
        return self.row.run

    @property
    def good(self) -> bool:
        """Whether the run may count as it is."""
        return self.outcome != "repeat"

    @property
    def was_cut(self) -> bool:
        """Whether the line or the recorder ended it before its time."""
        return self.outcome == "repeat" and bool(_CUTS & set(self.flags))

    @property
    def headline(self) -> str:
        """The outcome and its reason in words, such as "good, but: zero moved" or "repeat: clipped".

        An overload of the bolt comes before both.
        """
        said = say(_HEADS[self.outcome], reason=self.reason)
        return say("bolt overloaded, otherwise {said}", said=said) if self.overload else said


@dataclass(frozen=True, slots=True, eq=False)
class Band:
    """Earlier runs of an article that count: lowest, median and highest level over the time since the start.

    (k,) each; `runs` is how many they are.
    """

    time: FloatArray
    low: FloatArray
    middle: FloatArray
    high: FloatArray
    runs: int


@dataclass(frozen=True, slots=True, eq=False)
class LiveChart:
    """Lowest and highest level in each small stretch of time, (n,); nothing of a blow is lost.

    While a run is recorded, and after it, time counts from its first blow; before, it ends at 0, now. Levels
    are net of the reading before the run; between runs that tighten of the cell's own zero, where a bolt's
    limit is known.
    `run` is the run that is shown, None while there is none; `allowed` the level that the bolt may carry,
    less what it carried before the run, None where it is not known.
    """

    time: FloatArray
    low: FloatArray
    high: FloatArray
    unit: str
    run: str | None
    duration_s: float
    band: Band | None
    allowed: float | None


@dataclass(frozen=True, slots=True)
class RecordView:
    """Everything at one instant but the chart.

    Parameters
    ----------
    next
        The open run of the plan; None when all are done.
    again
        What comes next when the last run is repeated; None where its verdict asks for no repeat.
    spent
        The overloaded bolt that must be out before anything is armed; None when there is none.
    standing
        What the rig shows between runs; None while a run is recorded or the rig is silent.
    undecided
        The run made last, when it is to be repeated or accepted and nobody has said so yet.
    hold
        Why nothing is armed unasked now; None when nothing is in the way.
    live
        While a run is recorded or saved.
    last
        The run made last, since the start.
    undo
        What undoing would take back, in words; None when there is nothing.
    messages
        What happened, newest last: unplugging, false starts, recordings that were found cut short.
    failure
        How the recorder failed and started again, until the next arming or connecting; else empty.
    simulated
        Whether the campaign says that its runs are invented.
    changes
        Counts up whenever anything but clocks and the chart has changed.
    """

    campaign: str
    phase: Phase
    line: LineView
    next: NextRun | None
    again: NextRun | None
    spent: SpentBolt | None
    standing: Standing | None
    undecided: str | None
    hold: Hold | None
    live: LiveScore | None
    last: RunVerdict | None
    undo: str | None
    messages: tuple[str, ...]
    failure: str
    simulated: bool
    changes: int


def plain(view: Any) -> Any:
    """A view as JSON can hold it."""
    if hasattr(view, "__dataclass_fields__"):
        return {name: plain(getattr(view, name)) for name in view.__dataclass_fields__}
    if hasattr(view, "tolist"):
        return view.tolist()
    if isinstance(view, tuple):
        return [plain(each) for each in view]
    return view


MISHAPS: Final = {
    "spoil clipped": say("The next run clips"),
    "spoil short": say("The trigger is released half-way through the next run"),
    "spoil loose": say("In the next run the article is not fully on"),
    "unplug 3": say("Unplug for three seconds"),
    "garbage 2": say("Send nonsense for two seconds"),
    "clock-jump 5": say("The rig's clock jumps by five seconds"),
    "lose 20": say("Lose twenty frames"),
}
"""What a simulated rig can be asked to do, and what it does then."""


@dataclass(frozen=True, slots=True)
class RecentRun:
    """A run that was made, its verdict once that is known, and what a person said of it."""

    row: RunRow
    verdict: RunVerdict | None


@dataclass(frozen=True, slots=True)
class StationView:
    """All that a page shows but the chart.

    Parameters
    ----------
    undecided
        The run made last, when it is to be repeated or used and nobody has said so yet.
    armed_by
        Whoever armed, empty when nobody has.
    news
        What happened since the last run was armed, newest last.
    ports
        Serial ports of this machine with what the system says of them; looked for while none is open.
    simulated
        Whether the rig is simulated.
    short
        Free bytes and those needed, where the disk has no room for another run.
    recent
        The runs made last, newest first.
    unkept
        Why a run that was recorded could not be saved, until the next is armed or it is stored.
    starting
        Whether a simulated rig is being started.
    """

    record: RecordView
    undecided: str | None
    armed_by: str
    news: tuple[str, ...]
    ports: tuple[tuple[str, str], ...]
    simulated: bool
    left_s: float
    short: tuple[int, int] | None
    recent: tuple[RecentRun, ...]
    unkept: str
    starting: bool
