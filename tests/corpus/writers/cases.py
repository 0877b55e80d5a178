"""What a writer of the corpus yields: one file, who wrote it, and what must come out of it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

__all__ = [
    "Case",
    "Cases",
    "Signal",
    "channel",
    "lines",
    "make_signal",
    "misses",
    "numbers",
    "read",
    "refused",
]


@dataclass(frozen=True)
class Case:
    """One file of the corpus: its path, its bytes, by which library or hand, and what must come out."""

    path: str
    content: bytes
    by: str
    expected: dict[str, Any]


Cases = Iterator[Case]


@dataclass(frozen=True)
class Signal:
    """A simulated run: (n,) times [s], the load and the air pressure as they are printed."""

    time: np.ndarray
    load: np.ndarray
    air: np.ndarray


def make_signal(
    seed: int, count: int = 48, rate: float = 10.0, scale: float = 1.0, decimals: int = 2
) -> Signal:
    """Rest, then a load that climbs blow by blow towards 60 times `scale`."""
    rng = np.random.default_rng(seed)
    at = np.arange(count) / rate
    begun = np.maximum(np.arange(count) - count // 6, 0)
    climb = 60.0 * (1.0 - np.exp(-begun / (0.3 * count)))
    load = scale * (climb + rng.normal(scale=0.15, size=count))
    air = 6.2 - 0.004 * begun + rng.normal(scale=0.01, size=count)
    return Signal(np.round(at, 9), np.round(load, decimals) + 0.0, np.round(air, 3) + 0.0)


def numbers(values: Sequence[float], decimals: int, mark: str = ".") -> list[str]:
    """Values as text of so many decimals."""
    return [f"{each:.{decimals}f}".replace(".", mark) for each in values]


def lines(*parts: str | Sequence[str], end: str = "\n") -> str:
    """Lines and lists of lines made one text that ends with a line end."""
    every = [line for part in parts for line in ([part] if isinstance(part, str) else part)]
    return end.join([*every, ""])


def channel(name: str, unit: str | None, values: np.ndarray) -> dict[str, Any]:
    """What must be known of one channel; sums leave out what is not there."""
    ends = [None if np.isnan(values[i]) else float(values[i]) for i in (0, -1)]
    known = values[np.isfinite(values)]
    return {
        "name": name,
        "unit": unit,
        "count": len(values),
        "missing": int(np.isnan(values).sum()),
        "first": ends[0],
        "last": ends[1],
        "sum": float(f"{known.sum():.9g}"),
    }


def read(
    channels: Sequence[dict[str, Any]],
    time: np.ndarray,
    *,
    rate: float | None = None,
    started: str | None = None,
    findings: Sequence[str] = (),
    judged: str | None = None,
) -> dict[str, Any]:
    """A file that is read: all its channels, its times from the first sample, and what is odd about it."""
    since = time - time[0]
    found: dict[str, Any] = {
        "channels": list(channels),
        "rate_hz": float(f"{rate or 1.0 / np.median(np.diff(time)):.6g}"),
        "time_last": float(f"{since[-1]:.9g}"),
        "time_sum": float(f"{since.sum():.9g}"),
        "started": started,
        "findings": sorted(findings),
    }
    return found | ({"judged": judged} if judged else {})


def refused(words: str) -> dict[str, Any]:
    """A file that must be refused, with these words (a pattern) in the message."""
    return {"refused": words}


def misses(values: np.ndarray, *at: int) -> np.ndarray:
    """The values with none at some places."""
    found = values.copy()
    found[list(at)] = np.nan
    return found
