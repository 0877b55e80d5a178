"""What the rig shows against the cell's own zero: a bolt that is tight before its run is under load."""

from __future__ import annotations

from typing import Final

import numpy as np

from strikeproof.campaign.kept import StoredRun
from strikeproof.desk.calibrating.worth import Worth
from strikeproof.desk.safety.bolt_limit import BoltLimit

__all__ = ["LOADED_SHARE", "OWN_ZERO", "has_own_zero", "is_off_zero", "level_at", "stands_loaded"]

LOADED_SHARE: Final = 0.05
"""Of the load that stops a run: a reading further off the cell's own zero is a load, not a drift of the
zero (estimate, no source)."""

OWN_ZERO: Final = "own-zero"
"""The flag of a run before which a person said that the bolt was loose."""


def level_at(worth: Worth, net: float) -> float:
    """One net reading as a level."""
    return float(worth.levels(np.array([net]))[0])


def stands_loaded(limit: BoltLimit, level: float, noise: float) -> bool:
    """Whether a level before a run is a load on the bolt that should not be there.

    Never so where nothing watches, and where the bolt is to be loosened.

    Parameters
    ----------
    level, noise
        As `is_off_zero`.
    """
    return not limit.loosens and is_off_zero(limit, level, noise)


def is_off_zero(limit: BoltLimit, level: float, noise: float) -> bool:
    """Whether a level is more than a drift of the zero; never so where nothing watches.

    Parameters
    ----------
    level
        Off the cell's own zero, positive or negative.
    noise
        What the level may be off by chance.
    """
    return limit.level is not None and abs(level) > max(LOADED_SHARE * limit.level, noise)


def has_own_zero(run: StoredRun) -> bool:
    """Whether a person said before a run that its bolt was loose, so that its own zero is the cell's."""
    return run.trace is not None and any(each["kind"] == OWN_ZERO for each in run.trace.findings)
