"""From a log to its original and its trace on disk, both from the same bytes."""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

from strikeproof.campaign.files import is_whole, keep_bytes, trace_bytes
from strikeproof.campaign.kept import KeptTrace
from strikeproof.campaign.text import read_file
from strikeproof.capture.log import Log, NoChannel, pick_channel, pick_name
from strikeproof.capture.parts import pack_parts
from strikeproof.capture.reading import read_log_of
from strikeproof.errors import BadFile

__all__ = ["LogBench", "is_same_log", "keep_log"]


@dataclass(frozen=True, slots=True)
class LogBench:
    """What is the same for every log of a campaign.

    `is_of_run`: it is the run's own line of the run sheet that names the channel.
    """

    originals: Path
    traces: Path
    sample_rate_hz: float | None
    channel: str | None
    is_of_run: bool = False

    def holds(self, kept: KeptTrace) -> bool:
        """Whether a stored trace's files are whole and no rate or channel given since would change it."""
        return (
            self.sample_rate_hz in (None, kept.sample_rate_hz)
            and self._finds_channel(kept)
            and is_whole(self.traces / f"{kept.sha256}.parquet", kept.sha256)
            and is_whole(self.originals / kept.original_sha256, kept.original_sha256)
        )

    def _finds_channel(self, kept: KeptTrace) -> bool:
        """Whether the judged channel is in it; a file with several clocks may hold it all the same."""
        try:
            pick_name([name for name, _unit in kept.channels], self.channel, kept.original_name)
        except BadFile:
            return False
        return True


def is_same_log(paths: Sequence[Path], kept: KeptTrace) -> bool:
    """Whether the files of a run hold the bytes that a trace was read from.

    Raises
    ------
    BadFile
        If it is no file that can be read.
    """
    return hashlib.sha256(_bytes_of(paths)).hexdigest() == kept.original_sha256


def keep_log(path: Path, bench: LogBench, parts: Sequence[Path] = ()) -> KeptTrace:
    """Put one log's bytes, and the samples that are read from just these, on disk.

    Parameters
    ----------
    parts
        The files of a run that is recorded over several; `path` is then what they are called together.

    Raises
    ------
    BadFile
        If it cannot be read as a log, or the judged channel is not in it.
    StoreError
        If the disk is full or cannot be written.
    """
    content = _bytes_of(parts or (path,))
    try:
        log = read_log_of(path, content, sample_rate_hz=bench.sample_rate_hz, channel=bench.channel)
        pick_channel(log, bench.channel)
    except NoChannel as wrong:
        raise wrong.on_sheet() if bench.is_of_run else BadFile(wrong.problems) from wrong
    original = keep_bytes(bench.originals, content, "")
    samples = trace_bytes(log.time, _by_name(log), source=original)
    return KeptTrace(
        sha256=keep_bytes(bench.traces, samples, ".parquet"),
        original_sha256=original,
        original_name=path.name,
        original_bytes=len(content),
        samples=len(log.time),
        sample_rate_hz=log.sample_rate_hz,
        started=log.started,
        channels=tuple((channel.name, channel.unit) for channel in log.channels),
        findings=tuple(asdict(finding) for finding in log.findings),
    )


def _bytes_of(paths: Sequence[Path]) -> bytes:
    return read_file(paths[0]) if len(paths) == 1 else pack_parts(paths)


def _by_name(log: Log) -> dict[str, Any]:
    return {channel.name: channel.values for channel in log.channels}
