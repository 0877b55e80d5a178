"""The most that the test bolt may carry, as a level of the rig, or why nothing watches for more."""

from __future__ import annotations

from dataclasses import dataclass
from functools import reduce
from pathlib import Path
from typing import Final, Literal

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view

from strikeproof.campaign.records import Bolt, Campaign
from strikeproof.desk.calibrating.calibration import CalibrationOutcome, calibrate_folder
from strikeproof.desk.calibrating.worth import (
    Worth,
    level_of_load,
    own_zero,
    plain_worth,
    reading_of_level,
)
from strikeproof.errors import StrikeproofError
from strikeproof.joint import proof_load
from strikeproof.language import say
from strikeproof.quantity import FloatArray, kind_of_unit, unit_label, write_number, write_percent

__all__ = [
    "SETTLED",
    "BoltLimit",
    "Unwatched",
    "blind_words",
    "find_limit",
    "full_scale_words",
    "highest_level",
    "limit_words",
    "tell_limit",
    "unwatched_words",
    "watch_words",
]

SETTLED = 5
"""Buckets, a tenth of a second: between the fronts of two blows."""

Unwatched = Literal["no bolt", "loosened", "no load", "no friction", "full scale"]
"""Why no level can be set against what the bolt may carry, or none that is sure."""

_BLIND: Final = say("Nothing watches for overload")
_IN_PART: Final = say("Only part of the watch for overload is sure")

_WHY: Final[dict[Unwatched, tuple[str, str]]] = {
    "no bolt": (
        say("the campaign gives no thread and property class of its bolt"),
        say("Give bolt.thread and bolt.class."),
    ),
    "loosened": (
        say("the bolt is loosened, and what the rig shows with the bolt loose is taken as 0"),
        say("Give it as rig.zero."),
    ),
    "no load": (say("the level cannot be turned into a load"), say("Calibrate the rig.")),
    "no friction": (
        say("the level is a torque, and the bolt's friction is not given"),
        say("Give bolt.friction, and the thread."),
    ),
    "full scale": (
        say("the rig cannot show what the bolt may carry"),
        say("Use a cell that reads further, correct rig.full_scale, or allow the bolt less."),
    ),
}


@dataclass(frozen=True, slots=True)
class BoltLimit:
    """What a campaign allows its bolt, against what the rig shows.

    Parameters
    ----------
    load
        Clamp load that is allowed; None where thread or class is not known. [N]
    share
        Of the bolt's proof load.
    level, unit
        The same as a level of the rig, and the unit of levels; None where nothing watches. Where a cell
        shows a load itself and is calibrated in torque, the stricter of the two.
    unwatched, because
        Why nothing watches, or only in part where there is a level, and what more is known of that, in
        words; None and empty while something does.
    loosens
        Whether the bolt is under load before a run, as it should be.
    doubt
        That the cell's own load and the declared friction disagree, or that the cell shows no clamp load, in
        words; empty where they do not.
    """

    load: float | None
    share: float
    level: float | None
    unit: str
    unwatched: Unwatched | None
    because: str = ""
    loosens: bool = False
    doubt: str = ""


def find_limit(campaign: Campaign, worth: Worth) -> BoltLimit:
    """The limit of a campaign's bolt by what a reading of its rig is worth."""
    load, share = campaign.bolt.allowed_load(), _share_allowed(campaign.bolt)
    level = None if load is None else level_of_load(worth, load)
    loosens = campaign.protocol.direction == "loosen"
    why: Unwatched | None = None
    if load is None:
        why = "no bolt"
    elif level is None:
        why = "no load" if worth.kind is None else "no friction"
    elif loosens and campaign.rig.zero is None and worth.calibration is None:
        why = "loosened"
    because = "; ".join((worth.ratio_reason or "", *worth.notes)).strip("; ") if why == "no load" else ""
    if level is not None and (hidden := _hidden_words(campaign, worth, level)):
        why, because = "full scale", hidden
    doubt = "" if worth.calibration is None else worth.calibration.doubt
    return BoltLimit(load, share, level, worth.unit, why, because, loosens, doubt)


def _hidden_words(campaign: Campaign, worth: Worth, level: float) -> str:
    """That the rig saturates before a level, with both figures; empty where it does not."""
    reading = abs(own_zero(campaign, worth) + worth.sign * reading_of_level(worth, level))
    return full_scale_words(campaign.rig.unit, campaign.rig.full_scale, reading)


def full_scale_words(unit: str, full_scale: float | None, reading: float) -> str:
    """That a rig saturates at or below the reading at which its bolt's limit is, with both figures; empty
    where it does not."""
    if full_scale is None or reading < full_scale:
        return ""
    label = unit_label(unit)
    return say(
        "it reads to {full_scale} {label} at most, and the limit is at {reading} {label}",
        full_scale=write_number(full_scale, 3),
        label=label,
        reading=write_number(reading, 3),
    )


def unwatched_words(limit: BoltLimit) -> str:
    """That nothing watches for overload, or only in part, why, and what to do; empty while something does."""
    if limit.unwatched is None:
        return ""
    why, fix = _WHY[limit.unwatched]
    in_part = limit.level is not None and limit.unwatched != "full scale"
    facts = {"what": _IN_PART if in_part else _BLIND, "why": why, "fix": fix}
    if limit.because:
        return say("{what}: {why} ({because}). {fix}", because=limit.because, **facts)
    return say("{what}: {why}. {fix}", **facts)


def watch_words(limit: BoltLimit) -> str:
    """That nothing watches for overload, or only in part, what to stop below, and what is doubtful of it."""
    doubt = limit.doubt and f"{limit.doubt[:1].upper()}{limit.doubt[1:]}."
    said = [each for each in (unwatched_words(limit), limit_words(limit), doubt) if each]
    return reduce(lambda before, end: say("{before} {end}", before=before, end=end), said or [""])


def limit_words(limit: BoltLimit) -> str:
    """What to stop below, in the unit of the level and as clamp load; empty where nothing watches.

    A bolt that is loosened is only said to carry so much: its load falls.
    """
    if limit.level is None or limit.load is None:
        return ""
    load = say("{load} kN of clamp load", load=write_number(limit.load / 1000, 3))
    level = {"level": write_number(limit.level, 3), "unit": unit_label(limit.unit)}
    known = load if limit.unit == "kN" else say("{level} {unit}, {load}", load=load, **level)
    share = _share_words(limit.share)
    if limit.loosens:
        return say("The bolt may carry {most}: {share}.", most=known, share=share)
    return say("Stop below {most}: {share}.", most=known, share=share)


def tell_limit(campaign: Campaign, folder: Path | None = None) -> str | None:
    """What to stop below, and whether the rig will show it; None where thread or class is not known.

    `folder` is the campaign's own, with its calibration sheet; None where there is none.
    """
    load = campaign.bolt.allowed_load()
    if load is None:
        return None
    share = _share_words(campaign.bolt.largest_proof_share)
    most = say("{load} kN of clamp load", load=write_number(load / 1000, 3))
    blind = blind_words(campaign, folder)
    if blind:
        return say("the bolt may carry {most}, {share}, but {blind}", most=most, share=share, blind=blind)
    if campaign.protocol.direction == "loosen":
        return say(
            "the bolt may carry {most}, {share}: take one that was tighter out of use", most=most, share=share
        )
    return say("stop below {most}: {share}", most=most, share=share)


def blind_words(campaign: Campaign, folder: Path | None = None) -> str:
    """Why nothing at the rig will say when the bolt's limit is reached; empty where its readings can.

    `folder` is the campaign's own, with its calibration sheet; None where there is none.
    """
    unit = campaign.calibration.applied_unit if campaign.calibration else campaign.rig.unit
    kind = kind_of_unit(unit)
    if kind is None:
        return say(
            "the rig shows {unit}, which is no load, so nothing says when that is reached: calibrate it",
            unit=repr(unit),
        )
    calibration = _calibration(campaign, folder)
    may_be = calibration is None or calibration.may_be_clamp_load
    reads_force = may_be and kind_of_unit(campaign.rig.unit) == "force"
    friction = campaign.bolt.friction or campaign.bolt.thread_friction
    if kind == "torque" and friction is None and not reads_force:
        return say("the rig shows a torque and the bolt's friction is not given: give bolt.friction")
    load = campaign.bolt.allowed_load()
    plain = plain_worth(campaign, calibration)
    level = None if load is None else level_of_load(plain, load)
    hidden = "" if level is None else _hidden_words(campaign, plain, level)
    return say("nothing says when that is reached: {hidden}", hidden=hidden) if hidden else ""


def _calibration(campaign: Campaign, folder: Path | None) -> CalibrationOutcome | None:
    if folder is None or campaign.calibration is None:
        return None
    try:
        return calibrate_folder(folder)
    except StrikeproofError:  # said where the campaign is loaded
        return None


def _share_allowed(bolt: Bolt) -> float:
    """What is allowed, as a share of the proof load: less than the campaign says where twist asks for it."""
    load, parts = bolt.allowed_load(), bolt.parts()
    if load is None or parts is None or parts.property_class is None:
        return bolt.largest_proof_share
    return load / proof_load(parts.thread, parts.property_class)


def _share_words(share: float) -> str:
    return say("{share} of the bolt's proof load", share=write_percent(100.0 * share, sign=False, decimals=0))


def highest_level(levels: FloatArray) -> float | None:
    """Highest level that buckets held for a tenth of a second; the front of a blow is no load."""
    if not len(levels):
        return None
    wide = min(SETTLED, len(levels))
    return float(np.median(sliding_window_view(levels, wide), axis=-1).max())
