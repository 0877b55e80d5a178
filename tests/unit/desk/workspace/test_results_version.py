"""Saved results of an older program are never shown: a changed result changes every key."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from tests.frozen_results import CHANGED, SCORES_RELATIVE, differences, read_expected, score_results
from tests.unit.desk.logged import write_logged

import strikeproof.desk.runs.facts as facts_of_runs
from strikeproof.desk.loading.load import load_campaign
from strikeproof.desk.runs.run_list import find_run_list, make_run_list
from strikeproof.desk.workspace import results_version
from strikeproof.errors import StoreError
from strikeproof.trace import RunFacts, TraceSettings


def test_a_score_that_changes_raises_the_version_of_scores(tmp_path: Path) -> None:
    expected = read_expected("scores")
    found = differences(score_results(tmp_path), expected["results"], SCORES_RELATIVE)
    assert not found, "\n".join([CHANGED.format(name="SCORES"), *found[:20]])
    assert expected["version"] == results_version.SCORES, CHANGED.format(name="SCORES")


def test_the_version_is_in_the_key_of_every_saved_score(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What makes a score may lie in any room; the number alone says whether saved ones still hold."""
    lab = tmp_path / "lab"
    load_campaign(write_logged(tmp_path / "campaign"), lab)
    make_run_list(lab, None)
    asked: list[TraceSettings] = []
    examine = facts_of_runs.examine_trace

    def count(*samples: object, settings: TraceSettings) -> RunFacts:
        asked.append(settings)
        return examine(*samples, settings=settings)  # type: ignore[arg-type]  # the two arrays

    monkeypatch.setattr(facts_of_runs, "examine_trace", count)
    make_run_list(lab, None)
    assert not asked and find_run_list(lab, None) is not None
    for room in ("runs.facts", "runs.run_list"):
        monkeypatch.setattr(f"strikeproof.desk.{room}.SCORES", results_version.SCORES + 1)
    assert find_run_list(lab, None) is None
    make_run_list(lab, None)
    assert len(asked) == 8


def test_a_list_of_runs_needs_no_room_on_the_disk(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    lab = tmp_path / "lab"
    load_campaign(write_logged(tmp_path / "campaign"), lab)

    @contextmanager
    def full(_engine: object) -> Iterator[None]:
        raise StoreError("the store: database or disk is full", "free some disk space")
        yield

    with monkeypatch.context() as patched:
        patched.setattr("strikeproof.campaign.store.writing", full)
        made = make_run_list(lab, None)
    assert len(made.lines) == 8 and made == make_run_list(lab, None)
