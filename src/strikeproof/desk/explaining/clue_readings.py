"""What the logs of a campaign hold beside its scores: points of the growth curves, peak torques of blows."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterator, Sequence

import numpy as np

from strikeproof.campaign.flags import find_flag
from strikeproof.campaign.store import Store
from strikeproof.capture import pick_name
from strikeproof.desk.runs.judged import JudgedCampaign, JudgedRun
from strikeproof.desk.workspace.results_version import EXPLANATIONS
from strikeproof.errors import StoreError
from strikeproof.explain import Reading
from strikeproof.quantity import FloatArray, kind_of_unit, to_si

__all__ = ["SHARES", "find_readings", "usual_peak"]

SHARES = (0.15, 0.4)
"""Of the duration, at which growth curves are read: early, where blows still move much, and half-way up."""
_FAST_HZ = 5000.0
"""Sampling below which the pulse of a blow, a millisecond or two long, is not seen whole (usual practice)."""
_LEAST_SHARE = 0.02  # of the score; a level below that is not above its zero for sure

Readings = dict[Reading, dict[str, float]]


def find_readings(store: Store, judged: JudgedCampaign, duration: float) -> Readings:
    """Levels at `SHARES` of the duration in the score's unit, and peak torques [N·m], by the run's name.

    A reading that no run has is left out.
    """
    sound = [
        run
        for run in judged.runs
        if run.stored.set_aside is None and all(find_flag(flag.kind).evidence for flag in run.flags)
    ]
    found: Readings = {share: dict(_levels(sound, share * duration)) for share in SHARES}
    found["peak"] = dict(_peaks(store, judged, sound))
    return {reading: values for reading, values in found.items() if values}


def _levels(runs: Sequence[JudgedRun], at: float) -> Iterator[tuple[str, float]]:
    """Level of every growth curve that reaches so far. [score's unit]"""
    for run in runs:
        if run.score is None or run.score <= 0.0 or not run.growth_time.size or run.growth_time[-1] < at:
            continue
        level = float(np.interp(at, run.growth_time, run.growth_level))
        if level > _LEAST_SHARE * run.score:
            yield run.stored.row.run, level


def _peaks(store: Store, judged: JudgedCampaign, runs: Sequence[JudgedRun]) -> Iterator[tuple[str, float]]:
    """The usual peak of a run's blows where a torque was logged fast enough beside the score. [N·m]"""
    wanted = {run.stored.row.run: found for run in runs if (found := _torque_channel(judged, run))}
    keys = {name: _key(*each) for name, each in wanted.items()}
    kept = store.facts(keys.values())
    for run in runs:
        name = run.stored.row.run
        if name not in wanted or run.stored.trace is None or run.blow_rate_hz is None:
            continue
        if keys[name] not in kept:
            channel, unit = wanted[name][1:]
            try:
                time, reading = store.samples(run.stored.trace, channel)
            except StoreError:  # missing or damaged: where the run is examined it is said
                continue
            peak = usual_peak(time, to_si(1.0, unit, "torque") * reading, run.blow_rate_hz)
            kept[keys[name]] = peak
            store.keep_facts({keys[name]: peak})
        if kept[keys[name]]:
            yield name, float(kept[keys[name]])


def _key(sha256: str, channel: str, unit: str) -> str:
    return hashlib.sha256(json.dumps(["peak", EXPLANATIONS, sha256, channel, unit]).encode()).hexdigest()


def _torque_channel(judged: JudgedCampaign, run: JudgedRun) -> tuple[str, str, str] | None:
    """Trace, name and unit of the one fast channel in a unit of torque beside the score's."""
    trace = run.stored.trace
    if trace is None or trace.sample_rate_hz < _FAST_HZ:
        return None
    names = [name for name, _unit in trace.channels]
    score = pick_name(
        names,
        run.stored.row.judged_channel(judged.campaign.on_rig(run.stored.row.rig).rig),
        trace.original_name,
    )
    found = [
        (trace.sha256, name, unit)
        for name, unit in trace.channels
        if name != score and unit and kind_of_unit(unit) == "torque"
    ]
    return found[0] if len(found) == 1 else None


def usual_peak(time: FloatArray, torque: FloatArray, blow_rate: float) -> float:
    """Median of the peaks of the later half of the blows, above the torque at rest; 0 where there are none.

    The log is cut into stretches of one blow each; one whose peak is below half of the largest holds none.
    """
    good = np.isfinite(torque)
    time, torque = time[good], torque[good]
    if time.size < 2:
        return 0.0
    number = ((time - time[0]) * blow_rate).astype(np.int64)
    starts = np.flatnonzero(np.diff(number, prepend=-1))
    peaks = np.maximum.reduceat(np.abs(torque - np.median(torque)), starts)
    blows = peaks[peaks > 0.5 * np.quantile(peaks, 0.98)]
    return float(np.median(blows[blows.size // 2 :])) if blows.size > 10 else 0.0
