"""Everything computed again from a campaign folder, in an empty workspace."""

from __future__ import annotations

import shutil
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path

from strikeproof.campaign.records import Campaign
from strikeproof.campaign.store import Store, open_store
from strikeproof.desk.comparing.compare import ComparisonOutcome, compare_judged
from strikeproof.desk.loading.load import load_campaign
from strikeproof.desk.publishing.bundle.form import CAMPAIGN
from strikeproof.desk.publishing.report import build_report
from strikeproof.desk.runs.judged import judge_runs
from strikeproof.errors import StoreError
from strikeproof.publish.data.agreement import Agreement, compare_table
from strikeproof.publish.data.tables import result_tables
from strikeproof.publish.report import Report

__all__ = ["compare_folder", "compute_checked", "compute_folder"]

Progress = Callable[..., None]


def compute_checked(
    store: Store,
    key: int,
    campaign: Campaign,
    folder: Path,
    lab: Path,
    command: str,
    made: str,
    progress: Progress | None,
) -> Report:
    """The report of a bundle's own campaign folder, with the explanation that the workspace has.

    Raises
    ------
    StoreError
        If it does not say what the workspace shows.
    """
    shown, _outcome = build_report(store, key, campaign, command, made=made)
    again = compute_folder(folder / CAMPAIGN, lab, command, made, progress)
    for ours, theirs in zip(result_tables(again), result_tables(shown), strict=True):
        found = _only_numbers(compare_table(ours, [each.name for each in theirs.columns], theirs.rows))
        if not found.agrees:
            first = found.differences[0]
            raise StoreError(
                f"no bundle: its logs give {first.found} for {first.row} ({first.column}), "
                f"the workspace shows {first.stated}",
                "load the campaign again, look at what changed, then make the bundle",
            )
    return replace(again, why=shown.why)


def _only_numbers(found: Agreement) -> Agreement:
    """Without texts, which differ where remarks were taken out or a log got a name that any disk can hold."""
    kept = (
        each
        for each in found.differences
        if not each.column or not (isinstance(each.stated, str) or isinstance(each.found, str))
    )
    return replace(found, differences=tuple(kept))


def compute_folder(
    home: Path, lab: Path, command: str, made: str, progress: Progress | None = None
) -> Report:
    """Load a campaign folder into a new workspace and report on it, without an explanation.

    Raises
    ------
    StoreError
        If not all of its runs can be loaded.
    StrikeproofError
        If there is nothing to report on.
    """
    with _loaded(home, lab, progress) as (store, key, campaign):
        return build_report(store, key, campaign, command, progress, why=False, made=made)[0]


def compare_folder(home: Path, lab: Path, progress: Progress | None = None) -> ComparisonOutcome:
    """Load a campaign folder into a new workspace and compare its articles.

    Raises
    ------
    StoreError
        If none of its runs can be loaded.
    StrikeproofError
        If no run has a score.
    """
    with _loaded(home, lab, progress) as (store, key, campaign):
        return compare_judged(judge_runs(store, key, campaign, progress))


@contextmanager
def _loaded(home: Path, lab: Path, progress: Progress | None) -> Iterator[tuple[Store, int, Campaign]]:
    outcome = load_campaign(home, lab, progress)
    if outcome.problems and outcome.runs_loaded == 0:
        raise StoreError(f"nothing can be computed again: {outcome.problems[0]}", "see that problem")
    loaded = open_store(lab)
    try:
        yield loaded, *loaded.campaign(outcome.campaign)
    finally:
        loaded.engine.dispose()
        shutil.rmtree(lab / "traces", ignore_errors=True)
