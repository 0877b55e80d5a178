"""Which run comes next: the sheet's lines that are not made yet, second tries, bolts and their budget."""

from __future__ import annotations

import re
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass

from strikeproof.campaign.kept import StoredRun
from strikeproof.errors import NotFound

__all__ = [
    "Cells",
    "OpenRun",
    "block_lines",
    "find_next",
    "insert_after_made",
    "must_know",
    "name_attempt",
    "name_bolt",
    "plan_state",
]

Cells = dict[str, str]


@dataclass(frozen=True, slots=True)
class OpenRun:
    """A planned run that is still to be made: its next try's cells and name, and where it is."""

    cells: Cells
    planned: str
    run: str
    attempt: int
    place: int
    total: int
    done: int


def _planned(name: str, names: Collection[str]) -> str:
    """The planned run that a try belongs to: r012 of r012-2, where there is an r012."""
    family = re.sub(r"-(?:[2-9]|[1-9]\d+)$", "", name)
    return family if family in names else name


def name_attempt(planned: str, attempt: int) -> str:
    """The name of a planned run's n-th try."""
    return planned if attempt == 1 else f"{planned}-{attempt}"


def must_know(kind: str, names: Collection[str], known: Collection[str]) -> None:
    """See that a campaign has what a run is planned with.

    Raises
    ------
    NotFound
        If it has not.
    """
    for name in names:
        if name not in known:
            raise NotFound(kind, name, known)


def name_bolt(old: str | None, used: Collection[str | None]) -> str:
    """A name for the bolt that takes the place of another."""
    stem, number = (f"{old}-new" if old else "bolt"), 1
    while f"{stem}-{number}" in used:
        number += 1
    return f"{stem}-{number}"


def plan_state(
    lines: Sequence[Cells], kept: Mapping[str, StoredRun], refused: Collection[str] = ()
) -> list[tuple[Cells, bool]]:
    """Every planned line in order, and whether it is done: a try of it counts, or it was left out on purpose.

    `refused` are runs with a log that could not be loaded: they were made all the same.
    """
    names = {line["run"] for line in lines}
    tries: dict[str, list[StoredRun]] = {}
    for name, run in kept.items():
        tries.setdefault(_planned(name, names), []).append(run)
    return [
        (line, line["run"] in refused or _is_done(line, tries.get(line["run"], [])))
        for line in lines
        if _planned(line["run"], names) == line["run"]
    ]


def find_next(
    lines: Sequence[Cells],
    kept: Mapping[str, StoredRun],
    wanted: str | None = None,
    refused: Collection[str] = (),
) -> OpenRun | None:
    """The first planned run that is not done, or the `wanted` one; None when there is none."""
    state = plan_state(lines, kept, refused)
    planned, is_done = [line for line, _ in state], [done for _, done in state]
    for place, line in enumerate(planned):
        if (wanted is None and not is_done[place]) or line["run"] == wanted:
            attempt = _next_attempt(line["run"], kept)
            name = name_attempt(line["run"], attempt)
            own = next((each for each in lines if each["run"] == name), None)
            cells = _as_planned(line, name) if own is None else own
            return OpenRun(cells, line["run"], name, attempt, place + 1, len(planned), sum(is_done))
    return None


def _as_planned(line: Cells, name: str) -> Cells:
    """A planned line for another try: what was said of the first one does not hold for it."""
    return {key: text for key, text in line.items() if key in ("tool", "article", "block", "bolt")} | {
        "run": name
    }


def _is_done(line: Cells, tries: Sequence[StoredRun]) -> bool:
    left_out = not tries and bool(line.get("set_aside") or line.get("score"))
    return left_out or any(run.set_aside is None for run in tries)


def _next_attempt(planned: str, kept: Mapping[str, StoredRun]) -> int:
    attempt = 1
    while name_attempt(planned, attempt) in kept:
        attempt += 1
    return attempt


def insert_after_made(lines: list[Cells], fresh: Cells, kept: Mapping[str, StoredRun]) -> int:
    """Put a run's line in its place, or a second try's after the last line that was made; returns where."""
    for place, line in enumerate(lines):
        if line["run"] == fresh["run"]:
            lines[place] = fresh
            return place
    made = [place for place, line in enumerate(lines) if line["run"] in kept]
    place = made[-1] + 1 if made else 0
    lines.insert(place, fresh)
    return place


def block_lines(lines: Sequence[Cells], tool: str, articles: Sequence[str], bolt: str | None) -> list[Cells]:
    """One more block at the end of the plan: new names, the next block's number."""
    numbers = [
        int(found[0]) for line in lines if (found := re.findall(r"\d+", line["run"].partition("-")[0]))
    ]
    blocks = [int(line["block"]) for line in lines if line.get("block", "").isdigit()]
    first, block = max(numbers, default=0) + 1, max(blocks, default=0) + 1
    digits = max(3, len(str(first + len(articles))))
    return [
        {"run": f"r{first + i:0{digits}d}", "tool": tool, "article": article, "block": str(block)}
        | ({"bolt": bolt} if bolt else {})
        for i, article in enumerate(articles)
    ]
