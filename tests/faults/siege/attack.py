"""What an attack is, and what came of it: counts that add up, worst figures, and what was found."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

__all__ = ["MOST_GB", "MOST_S", "Attack", "Tally"]

MOST_S = 5.0
"""Nothing may hang for longer."""
MOST_GB = 1.5
"""No process may take more memory."""
_MOST_FOUND = 40


@dataclass(slots=True)
class Tally:
    """What was counted: `counts` add up, of `worst` the largest stays, `found` says where to look.

    A count whose name begins with "!" must be zero; `seconds` and `memory_gb` among the worst have bounds.
    """

    counts: Counter[str] = field(default_factory=Counter)
    worst: dict[str, float] = field(default_factory=dict)
    found: list[str] = field(default_factory=list)

    def count(self, name: str, number: int = 1) -> None:
        """Add to a count."""
        self.counts[name] += number

    def fail(self, name: str, where: str) -> None:
        """Count what must not be, and keep where it was."""
        self.counts[f"!{name}"] += 1
        if len(self.found) < _MOST_FOUND:
            self.found.append(f"{name}: {where}"[:600])

    def see(self, name: str, value: float) -> None:
        """Keep the largest value of this name."""
        self.worst[name] = max(value, self.worst.get(name, value))

    def add(self, other: Tally) -> None:
        """Take up what another part of the same attack found."""
        self.counts.update(other.counts)
        for name, value in other.worst.items():
            self.see(name, value)
        self.found = (self.found + other.found)[:_MOST_FOUND]

    def failures(self) -> list[str]:
        """All that must not be, in words; empty where the attack was withstood."""
        bounds = {"seconds": MOST_S, "memory_gb": MOST_GB}
        over = [f"{name} {self.worst[name]:.3g} over {most}" for name, most in bounds.items()
                if self.worst.get(name, 0.0) > most]  # fmt: skip
        return [
            f"{number} {name[1:]}" for name, number in self.counts.items() if name[0] == "!" and number
        ] + over

    def as_json(self) -> dict[str, Any]:
        """As it is written down."""
        return {"counts": dict(self.counts), "worst": self.worst, "found": self.found}

    @classmethod
    def from_json(cls, plain: Mapping[str, Any]) -> Tally:
        """What was written down."""
        return cls(Counter(plain["counts"]), dict(plain["worst"]), list(plain["found"]))


@dataclass(frozen=True, slots=True)
class Attack:
    """One kind of harm, done a number of times from numbers that are its seeds.

    Parameters
    ----------
    name
        One word, for the command line.
    does
        What it does, in one sentence.
    unit
        What is counted, such as "logs".
    short, long
        How many in the usual tests, where 0 leaves it out, and in `make siege`.
    chunk
        How many at a time in the long form: after each the figures are written down.
    play
        Called with the first number, how many, and an empty folder, outside of which it writes nothing.
    needs_shim
        Whether it stands on a C compiler and Linux.
    """

    name: str
    does: str
    unit: str
    short: int
    long: int
    chunk: int
    play: Callable[[int, int, Path], Tally]
    needs_shim: bool = False
