"""What a tool's table states of speed and rate beside what is simulated."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from strikeproof.drivetrain import Run

__all__ = ["Stated", "stated_words"]

_OTHER_RATE, _OTHER_SPEED = 0.25, 0.15  # of the stated ones (estimates, no source)
_IN_TIME = 1.05  # of the rate that a speed leaves time for; a stated rate is read no closer (estimate)
_LEAST_BLOWS = 10


@dataclass(frozen=True, slots=True)
class Stated:
    """Of a tool's blows.

    Attributes
    ----------
    rate, speed
        That the tool's table gives, speed also by its energy; None where it gives none. [Hz, rad/s]
    expected_speed
        `speed`, or that of the tool's class. [rad/s]
    most_rate
        Blows a second that this speed leaves time for. [Hz]
    """

    rate: float | None = None
    speed: float | None = None
    expected_speed: float = 0.0
    most_rate: float = float("inf")


def stated_words(name: str, stated: Stated, run: Run) -> str:
    """That stated figures contradict each other or that a tool is simulated otherwise; else empty.

    Parameters
    ----------
    name
        Of the tool.
    stated
        At the supply that is simulated.
    run
        Its late blows count.
    """
    return " ".join(_say(name, stated, run))


def _say(name: str, stated: Stated, run: Run) -> Iterator[str]:
    if stated.rate is not None and stated.rate > _IN_TIME * stated.most_rate:
        whose = "" if stated.speed is not None else " (usual for its class)"
        yield (
            f"{name}: {stated.rate:g} blows a second and {stated.expected_speed:.3g} rad/s{whose} "
            f"contradict each other: from jaw to jaw there is time for {stated.most_rate:.3g} a second. "
            "Check both figures."
        )
    rate = run.blow_rate
    if stated.rate is not None and rate > 0.0 and abs(rate / stated.rate - 1.0) > _OTHER_RATE:
        yield (
            f"{name} is simulated at {rate:.3g} blows a second, {stated.rate:g} are stated: here the rate "
            "follows from the hammer, its speed and its rebound, so the load at the end of a run may be off."
        )
    if stated.speed is None or run.speed.size < _LEAST_BLOWS:
        return
    late = float(np.median(run.speed[run.speed.size // 2 :]))
    if abs(late / stated.speed - 1.0) > _OTHER_SPEED:
        yield (
            f"{name} is simulated at {late:.3g} rad/s in late blows, {stated.speed:.3g} are stated: here the "
            "speed follows from what the rebound returns, so the load at the end of a run may be off."
        )
