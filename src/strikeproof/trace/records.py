"""What a trace is asked and what it answers: frozen, complete when made."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from strikeproof.campaign.records import Direction, ScoreRule
from strikeproof.errors import BadInput
from strikeproof.quantity import FloatArray

__all__ = ["Flag", "RunFacts", "TraceSettings"]


@dataclass(frozen=True, slots=True)
class Flag:
    """One thing to know about a run before trusting it; `kind` is a code of `campaign.flags.FLAGS`."""

    kind: str
    detail: str

    def __str__(self) -> str:
        return f"{self.kind}: {self.detail}"


@dataclass(frozen=True, slots=True)
class TraceSettings:
    """What the campaign fixes about every run.

    Parameters
    ----------
    score
        The campaign's score rule.
    level_reading
        The level of a `time to` rule in reading units, net of zero. [reading]
    direction
        Whether the load should rise or fall.
    duration_s
        Length of the timed window, from the first blow. [s]
    nominal_blow_rate_hz
        The tool's usual blow rate, if known. [Hz]
    full_scale
        Reading at which the recorder saturates, if known. [reading]
    falls
        Whether the cell is known to read less under load.

    Raises
    ------
    BadInput
        If the duration is not above zero, or a rule lacks its time or level.
    """

    score: ScoreRule = field(default_factory=ScoreRule)
    level_reading: float | None = None
    direction: Direction = "tighten"
    duration_s: float = 10.0
    nominal_blow_rate_hz: float | None = None
    full_scale: float | None = None
    falls: bool = False

    def __post_init__(self) -> None:
        _must_be_positive("duration", self.duration_s)
        if self.nominal_blow_rate_hz is not None:
            _must_be_positive("blow rate", self.nominal_blow_rate_hz)
        if self.score.kind == "time to":
            _must_be_positive("level of the score rule", self.level_reading)
        if self.score.kind == "at":
            _must_be_positive("time of the score rule", self.score.at_s)


def _must_be_positive(what: str, value: float | None) -> None:
    if value is None or not np.isfinite(value) or value <= 0:
        raise BadInput(f"{what} is {value}", where="trace settings", allowed="a number above zero")


@dataclass(frozen=True, slots=True, eq=False)
class RunFacts:
    """What one trace shows. Levels are net of zero and positive in the campaign's direction.

    When loosening, the level is the drop from the reading before the start.

    Parameters
    ----------
    zero, zero_sd, zero_after
        Reading before the start, its scatter sample to sample, and the reading after the load was
        taken off again (None where that is not seen). [reading]
    start_s, end_s, duration_s
        First blow, last blow, and the time between, on the clock of the log; None where not seen. [s]
    blow_times, blow_steps, blow_levels : (m,)
        When each blow struck [s], what it added, and the settled level after it. [reading]
    blow_rate_hz, blow_rate_cv
        Reciprocal of the median interval, and scatter of the regular intervals over their mean.
    growth_time, growth_level : (k,)
        Growth curve, k <= 401, in seconds since the start; also when single blows cannot be seen.
    score, score_uncertainty
        By the campaign's rule, with its standard uncertainty. [reading, or s for `time to`]
    score_reason
        What the score is, or why there is none.
    flags
        Everything to know before trusting the run.
    sample_rate_hz
        Median rate of the log; 0 where it is not known. [Hz]
    """

    zero: float | None
    zero_sd: float | None
    zero_after: float | None
    start_s: float | None
    end_s: float | None
    duration_s: float | None
    blow_times: FloatArray
    blow_steps: FloatArray
    blow_levels: FloatArray
    blow_rate_hz: float | None
    blow_rate_cv: float | None
    growth_time: FloatArray
    growth_level: FloatArray
    score: float | None
    score_uncertainty: float | None
    score_reason: str
    flags: tuple[Flag, ...]
    sample_rate_hz: float

    def has(self, kind: str) -> bool:
        """Whether a flag of this kind is set.

        Parameters
        ----------
        kind
            A code of `campaign.flags.FLAGS`.
        """
        return any(flag.kind == kind for flag in self.flags)
