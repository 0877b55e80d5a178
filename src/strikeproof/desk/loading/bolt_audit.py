"""A campaign's runs against what its bolt may carry, as it was and as it is: said as soon as they are loaded.

That a run was beyond its limit stays in its history, whatever the campaign says of its bolt later.
"""

from __future__ import annotations

from dataclasses import dataclass

from strikeproof.campaign.kept import StoredRun
from strikeproof.campaign.records import Campaign
from strikeproof.campaign.store import Store
from strikeproof.desk.calibrating.worth import Worth, find_worth
from strikeproof.desk.runs.facts import NotExamined, find_facts
from strikeproof.desk.runs.full_scale import find_proven_limit
from strikeproof.desk.runs.judged import by_rig, in_time_order, trace_tasks
from strikeproof.desk.runs.overload import (
    Strains,
    find_overloads,
    later_on_bolt,
    overload_warnings,
    suspects,
)
from strikeproof.desk.safety.bolt_limit import BoltLimit, find_limit, unwatched_words
from strikeproof.errors import StrikeproofError
from strikeproof.quantity import unit_label, write_number
from strikeproof.trace import RunFacts

__all__ = ["BoltAudit", "audit_bolts"]


@dataclass(frozen=True, slots=True)
class BoltAudit:
    """The overloads among some runs in time order, by their keys, and why others could not be checked.

    `off_scale` is that logs read more than the rig's full scale, in words; empty where none does.
    """

    limit: BoltLimit
    runs: tuple[StoredRun, ...]
    strains: Strains
    unknown: tuple[str, ...]
    off_scale: str = ""

    @property
    def names(self) -> tuple[str, ...]:
        """The runs beyond the limit."""
        return tuple(run.row.run for run in self.runs if run.key in self.strains.now)

    def warnings(self, campaign: Campaign) -> tuple[str, ...]:
        """What a person should know of it; a bolt that was beyond an earlier limit is still one."""
        later = later_on_bolt(campaign, self.runs, self.strains.keys)
        blind = (unwatched_words(self.limit),) if self.runs and self.limit.unwatched else ()
        doubt = (*filter(None, (self.off_scale, self.limit.doubt)),)
        return (*overload_warnings(self.runs, self.strains.now, later), *self.unknown, *blind, *doubt)

    def since(self, before: BoltAudit) -> tuple[str, ...]:
        """What another limit, zero or calibration than before makes of the runs; nothing where it is the
        same."""
        known = {run.row.run for run in before.runs}
        ended = [run for run in self.runs if run.key in before.strains.now.keys() - self.strains.now.keys()]
        stay = [run.row.run for run in ended if run.key in self.strains.past]
        cleared = [run.row.run for run in ended if run.key not in self.strains.past]
        begun = [name for name in self.names if name in known and name not in before.names]
        said = []
        if (now := _limit_words(self.limit)) != (was := _limit_words(before.limit)):
            said.append(f"the bolt's limit is {now} now, was {was}")
        elif not (ended or begun):
            return ()
        else:
            said.append("by what the readings are known to be worth now")
        if stay:
            said.append(
                f"no longer beyond it: {', '.join(stay)}; their history keeps that they were, and their "
                "bolts stay spent"
            )
        if cleared:
            said.append(f"never beyond the bolt's limit: {', '.join(cleared)}")
        if begun:
            said.append(f"beyond it now: {', '.join(begun)}")
        return ("; ".join(said),)


def _limit_words(limit: BoltLimit) -> str:
    if limit.level is None:
        return "none, since nothing watches"
    return f"{write_number(limit.level, 4)} {unit_label(limit.unit)}"


def audit_bolts(store: Store, key: int, campaign: Campaign) -> BoltAudit | str:
    """The overloads of a campaign's runs, put down in their history; why, where they cannot be found.

    No log is examined in vain.
    """
    runs = in_time_order(store.runs(key))
    try:
        worth = find_worth(store, key, campaign)
        audits = [_audit_rig(store, on, worth.on(on.rig.name), mine) for on, mine in by_rig(campaign, runs)]
    except StrikeproofError as wrong:
        return f"the runs were not checked for overload of the bolt: {wrong}"
    if not audits:
        limit = find_limit(campaign.on_rig(None), worth.on(campaign.rig.name))
        return BoltAudit(limit, (), Strains({}, {}), ())
    for each in audits:
        store.keep_overloads(each.strains.history(campaign.bolt.largest_proof_share))
    return BoltAudit(
        next((each.limit for each in audits if each.limit.unwatched), audits[0].limit),
        tuple(runs),
        Strains(
            {key: one for each in audits for key, one in each.strains.now.items()},
            {key: one for each in audits for key, one in each.strains.past.items()},
        ),
        tuple(said for each in audits for said in each.unknown),
        "; ".join(each.off_scale for each in audits if each.off_scale),
    )


def _audit_rig(store: Store, campaign: Campaign, worth: Worth, runs: tuple[StoredRun, ...]) -> BoltAudit:
    tasks = trace_tasks(campaign, runs, worth)
    past = store.overloads([run.key for run in runs])
    wanted = tuple(dict.fromkeys((*suspects(store, campaign, worth, tasks), *(past.keys() & tasks.keys()))))
    seen = dict(zip(wanted, find_facts(store, [tasks[each] for each in wanted]), strict=True))
    facts = {key: each for key, each in seen.items() if isinstance(each, RunFacts)}
    chosen = [run for run in runs if run.key not in tasks or run.key in facts]
    strains = find_overloads(store, campaign, worth, chosen, facts, tasks)
    limit, off_scale = find_proven_limit(store, campaign, worth, runs, tasks)
    unknown = tuple(
        f"run {run.row.run} was not checked for overload of the bolt: {why}"
        for run in runs
        if isinstance(why := seen.get(run.key), NotExamined)
    )
    return BoltAudit(limit, runs, strains, unknown, off_scale)
