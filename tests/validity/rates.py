"""A measured rate against what is wanted."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

__all__ = ["Row", "observed", "rate", "table"]


@dataclass(frozen=True, slots=True)
class Row:
    """A measured rate against what is wanted, in percent; `error` is its Monte Carlo standard error."""

    what: str
    wanted: str
    low: float
    high: float
    measured: float
    error: float

    @property
    def holds(self) -> bool:
        """Within what is wanted, give or take three Monte Carlo errors."""
        return self.low - 3.0 * self.error <= self.measured <= self.high + 3.0 * self.error

    def __str__(self) -> str:
        verdict = "yes" if self.holds else "**no**"
        return f"| {self.what} | {self.wanted} | {self.measured:.2f} ± {self.error:.2f} | {verdict} |"


def rate(what: str, values: np.ndarray, wanted: tuple[float, float]) -> Row:
    """A mean of counts as a row; a lower bound of 0 means at most."""
    low, high = wanted
    words = f"at most {high:g}" if low == 0.0 else f"{low:g} to {high:g}"
    error = 100.0 * float(np.std(values)) / np.sqrt(len(values))
    return Row(what, words, low, high, 100.0 * float(np.mean(values)), error)


def observed(what: str, values: np.ndarray) -> Row:
    """A mean of counts of which nothing is promised."""
    return replace(rate(what, values, (0.0, 100.0)), wanted="–")


def table(title: str, rows: list[Row]) -> str:
    """Rows as a Markdown table."""
    head = f"### {title}\n\n| rate, % | wanted | measured ± Monte Carlo error | holds |\n|---|---|---|---|"
    return "\n".join([head, *map(str, rows)]) + "\n"
