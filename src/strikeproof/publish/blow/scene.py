"""All that the film of a blow shows: the instant of each frame, the turn of each disc, what is said."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from strikeproof.language import say
from strikeproof.publish.blow.discs import Station, place_stations
from strikeproof.publish.blow.layout import Layout, lay_out
from strikeproof.publish.blow.story import BACKWARD, DRIVING, OPEN, SLIPPING, Story
from strikeproof.publish.texts import clip
from strikeproof.quantity import FloatArray

__all__ = ["RATE", "SECONDS", "TURNS", "WORDS", "Clock", "Scene", "set_scene"]

RATE: Final = 25  # frames a second
SECONDS: Final = (0.8, 6.4, 1.2)  # before the blow, during it, after it
WORDS: Final = {OPEN: "○ open", DRIVING: "▶ driving", BACKWARD: "◀ backward", SLIPPING: "≈ slipping"}
TURNS: Final = {OPEN: say("held"), DRIVING: say("turning"), BACKWARD: say("backward")}
_FACTORS: Final = (1, 2, 3, 4, 5, 6, 8, 10, 12, 15, 20, 30, 40, 50, 60, 80, 100)
_LARGEST: Final = (
    75.0,
    40.0,
    110.0,
    300.0,
)  # a turn, a wind-up, a gap, the hammer's way; degrees on the picture
_READING: Final = (
    "Tooth: the body that drives. Lugs: the body named. Between them: free play. Overlap: wound up. "
    "▾ where it was."
)


@dataclass(frozen=True, slots=True)
class Clock:
    """Which instant of the blow each frame shows.

    Attributes
    ----------
    times : (frames,)
        [ms]
    slower
        How many times slower than life.
    """

    times: FloatArray
    slower: float

    @property
    def seconds(self) -> float:
        """How long the film lasts."""
        return self.times.size / RATE


@dataclass(frozen=True, slots=True)
class Scene:
    """All that a film of one blow shows, ready for any way of drawing it.

    Attributes
    ----------
    exaggeration
        Factor on every angle.
    sense
        1 where tightening turns clockwise on the picture, -1 when the blow loosens.
    turns : (frames, n)
        Angles on the picture, clockwise. [°]
    layout
        Where everything is.
    """

    story: Story
    whose: str
    stations: tuple[Station, ...]
    clock: Clock
    exaggeration: int
    sense: int
    turns: FloatArray
    layout: Layout

    def driver_of(self, station: Station) -> int:
        """The body whose tooth is in a disc; the hammer's own in the hammer's."""
        return 0 if station.contact is None else self.story.contacts[station.contact].first

    def caption_at(self, time: float) -> str:
        """The last thing that happened."""
        said = [event for event in self.story.events if event.time <= time + 1e-9]
        return f"{said[-1].time:.2f} ms  {said[-1].words}" if said else ""

    def row_at(self, time: float) -> int:
        """Row of the story that holds at a time."""
        return int(
            np.clip(np.searchsorted(self.story.time, time, side="right") - 1, 0, self.story.time.size - 1)
        )


def _thousands(number: float) -> str:
    return f"{number:,.0f}".replace(",", " ")


def set_scene(
    story: Story, whose: str, *, narrow: bool = False, seconds: tuple[float, float, float] = SECONDS
) -> Scene:
    """Lay out the stage for a blow.

    Parameters
    ----------
    whose
        What was simulated, in words.
    narrow
        For a frame that is held upright in one hand.
    seconds
        Of film before the blow, during it and after it.
    """
    clock = _set_clock(story, seconds)
    factor = _choose_factor(story)
    sense = -1 if story.loosens else 1
    seen = np.stack([np.interp(clock.times, story.time, column) for column in story.angles.T], axis=1)
    heading = (
        f"SIMULATED: {clip(whose, 80)}. {_thousands(clock.slower)} times slower than life; "
        f"angles × {factor}; seen from the tool."
    )
    layout = lay_out(len(story.bodies), len(story.contacts) + 1, heading, _READING, narrow=narrow)
    return Scene(
        story=story,
        whose=clip(whose, 80),
        stations=place_stations(story, layout, factor),
        clock=clock,
        exaggeration=factor,
        sense=sense,
        turns=sense * factor * seen,
        layout=layout,
    )


def _set_clock(story: Story, seconds: tuple[float, float, float]) -> Clock:
    before, during, after = (round(RATE * each) for each in seconds)
    times = np.concatenate((np.zeros(before), np.linspace(0.0, story.end, during), np.full(after, story.end)))
    return Clock(times, 1e3 * seconds[1] / story.end)


def _choose_factor(story: Story) -> int:
    """The largest round factor at which the parts still look like parts."""
    gap, wound = 0.0, 0.0
    for each in story.contacts:
        twist = story.angles[:, each.first] - story.angles[:, each.second]
        pulled = 0.0 if each.one_sided else float(-twist.min()) - each.gap
        gap, wound = max(gap, each.gap), max(wound, float(twist.max()), pulled)
    touching = story.time <= story.parted
    swing = max(float(np.ptp(story.angles[touching])), float(np.ptp(story.angles[:, 1:])))
    sizes = (swing, wound, gap, float(np.ptp(story.angles[:, 0])))
    fits = [
        factor
        for factor in _FACTORS
        if all(factor * size <= largest for size, largest in zip(sizes, _LARGEST, strict=True))
    ]
    return max(fits, default=1)
