"""The recordings that are stored beside runs, each with what it says of its run's trace."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from strikeproof.campaign.kept import StoredRun
from strikeproof.campaign.records import Campaign
from strikeproof.campaign.store import Store
from strikeproof.desk.calibrating.worth import Worth
from strikeproof.desk.runs.hearing import hear_original
from strikeproof.desk.runs.judged import JudgedCampaign, judge_chosen
from strikeproof.desk.workspace.results_version import SCORES
from strikeproof.errors import BadFile, StoreError
from strikeproof.trace import RunFacts, SoundCheck, check_sound

__all__ = ["KeptSound", "find_sounds", "runs_with_sounds"]


@dataclass(frozen=True, slots=True)
class KeptSound:
    """A run's recording beside its trace.

    Attributes
    ----------
    recording
        As the person's file was called.
    verdict, reasons
        Whether the two agree; why not, or why that is not known.
    blows, blows_uncertainty, blow_rate_hz
        Found in it; None where it cannot tell.
    """

    recording: str
    verdict: str
    reasons: tuple[str, ...]
    blows: int | None
    blows_uncertainty: float | None
    blow_rate_hz: float | None


def runs_with_sounds(store: Store, judged: JudgedCampaign) -> list[dict[str, Any]]:
    """Every run as the command line prints it, with its sound or null."""
    sounds = find_sounds(
        store, judged.key, judged.campaign, [run.stored for run in judged.runs], judged.worth
    )
    return [run.as_json() | {"sound": sounds.get(run.stored.row.run)} for run in judged.runs]


def find_sounds(
    store: Store, key: int, campaign: Campaign, runs: Sequence[StoredRun], worth: Worth
) -> Mapping[str, KeptSound]:
    """What the recordings of these runs say, by run; one is only listened to once."""
    kept = store.sounds(key)
    chosen = [run for run in runs if run.row.run in kept]
    if not chosen:
        return {}
    facts = [each for _judged, each in judge_chosen(store, campaign, chosen, worth)]
    return {
        run.row.run: _hear(store, *kept[run.row.run], seen) for run, seen in zip(chosen, facts, strict=True)
    }


def _hear(store: Store, digest: str, name: str, seen: RunFacts | None) -> KeptSound:
    """What one recording says, stored by all that it depends on, how it is worked out included."""
    blows = "" if seen is None else hashlib.sha256(seen.blow_times.tobytes()).hexdigest()
    key = hashlib.sha256(json.dumps(["sound", SCORES, digest, blows]).encode()).hexdigest()
    said = store.facts([key]).get(key)
    if said is None:
        try:
            said = _listen(store, digest, name, seen)
        except (BadFile, StoreError) as wrong:  # its library is gone, or its file: the runs are shown
            return KeptSound(name, "cannot tell", (wrong.problem,), None, None, None)
        store.keep_facts({key: said})
    return KeptSound(name, **{**said, "reasons": tuple(said["reasons"])})


def _listen(store: Store, digest: str, name: str, seen: RunFacts | None) -> dict[str, Any]:
    heard = hear_original(store.originals, digest, name)
    check = SoundCheck("cannot tell", ("the run has no log",)) if seen is None else check_sound(seen, heard)
    return {
        "verdict": check.verdict,
        "reasons": list(check.reasons),
        "blows": heard.count,
        "blows_uncertainty": heard.count_uncertainty,
        "blow_rate_hz": heard.rate_hz,
    }
