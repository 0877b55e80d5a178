"""A window of a run's samples, thinned to the lowest and highest of each stretch, never a mean."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache
from itertools import chain
from pathlib import Path

import numpy as np
import sqlalchemy as sa

from strikeproof.campaign import schema as tables
from strikeproof.campaign.database import reading as reading_from
from strikeproof.campaign.files import read_trace
from strikeproof.campaign.kept import KeptTrace
from strikeproof.campaign.store import Store
from strikeproof.capture import pick_name
from strikeproof.desk.runs.judged import unit_factor
from strikeproof.desk.workspace.opening import open_campaign
from strikeproof.errors import NotFound
from strikeproof.plain_text import write_csv_text
from strikeproof.quantity import FloatArray, IntArray

__all__ = ["TraceSource", "TraceWindow", "find_trace", "thin", "trace_csv", "trace_window"]


@dataclass(frozen=True, slots=True)
class TraceSource:
    """Where one channel of a run is; `factor` brings its numbers to `unit`."""

    folder: Path
    sha256: str
    channel: str
    channels: tuple[str, ...]
    factor: float
    unit: str


@dataclass(frozen=True, slots=True, eq=False)
class TraceWindow:
    """Samples between two times [s], all of them (`whole`) or the extremes of stretches."""

    time: FloatArray
    reading: FloatArray
    samples: int
    whole: bool


def find_trace(workspace: Path, campaign: str | None, run: str, channel: str | None = None) -> TraceSource:
    """Where the trace of a run is; the judged channel when none is named.

    Raises
    ------
    StrikeproofError
        If there is no such run, or it has no trace or no such channel.
    """
    store, key, found = open_campaign(workspace, campaign)
    trace, own, rig = _kept_trace(store, key, run)
    found = found.on_rig(rig)
    names = tuple(name for name, _unit in trace.channels)
    judged = pick_name(list(names), own or found.rig.channel, trace.original_name)
    wanted = channel or judged
    if wanted not in names:
        raise NotFound("channel", wanted, names)
    if wanted == judged:
        return TraceSource(
            store.traces, trace.sha256, wanted, names, unit_factor(found, trace, wanted), found.rig.unit
        )
    return TraceSource(
        store.traces, trace.sha256, wanted, names, 1.0, dict(trace.channels)[wanted] or "reading"
    )


def _kept_trace(store: Store, key: int, run: str) -> tuple[KeptTrace, str | None, str | None]:
    """The trace of one run and the channel and rig that its line names, without reading the other runs."""
    query = (
        sa.select(tables.trace, tables.original.c.name, tables.original.c.bytes, tables.run.c.row)
        .select_from(tables.run.join(tables.trace).join(tables.original))
        .where(tables.run.c.campaign_id == key, tables.run.c.name == run)
    )
    with reading_from(store.engine) as db:
        found = db.execute(query).first()
    if found is None:
        store.find_run(key, run)  # names the nearest one when there is no such run
        raise NotFound("trace of run", run, ())
    kept = KeptTrace(
        sha256=found.sha256,
        original_sha256=found.original_sha256,
        original_name=found.name,
        original_bytes=found.bytes,
        samples=found.samples,
        sample_rate_hz=found.sample_rate_hz,
        started=found.started,
        channels=tuple((name, unit) for name, unit in found.channels),
        findings=tuple(found.findings),
    )
    return kept, found.row.get("channel"), found.row.get("rig")


def trace_window(
    source: TraceSource, start: float | None, end: float | None, points: int, scale: float = 1.0
) -> TraceWindow:
    """What a screen of so many points shows between two times, with one sample beyond on either side.

    Parameters
    ----------
    points
        Stretches to cut the window into; with few samples every one of them comes.
    scale
        What to multiply readings by, such as for another unit.
    """
    time, reading = _samples(source)
    first, last = _between(time, start, end)
    return thin(time[first:last], reading[first:last] * (source.factor * scale), points)


def thin(time: FloatArray, reading: FloatArray, points: int) -> TraceWindow:
    """The extremes of stretches of equal count, in the order in which they came.

    A stretch without a number keeps its gap.
    """
    count, points = time.size, max(int(points), 1)
    if count <= 4 * points:
        return TraceWindow(time, reading, count, True)
    each = -(-count // points)
    cut = count - count % each
    blocks = reading[:cut].reshape(-1, each)
    starts = np.arange(0, cut, each)
    low, high = _extremes(blocks)
    order = np.sort(np.stack([starts + low, starts + high], axis=1), axis=1).ravel()
    if cut < count:
        low_end, high_end = _extremes(reading[cut:][None, :])
        order = np.concatenate([order, np.sort([cut + low_end[0], cut + high_end[0]])])
    order = np.concatenate([[0], order, [count - 1]])  # the ends show how far there is anything
    return TraceWindow(time[order], reading[order], count, False)


def _extremes(blocks: FloatArray) -> tuple[IntArray, IntArray]:
    """Place of the lowest and of the highest value of each row; NaN counts where nothing else is."""
    if not np.isnan(blocks).any():
        return blocks.argmin(axis=1), blocks.argmax(axis=1)
    low = np.where(np.isnan(blocks), np.inf, blocks).argmin(axis=1)
    high = np.where(np.isnan(blocks), -np.inf, blocks).argmax(axis=1)
    return low, high


def trace_csv(
    source: TraceSource, start: float | None, end: float | None, *, scale: float, unit: str
) -> Iterator[bytes]:
    """Every sample between two times as CSV, piece by piece.

    Raises
    ------
    StoreError
        If the trace is missing or damaged, before the first piece.
    """
    time, reading = _samples(source)
    first, last = _between(time, start, end)
    head = write_csv_text([("time [s]", f"{source.channel.replace(',', ' ')} [{unit}]")]).encode()
    return chain([head], _csv_rows(time[first:last], reading[first:last], source.factor * scale))


def _csv_rows(time: FloatArray, reading: FloatArray, factor: float) -> Iterator[bytes]:
    for at in range(0, time.size, 20_000):
        upto = at + 20_000
        pairs = zip(time[at:upto].tolist(), (reading[at:upto] * factor).tolist(), strict=True)
        yield "".join(f"{each:.9g},{value:.9g}\n" for each, value in pairs).encode()


def _between(time: FloatArray, start: float | None, end: float | None) -> tuple[int, int]:
    first = 0 if start is None else max(int(np.searchsorted(time, start, "left")) - 1, 0)
    last = time.size if end is None else min(int(np.searchsorted(time, end, "right")) + 1, time.size)
    return first, max(first, last)


def _samples(source: TraceSource) -> tuple[FloatArray, FloatArray]:
    return _read(source.folder, source.sha256, source.channel)


@lru_cache(maxsize=3)
def _read(folder: Path, sha256: str, channel: str) -> tuple[FloatArray, FloatArray]:
    """Samples by rising time, stored for the next window of the same run."""
    time, reading = read_trace(folder, sha256, channel)
    good = np.isfinite(time)
    time, reading = time[good], reading[good]
    if np.any(np.diff(time) < 0.0):
        order = np.argsort(time, kind="stable")
        time, reading = time[order], reading[order]
    return time, reading
