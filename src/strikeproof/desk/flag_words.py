"""What a flag is called where a person reads it, and what to do; files and JSON keep its kind."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Final

__all__ = ["flag_mend", "flag_words", "list_flags"]

_WORDS: Final = {
    "assumed": ("rate was counted, not told", "Tell rig.sample_rate_hz in campaign.toml."),
    "backward-time": ("time ran backwards", "Check the logger's clock."),
    "backwards": ("turned round", "Check protocol.direction, and the sign of the cell."),
    "blows-faint": ("blows sink in the noise", "Log faster or filter less; the level counts all the same."),
    "clipped": ("clipped", "Widen the range of cell or amplifier, and repeat the run."),
    "clipped-plateau": ("stands at one reading", "Look at the trace: repeat the run if it was clipped."),
    "clock-jump": ("clock jump", "Check the rig's clock if it comes again."),
    "cut-off": ("file was cut off", "Export the log again."),
    "cut-short": ("recording was cut short", "Repeat the run if its window is not whole."),
    "double-blows": ("double blows", "Look at the trace; see that the article is fully on."),
    "dropout": ("samples missing", "Check the cable and the logger, and repeat the run."),
    "gap": ("gap in the samples", "Check the cable and the logger."),
    "garbage": ("garbage", "Check the cable and the baud rate."),
    "late-start": ("ends before the window does", "Hammer sooner or log for longer, and repeat the run."),
    "missed-blows": ("blows missing", "Look at the trace; check the tool's supply."),
    "no-hammering": ("no hammering", "See that this is the run's log and the right channel."),
    "no-zero": ("begins without a zero", "Log two seconds of quiet before the run, and repeat it."),
    "not-a-number": ("samples without a value", "Check the cell's connection."),
    "only-ratio": (
        "ratio only, no calibrated value",
        "Calibrate over the range and on the bolt of the runs.",
    ),
    "overflow-code": ("over its range", "Widen the range of cell or amplifier, and repeat the run."),
    "rate-off": ("blow rate unusual", "Check the tool's supply, and its blow_rate_hz in campaign.toml."),
    "rate-too-low": ("too few samples for single blows", "Log faster; the level counts all the same."),
    "repeated-time": ("times repeated", "Check the logger's clock, or export more digits of time."),
    "score-only": ("a score, no log", "Load its log to have blows and growth checked."),
    "spikes": ("lone stray samples", "Check the cable's shield and plugs."),
    "time-order": ("times out of order", "Check the logger's clock."),
    "too-short": ("shorter than the window", "Hammer through the whole window, and repeat the run."),
    "unplugged": ("line was unplugged", "Fasten the plug, and repeat the run if its window is not whole."),
    "zero-moved": ("zero moved", "Let the cell settle, and check how it is mounted."),
}


def flag_words(kind: str) -> str:
    """A kind of flag in plain words."""
    return _WORDS[kind][0] if kind in _WORDS else kind.replace("-", " ")


def flag_mend(kind: str) -> str:
    """What to do about it; empty for a kind that is not known."""
    return _WORDS[kind][1] if kind in _WORDS else ""


def list_flags(kinds: Iterable[str]) -> str:
    """Several in a row."""
    return ", ".join(flag_words(kind) for kind in kinds)
