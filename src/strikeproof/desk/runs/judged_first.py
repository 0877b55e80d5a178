"""One run to show by itself, beside others: in plain readings where the calibration does not cover it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from strikeproof.campaign.kept import StoredRun
from strikeproof.campaign.records import Campaign
from strikeproof.campaign.store import Store
from strikeproof.desk.calibrating.worth import Worth, leave_plain
from strikeproof.desk.runs.judged import JudgedRun, judge_chosen
from strikeproof.trace import RunFacts

__all__ = ["judge_first"]


def judge_first(
    store: Store,
    campaign: Campaign,
    chosen: Sequence[StoredRun],
    worth: Worth,
    *,
    calibrated: Worth | None = None,
) -> tuple[Worth, tuple[tuple[JudgedRun, RunFacts | None], ...]]:
    """As `judge_chosen`, for the sake of the first of them, with the worth that all were judged by.

    What is only a ratio has no calibrated value: where the calibration does not cover the first run, all are
    plain readings, as the whole campaign is where that run counts.
    """
    calibrated = calibrated or worth
    judged = judge_chosen(store, campaign, chosen, worth, calibrated=calibrated)
    reason = judged[0][0].only_ratio
    if reason is None or worth.on(campaign.rig_of(chosen[0].row)).calibration is None or worth.is_mixed:
        return worth, judged
    worth = leave_plain(worth, campaign, reason)
    (first, facts), *rest = judge_chosen(store, campaign, chosen, worth, calibrated=calibrated)
    return worth, ((replace(first, flags=judged[0][0].flags), facts), *rest)
