"""What comes between two runs: a load that is still on the bolt, and what a person must answer first."""

from __future__ import annotations

from typing import Final

import numpy as np

from strikeproof.campaign.records import Campaign
from strikeproof.capture.received import LineFlag
from strikeproof.capture.watch import RunWatch
from strikeproof.desk.calibrating.worth import Worth
from strikeproof.desk.recording.rig import LiveRig
from strikeproof.desk.recording.views import Hold, NextRun, SpentBolt, Standing
from strikeproof.desk.safety.bolt_limit import SETTLED, find_limit
from strikeproof.desk.safety.cautions import Stop
from strikeproof.desk.safety.own_zero import level_at, stands_loaded
from strikeproof.language import say
from strikeproof.quantity import unit_label, write_number

__all__ = ["find_hold", "loaded_until", "say_own_zero", "see_standing", "standing_words"]

_NOW_S: Final = 0.5
_EARLIER_S: Final = 4.0
_ZERO_S: Final = 2.3  # that the zero of a run and its noise are taken from
_SURE: Final = 8.0  # deviations of the mean of a bucket


def see_standing(campaign: Campaign, worth: Worth, rig: LiveRig, *, asks: bool) -> Standing | None:
    """What the rig shows now against the cell's own zero; None while it shows nothing."""
    shown = rig.buckets.since(rig.now - _NOW_S).mean
    if not shown.size:
        return None
    middle = float(np.median(shown))
    level = _level(worth, rig, middle)
    spread = rig.factor * float(np.std(shown)) / max(np.sqrt(shown.size), 1.0)
    noise = abs(level_at(worth, _SURE * spread))
    is_loaded = stands_loaded(find_limit(campaign, worth), level, noise)
    was_loaded = is_loaded or loaded_until(campaign, worth, rig, rig.now) > rig.now - _ZERO_S
    return Standing(
        level,
        worth.unit,
        rig.factor * middle,
        rig.factor * float(np.std(shown)),
        campaign.rig.unit,
        is_loaded=is_loaded,
        was_loaded=was_loaded,
        asks=asks and is_loaded,
    )


def _level(worth: Worth, rig: LiveRig, reading: float) -> float:
    """What the rig sends, as a level over the cell's own zero."""
    return level_at(worth, float(worth.nets(rig.factor * reading, rig.zero)))


def loaded_until(campaign: Campaign, worth: Worth, rig: LiveRig, began: float) -> float:
    """When the bolt was last under load before a run that began then, by the rig's time; never: minus
    infinity. [s]"""
    limit = find_limit(campaign, worth)
    shown = rig.buckets.since(began - _EARLIER_S)
    before = shown.time < began
    levels = worth.levels(worth.nets(rig.factor * shown.mean[before], rig.zero))
    loaded = np.array([stands_loaded(limit, float(each), 0.0) for each in levels], dtype=bool)
    if loaded.sum() < SETTLED or loaded[-1]:
        return -np.inf
    return float(shown.time[before][loaded][-1])


def standing_words(standing: Standing) -> str:
    """The load before a run, in words; a load below the cell's own zero is on a cell that reads reversed."""
    shown = {"level": write_number(standing.level, 3), "unit": unit_label(standing.unit)}
    if standing.level < 0:
        return say(
            "{level} {unit}, which is below the cell's own zero: it reads reversed, or its zero is another,",
            **shown,
        )
    return say("{level} {unit}", **shown)


def say_own_zero(campaign: Campaign, worth: Worth, rig: LiveRig, watch: RunWatch) -> tuple[LineFlag, ...]:
    """That a person took what the rig shows for the cell's own zero, for the recording of a run.

    It does not hold for a run before which the reading had moved on.
    """
    if not rig.zero_is_said or watch.calm is None:
        return ()
    level = _level(worth, rig, watch.calm.zero)
    if stands_loaded(find_limit(campaign, worth), level, 0.0):
        return ()
    shown = f"{write_number(rig.zero, 4)} {unit_label(campaign.rig.unit)}"
    detail = say("a person said that the bolt was loose and that {shown} is the cell's own zero", shown=shown)
    return (LineFlag("own-zero", 0, 1, detail),)


def find_hold(
    coming: NextRun | None, spent: SpentBolt | None, standing: Standing | None, undecided: str | None
) -> Hold | None:
    """What a person must answer before the next run is armed unasked; None when nothing is left to answer."""
    answers: tuple[tuple[bool, Hold], ...] = (
        (spent is not None, "change bolt"),
        (undecided is not None, "decide"),
        (coming is None, "no run"),
        (coming is not None and coming.new_bolt, "bolt changed"),
        (coming is not None and any(isinstance(each, Stop) for each in coming.cautions), "stop"),
        (standing is not None and standing.was_loaded, "loosen"),
        (coming is not None and coming.cool_down_left_s > 0.0, "cool"),
    )
    return next((hold for asked, hold in answers if asked), None)
