"""The bolt at the rig: whether one was overloaded, and by which run, as the stored runs themselves say.

Nothing of this is saved besides: a recorder that starts again finds the same.
"""

from __future__ import annotations

import contextlib
from collections.abc import Collection, Sequence

from strikeproof.campaign.kept import StoredRun
from strikeproof.campaign.records import Campaign
from strikeproof.campaign.store import Store
from strikeproof.desk.calibrating.worth import Worth
from strikeproof.desk.recording.views import SpentBolt
from strikeproof.desk.runs.judged import JudgedRun, judge_chosen
from strikeproof.desk.runs.overload import Strains, bolt_of
from strikeproof.desk.safety.bolt_limit import find_limit
from strikeproof.errors import StoreError, StrikeproofError

__all__ = ["BoltLog", "latest_run"]


def latest_run(kept: Collection[StoredRun]) -> StoredRun | None:
    """The run made last: by its start where it gives one, else the last on the sheet."""
    return max(kept, key=lambda run: (run.row.started or "", run.ordinal), default=None)


class BoltLog:
    """Which bolts of a campaign were overloaded, by its limit at this time or by an earlier one.

    Attributes
    ----------
    confirmed
        Bolt that a person has named as the new one since this recorder started; None when nobody has.
    """

    def __init__(self, store: Store, campaign: Campaign, worth: Worth) -> None:
        self._store, self._campaign, self._worth = store, campaign, worth
        self._known: dict[int, str | None] = {}
        self.confirmed: str | None = None

    def renew(self, campaign: Campaign, worth: Worth) -> None:
        """Go by another limit from now on."""
        self._campaign, self._worth, self._known = campaign, worth, {}

    def overloaded_in(self, bolt: str | None, kept: Collection[StoredRun]) -> StoredRun | None:
        """The last run that overloaded a bolt, excluded ones too; None where none did."""
        runs = [run for run in kept if bolt_of(self._campaign, run) == bolt]
        self._judge(runs)
        return latest_run([run for run in runs if self._known[run.key] is not None])

    def find_spent(self, bolt: str | None, kept: Collection[StoredRun], fresh: str) -> SpentBolt | None:
        """The overloaded bolt that must be out before the next run; None when nothing is in the way.

        It is the bolt that the next run is planned on, or that of the run made last: that the plan has
        another one next does not say that it was changed.

        Parameters
        ----------
        bolt
            That the next run is planned on.
        fresh
            What a new bolt may be called.
        """
        run = self.overloaded_in(bolt, kept)
        last = latest_run(kept)
        if run is None and last is not None and (bolt is None or bolt != self.confirmed):
            self._judge([last])
            run, fresh = (last, bolt or fresh) if self._known[last.key] is not None else (None, fresh)
        if run is None:
            return None
        return SpentBolt(run.row.run, bolt_of(self._campaign, run), self._known[run.key] or "", fresh)

    def bolt_in(self, kept: Collection[StoredRun]) -> str | None:
        """The bolt in the rig as far as anybody has said, spent or not; None where that is not known."""
        last = latest_run(kept)
        latest = None if last is None else bolt_of(self._campaign, last)
        named = self.confirmed
        return named if named is not None and self.overloaded_in(named, kept) is None else latest

    def _judge(self, runs: Sequence[StoredRun]) -> None:
        """Know of each how it was an overload, None where it was none; its history says it from then on."""
        fresh = [run for run in runs if run.key not in self._known]
        if not fresh:
            return
        past = self._store.overloads([run.key for run in fresh])
        self._known |= {run.key: past[run.key].words if run.key in past else None for run in fresh}
        is_watched = find_limit(self._campaign, self._worth).level is not None
        judged = self._find([run for run in fresh if is_watched or run.key in past])
        found = {each.stored.key: each.overload for each in judged if each.overload is not None}
        self._known |= {each.stored.key: each.past_overload for each in judged}
        self._known |= {key: str(each) for key, each in found.items()}
        share = self._campaign.bolt.largest_proof_share
        with contextlib.suppress(StoreError):  # on a full disk, say; it is said when it is found again
            self._store.keep_overloads(Strains(found, {}).history(share))

    def _find(self, runs: Sequence[StoredRun]) -> tuple[JudgedRun, ...]:
        """The runs that can be examined, judged by the limit as it is."""
        try:
            judged = judge_chosen(self._store, self._campaign, runs, self._worth) if runs else ()
        except StrikeproofError:
            return () if len(runs) == 1 else tuple(each for run in runs for each in self._find([run]))
        return tuple(each for each, _facts in judged)
