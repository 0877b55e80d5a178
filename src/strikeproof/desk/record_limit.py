"""The most that the test bolt may carry, as the recorder minds it."""

from __future__ import annotations

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view

from strikeproof.campaign.records import Campaign
from strikeproof.desk.worth import Worth, level_of_load
from strikeproof.joint import allowed_clamp_load, parse_class, parse_thread
from strikeproof.quantity import FloatArray, write_number, write_percent

__all__ = ["SETTLED", "allowed_level", "allowed_load", "highest_level", "tell_limit"]

SETTLED = 5
"""Buckets, a tenth of a second: between the fronts of two blows."""


def allowed_load(campaign: Campaign) -> float | None:
    """Clamp load that the campaign allows its bolt; None where thread or class is not known. [N]"""
    bolt = campaign.bolt
    if not bolt.thread or not bolt.property_class:
        return None
    return allowed_clamp_load(
        parse_thread(bolt.thread), parse_class(bolt.property_class), bolt.largest_proof_share
    )


def tell_limit(campaign: Campaign) -> str | None:
    """The same as something to heed."""
    load = allowed_load(campaign)
    if load is None:
        return None
    share = write_percent(100.0 * campaign.bolt.largest_proof_share, sign=False, decimals=0)
    return f"stop below {write_number(load / 1000, 3)} kN of clamp load: {share} of the bolt's proof load"


def allowed_level(campaign: Campaign, worth: Worth) -> float | None:
    """The same as a level of the rig; None where that cannot be told, or the bolt is loosened."""
    load = allowed_load(campaign)
    if load is None or campaign.protocol.direction != "tighten":
        return None
    return level_of_load(worth, load)


def highest_level(levels: FloatArray) -> float | None:
    """Highest that the levels of buckets stood at for a tenth of a second; the front of a blow is no load."""
    if not len(levels):
        return None
    wide = min(SETTLED, len(levels))
    return float(np.median(sliding_window_view(levels, wide), axis=-1).max())
