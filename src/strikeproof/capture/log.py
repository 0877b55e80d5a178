"""What a log file holds once read: channels over time, and what is odd about them."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from strikeproof.capture.heading import split_name
from strikeproof.errors import BadFile, Problem, nearest
from strikeproof.plain_text import clean_text
from strikeproof.quantity import FloatArray

__all__ = [
    "CHANNEL_KEY",
    "LARGEST_UNREADABLE_SHARE",
    "Channel",
    "Finding",
    "Log",
    "NoChannel",
    "pick_channel",
    "pick_name",
]

LARGEST_UNREADABLE_SHARE = 0.2


@dataclass(frozen=True, slots=True)
class Finding:
    """Something odd in a log that does not keep it from being read.

    `kind` is a code of `campaign.flags.FLAGS`; `channel` is None when the time or the complete file is meant;
    `first_line` is the line in the file where it first shows (the row number in a workbook or Parquet file),
    `count` how many samples show it.
    """

    kind: str
    channel: str | None
    first_line: int | None
    count: int
    detail: str


@dataclass(frozen=True, slots=True)
class Channel:
    """One column of numbers: its name, its unit where the file gives one, one value a sample."""

    name: str
    unit: str | None
    values: FloatArray


@dataclass(frozen=True, slots=True)
class Log:
    """One log file.

    Parameters
    ----------
    path
        Where it came from.
    time : (n,)
        Since the first sample, as recorded: repeats and backward steps stay. Where many samples share one
        coarse stamp in a regular pattern they are spread evenly, and a finding says so. [s]
    channels
        The columns that hold numbers, each (n,), NaN where a cell could not be read.
    started
        When the first sample was taken, ISO 8601, where the file's times are absolute.
    sample_rate_hz
        One over the median sampling period. [Hz]
    findings
        What is odd, in the order of the file's columns.
    begins_s
        What the file's own clock shows at the first sample, where it is not absolute; None without one. [s]
    """

    path: Path
    time: FloatArray
    channels: tuple[Channel, ...]
    started: str | None
    sample_rate_hz: float
    findings: tuple[Finding, ...]
    begins_s: float | None = None

    def channel(self, name: str | None = None) -> Channel:
        """The same as `pick_channel`."""
        return pick_channel(self, name)


def pick_channel(log: Log, name: str | None = None) -> Channel:
    """The channel of that name, whatever its case and spaces; the only one when no name is given.

    Raises
    ------
    BadFile
        If there is no such channel, if several could be meant, or if more than a fifth of it is unreadable.
    """
    picked = pick_name([each.name for each in log.channels], name, str(log.path))
    channel = next(each for each in log.channels if each.name == picked)
    problem = _unreadable(log, channel)
    if problem:
        raise BadFile([problem])
    return channel


CHANNEL_KEY = "channel in [rig] of campaign.toml"
BETWEEN = "|"
"""What comes between names of channels that are tried in their order."""


def pick_name(names: Sequence[str], name: str | None, file: str) -> str:
    """The one of `names` that is meant by `name`, which may have a unit, other case and other spaces.

    Of a name in full (group/column) the column's alone will do, where there is only one of that name. Several
    names with bars between them ("load | force") are tried in their order; the first that is there counts.

    Raises
    ------
    BadFile
        If none or several of them are meant; `file` is the one it names.
    """
    choices = [name] if name is None or name in names else [each.strip() for each in name.split(BETWEEN)]
    for choice in choices[:-1]:
        if _found(names, choice):
            return _single(names, choice, file)
    try:
        return _single(names, choices[-1], file)
    except BadFile:
        if len(choices) < 2 or _found(names, choices[-1]):
            raise
    what = f"has none of the channels {', '.join(map(repr, choices))}"
    wanted = [each for each in choices if each]
    raise NoChannel(Problem(file, None, what, _other_fix(names, wanted)), names, wanted[-1])


class NoChannel(BadFile):
    """A log without the one channel that is asked for."""

    def __init__(self, problem: Problem, names: Sequence[str], wanted: str) -> None:
        self.names, self.wanted = tuple(names), wanted
        super().__init__([problem])

    def on_sheet(self) -> BadFile:
        """The same where it is the run's own line of the run sheet that asks for it."""
        hint = None if _found(self.names, self.wanted) else nearest(self.wanted, self.names)
        asked = f"did you mean {hint!r}? " if hint else ""
        fix = (
            f"{asked}correct the column channel of the run sheet on the line of this run, to one of: "
            f"{', '.join(self.names)}; where it is empty, {CHANNEL_KEY} holds"
        )
        return BadFile([replace(each, fix=fix) for each in self.problems])


def _other_fix(names: Sequence[str], choices: Sequence[str]) -> str:
    """What to do about a log that has none of the channels wanted, so that no other log loses its own."""
    hint = nearest(choices[-1], names)
    asked = f"did you mean {hint!r}? " if hint else ""
    both = f" {BETWEEN} ".join((*choices, hint or (names[0] if names else "...")))
    return (
        f"{asked}for this run alone, write one of its own in the column channel of the run sheet: "
        f"{', '.join(names)}; for all logs, set {CHANNEL_KEY} to a list such as {both!r}"
    )


def _found(names: Sequence[str], name: str | None) -> list[str]:
    wanted = None if name is None else {_plain(name), _plain(split_name(name)[0])}
    found = [each for each in names if wanted is None or _plain(each) in wanted]
    found = found or [each for each in names if wanted and _plain(each.rsplit("/", 1)[-1]) in wanted]
    return found


def _single(names: Sequence[str], name: str | None, file: str) -> str:
    found = _found(names, name)
    exact = [each for each in found if each == name]
    if len(found) == 1 or exact:
        return (exact or found)[0]
    problem = _no_single(names, name, len(found), file)
    raise BadFile([problem]) if name is None else NoChannel(problem, names, name)


def _plain(name: str) -> str:
    return re.sub(r"[\s_]+", "", clean_text(name, "")).casefold()


def _no_single(names: Sequence[str], name: str | None, count: int, file: str) -> Problem:
    """What is wrong, and the key of campaign.toml that puts it right."""
    listed = ", ".join(names)
    key = f"set {CHANNEL_KEY}"
    if name is None:
        return Problem(file, None, f"has {count} channels: {listed}", f"{key} to the one that is judged")
    if count:
        apart = len(set(names)) == len(names)
        fix = f"{key} to a name in full, one of: {listed}" if apart else "rename one of them"
        return Problem(file, None, f"{count} channels are called {name!r}", fix)
    return Problem(file, None, f"has no channel {name!r}", _other_fix(names, [name]))


def _unreadable(log: Log, channel: Channel) -> Problem | None:
    share = float(np.isnan(channel.values).mean())
    if share <= LARGEST_UNREADABLE_SHARE:
        return None
    line = next((each.first_line for each in log.findings if each.channel == channel.name), None)
    what = f"{share:.0%} of the cells of {channel.name!r} hold no number"
    return Problem(str(log.path), line, what, "export it again, or judge another channel")
