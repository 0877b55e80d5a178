"""A campaign's runs against what its bolt may carry, told as soon as they are loaded."""

from __future__ import annotations

from strikeproof.campaign.records import Campaign
from strikeproof.campaign.store import Store
from strikeproof.desk.calibrating.worth import find_worth
from strikeproof.desk.runs.facts import NotExamined, find_facts
from strikeproof.desk.runs.judged import in_time_order, trace_tasks
from strikeproof.desk.runs.overload import find_overloads, later_on_bolt, overload_warnings, suspects
from strikeproof.errors import StrikeproofError
from strikeproof.trace import RunFacts

__all__ = ["audit_bolts"]


def audit_bolts(store: Store, key: int, campaign: Campaign) -> tuple[str, ...]:
    """What a person should know of overloads among the runs of a campaign; no log is examined in vain."""
    runs = in_time_order(store.runs(key))
    try:
        worth = find_worth(store, key, campaign)
        tasks = trace_tasks(campaign, runs, worth)
        wanted = suspects(store, campaign, worth, tasks)
        seen = dict(zip(wanted, find_facts(store, [tasks[each] for each in wanted]), strict=True))
        facts = {key: each for key, each in seen.items() if isinstance(each, RunFacts)}
        chosen = [run for run in runs if run.key not in tasks or run.key in facts]
        overloads = find_overloads(store, campaign, worth, chosen, facts, tasks)
    except StrikeproofError as wrong:
        return (f"the runs were not checked for overload of the bolt: {wrong}",)
    unknown = (
        f"run {run.row.run} was not checked for overload of the bolt: {why}"
        for run in runs
        if isinstance(why := seen.get(run.key), NotExamined)
    )
    return (*overload_warnings(runs, overloads, later_on_bolt(campaign, runs, overloads)), *unknown)
