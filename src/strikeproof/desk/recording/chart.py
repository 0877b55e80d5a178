"""The run so far: its score by the campaign's rule, and the picture of it against earlier runs."""

from __future__ import annotations

import numpy as np

from strikeproof.campaign.records import Campaign
from strikeproof.capture.buckets import Envelope
from strikeproof.capture.watch import RunWatch
from strikeproof.desk.calibrating.worth import Worth
from strikeproof.desk.recording.remaining import OpenRun
from strikeproof.desk.recording.rig import LiveRig
from strikeproof.desk.recording.views import Band, LiveChart, LiveScore
from strikeproof.desk.safety.bolt_limit import SETTLED, find_limit, highest_level
from strikeproof.quantity import FloatArray

__all__ = ["live_chart", "live_score"]


def _net(campaign: Campaign, rig: LiveRig, zero: float, reading: FloatArray) -> FloatArray:
    """Readings net of zero, positive in the campaign's direction, in the rig's unit."""
    sign = 1.0 if campaign.protocol.direction == "tighten" else -1.0
    return sign * rig.factor * (reading - zero)


def live_score(
    campaign: Campaign,
    worth: Worth,
    level_reading: float | None,
    run: OpenRun,
    watch: RunWatch,
    rig: LiveRig,
) -> LiveScore:
    """Level and score so far; the final score is found in the whole trace."""
    began, zero = watch.began or 0.0, watch.calm.zero if watch.calm else 0.0
    shown = rig.buckets.since(began)
    net = _net(campaign, rig, zero, shown.mean)
    since, levels = shown.time - began, worth.levels(net)
    score, unit = _score(campaign, worth, level_reading, since, net)
    return LiveScore(
        run=run.run,
        article=run.cells["article"],
        elapsed_s=max(rig.now - began, 0.0),
        duration_s=campaign.protocol.duration_s,
        level=float(np.median(levels[-SETTLED:])) if levels.size else None,
        level_unit=worth.unit,
        score=score,
        score_unit=unit,
        highest=highest_level(levels),
        allowed=find_limit(campaign, worth).level,
    )


def _score(
    campaign: Campaign, worth: Worth, level_reading: float | None, since: FloatArray, net: FloatArray
) -> tuple[float | None, str]:
    rule = campaign.protocol.score
    if rule.kind == "time to":
        reached = np.flatnonzero(net >= level_reading) if level_reading is not None else np.empty(0, int)
        return (float(since[reached[0]]) if reached.size else None), "s"
    until = rule.at_s if rule.kind == "at" and rule.at_s is not None else campaign.protocol.duration_s
    inside = net[since <= until]
    if not inside.size or (rule.kind == "at" and since[-1] < until):
        return None, worth.unit
    value = float(inside.max()) if rule.kind == "peak" else float(np.median(inside[-SETTLED:]))
    return float(worth.levels(np.array([value]))[0]), worth.unit


def live_chart(
    campaign: Campaign,
    worth: Worth,
    rig: LiveRig | None,
    watch: RunWatch | None,
    run: OpenRun | None,
    band: Band | None,
    seconds: float,
) -> LiveChart:
    """The run that is recorded, from a second before its first blow, or the last `seconds`."""
    if rig is None or watch is None:
        shown, origin, zero = Envelope.empty(), 0.0, 0.0
    else:
        began = watch.began if run is not None else None
        origin = rig.now if began is None else began
        shown = rig.buckets.since(origin - (seconds if began is None else 1.0))
        zero = watch.calm.zero if watch.calm else float(np.median(shown.mean)) if shown.mean.size else 0.0
    low, high = shown.low, shown.high
    if rig is not None:
        low, high = (worth.levels(_net(campaign, rig, zero, each)) for each in (low, high))
        low, high = np.minimum(low, high), np.maximum(low, high)
    return LiveChart(
        time=shown.time - origin,
        low=low,
        high=high,
        unit=worth.unit,
        run=None if run is None else run.run,
        duration_s=campaign.protocol.duration_s,
        band=band,
        allowed=find_limit(campaign, worth).level,
    )
