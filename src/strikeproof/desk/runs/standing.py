"""Whether a run counts: exclude it with a reason, include it again, and show its history."""

from __future__ import annotations

from pathlib import Path

from strikeproof.campaign.kept import Event
from strikeproof.desk.workspace.opening import open_campaign
from strikeproof.errors import BadInput
from strikeproof.plain_text import TextKind, accept_text

__all__ = ["put_run_back", "read_reason", "set_run_aside", "tell_event", "tell_history"]

_EVENTS = {"set aside": "excluded", "put back": "included again"}
"""What is said of an event whose name in the store says it in other words."""


def read_reason(text: str, where: str = "reason") -> str:
    """A reason as it is saved: on one line, a few words at least.

    Raises
    ------
    BadInput
        If it is empty, too long or holds what no text may hold.
    """
    reason = accept_text(text, TextKind.NOTE, where)
    if not reason:
        raise BadInput("the reason is empty", where=where, allowed="a few words", fix="say why")
    return reason


def set_run_aside(workspace: Path, campaign: str | None, name: str, because: str) -> str:
    """Set a run aside; returns a sentence that says so.

    Raises
    ------
    BadInput, NotFound
        If the reason is empty, too long or holds what no text may hold, or there is no such run.
    """
    reason = read_reason(because)
    store, key, _campaign = open_campaign(workspace, campaign)
    run = store.find_run(key, name)
    if run.set_aside == reason:
        return f"run {name} is excluded already: {reason}"
    store.set_aside(run, reason)
    return f"run {name} is excluded: {reason}"


def put_run_back(workspace: Path, campaign: str | None, name: str) -> str:
    """Let a run count again; returns a sentence that says so.

    Raises
    ------
    NotFound
        If there is no such run.
    """
    store, key, _campaign = open_campaign(workspace, campaign)
    run = store.find_run(key, name)
    if run.set_aside is None:
        return f"run {name} is included already"
    store.put_back(run)
    return f"run {name} is included again (it was excluded: {run.set_aside})"


def tell_history(workspace: Path, campaign: str | None, name: str) -> list[tuple[str, ...]]:
    """One row for each thing said of a run: when, what, why, by whom."""
    store, key, _campaign = open_campaign(workspace, campaign)
    events = store.history(store.find_run(key, name))
    return [tell_event(event) for event in events]


def tell_event(event: Event) -> tuple[str, str, str, str]:
    """When, what, why and by whom; of a log that was replaced, which one counted before."""
    why = event.because or ""
    if event.trace is not None:
        why += f" (before: {event.trace.original_name}, SHA-256 {event.trace.original_sha256})"
    return event.at, _EVENTS.get(event.kind, event.kind), why, event.by
