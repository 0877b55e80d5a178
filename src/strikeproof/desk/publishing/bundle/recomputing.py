"""Compute a bundle again and say what agrees: nothing in it is run, nothing of it is believed unseen.

It is unpacked behind the gate into a folder of its own, every file is set against the bundle's list, the
campaign in it goes through the same readers as any other, and what comes out is set against what is stated.
"""

from __future__ import annotations

import re
import tempfile
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

from strikeproof.campaign.archive import unpack_holding
from strikeproof.campaign.files import hash_file
from strikeproof.campaign.gate import read_bounded
from strikeproof.campaign.text import read_file
from strikeproof.desk.publishing.bundle.appearance import (
    PageAnswer,
    compare_charts,
    compare_page,
    list_not_compared,
)
from strikeproof.desk.publishing.bundle.computing import compute_folder
from strikeproof.desk.publishing.bundle.form import (
    ABOUT,
    CAMPAIGN,
    PAGE,
    RESULTS,
    SUMS,
    About,
    read_about,
    versions,
)
from strikeproof.desk.publishing.bundle.stated import parse_csv, parse_json
from strikeproof.errors import BadFile, BadInput, Problem, StrikeproofError
from strikeproof.publish.data.agreement import Agreement, Difference, compare_table, typed_rows
from strikeproof.publish.data.tables import DataTable, result_tables
from strikeproof.publish.report import Report

__all__ = [
    "RecomputeOutcome",
    "read_unpacked",
    "recompute_bundle",
    "say_versions",
    "unpack_bundle",
    "verify_files",
]

Progress = Callable[..., None]

_AGAIN: Final = "get the bundle again from where it was published"
_MOST_PAPER: Final = 1 << 24
_MOST_TABLE: Final = 1 << 28
_LINE: Final = re.compile(r"([0-9a-f]{64})  (\S.*)")


@dataclass(frozen=True, slots=True)
class RecomputeOutcome:
    """What came of computing a bundle again.

    Parameters
    ----------
    files
        How many files are as the bundle's list says; `problems` names those that are not.
    page
        "same", "same but why" where its explanation, not computed again, is left out of account, "differs",
        or "not compared" where it was made by other versions.
    charts
        By place, whether each chart as SVG comes out the same; none where it was made by other versions.
    not_compared
        Files that were set against nothing but the list, by place; folders end in / and say how many.
    """

    bundle: Path
    about: About
    files: int
    problems: tuple[Problem, ...]
    tables: tuple[Agreement, ...]
    page: PageAnswer
    charts: dict[str, bool]
    not_compared: tuple[tuple[str, int], ...]
    notes: tuple[str, ...]

    @property
    def agrees(self) -> bool:
        """Whether the files are those that were listed and all that was computed again is as stated."""
        pictures = self.page != "differs" and all(self.charts.values())
        return not self.problems and pictures and all(each.agrees for each in self.tables)

    @property
    def exit_code(self) -> int:
        """0 where all that was computed again agrees, 1 where something does not."""
        return 0 if self.agrees else 1

    def as_json(self) -> dict[str, Any]:
        """As the command line prints it."""
        return {
            "bundle": self.bundle,
            "agrees": self.agrees,
            "campaign": self.about.campaign,
            "made": self.about.made,
            "licence": self.about.licence,
            "files_as_listed": self.files,
            "problems": self.problems,
            "tables": self.tables,
            "page": self.page,
            "charts": self.charts,
            "not_compared": [{"place": place, "files": files} for place, files in self.not_compared],
            "notes": self.notes,
        }


def recompute_bundle(bundle: Path, progress: Progress | None = None) -> RecomputeOutcome:
    """Compute everything in a bundle again from its logs, in a workspace that is gone afterwards.

    Raises
    ------
    BadInput
        If it is no bundle, is damaged, or holds what could do harm.
    BadFile
        If it takes too much memory or time to unpack.
    StrikeproofError
        If nothing can be computed from what is in it.
    """
    with tempfile.TemporaryDirectory(prefix="strikeproof-") as room:
        folder = unpack_bundle(bundle, Path(room) / "bundle")
        about = read_unpacked(folder)
        problems, files = verify_files(folder)
        report = compute_folder(folder / CAMPAIGN, Path(room) / "lab", about.command, about.made, progress)
        ours = result_tables(report)
        tables = (
            _set_about_against(about, report),
            *(each for table in ours for each in _set_against(folder, table, about)),
        )
        page = compare_page(folder, report, about)
        charts = compare_charts(folder, report, about)
        compared = {*charts, *(f"{RESULTS}/{each.table}" for each in tables)}
        compared |= set() if page == "not compared" else {PAGE}
        left = tuple(list_not_compared(folder, compared))
    notes = tuple(say_versions(about)) + _say_taken_out(about) + about.notes
    return RecomputeOutcome(bundle, about, files, problems, tables, page, charts, left, notes)


def read_unpacked(folder: Path) -> About:
    """bundle.json of an unpacked bundle: how it was made.

    Raises
    ------
    BadInput
        If it cannot be used, or is of a newer program.
    """
    return read_about(read_file(folder / ABOUT, _MOST_PAPER).decode("utf-8", "replace"))


def unpack_bundle(bundle: Path, into: Path) -> Path:
    """A bundle's folder, unpacked within bounds.

    Raises
    ------
    BadInput, BadFile, StoreError
        As `recompute_bundle`.
    """
    if not bundle.is_file():
        raise BadInput(
            "there is no such file", where=str(bundle), allowed="a bundle", fix="name the .zip file"
        )
    wanted = ("a bundle, as `strikeproof bundle` makes it", _AGAIN)
    try:
        return unpack_holding(bundle, into, ABOUT, wanted)
    except BadInput as wrong:
        raise BadInput(wrong.what, where="the bundle", allowed=wrong.allowed, fix=_AGAIN) from wrong


def verify_files(folder: Path) -> tuple[tuple[Problem, ...], int]:
    """What in an unpacked bundle is not as its own list says, and how many files are."""
    listed: dict[str, str] = {}
    problems = []
    try:
        text = read_file(folder / SUMS, _MOST_PAPER).decode("utf-8", "replace")
    except BadFile:
        return (_problem(SUMS, "is missing, so no file can be verified"),), 0
    for number, line in enumerate(text.splitlines(), start=1):
        found = _LINE.fullmatch(line)
        if found is None or found[2] in listed:
            problems.append(_problem(SUMS, f"line {number} cannot be used"))
            continue
        listed[found[2]] = found[1]
    there = {path.relative_to(folder).as_posix(): path for path in folder.rglob("*") if path.is_file()}
    good = 0
    for name in sorted(listed.keys() | there.keys() - {SUMS}):
        if name not in there:
            problems.append(_problem(name, "is on the list and not in the bundle"))
        elif name not in listed:
            problems.append(_problem(name, "is in the bundle and not on its list"))
        elif hash_file(there[name]) != listed[name]:
            problems.append(_problem(name, "was changed: its bytes do not match the list"))
        else:
            good += 1
    return tuple(problems), good


def _problem(name: str, what: str) -> Problem:
    return Problem(name, None, what, _AGAIN)


def _set_about_against(about: About, report: Report) -> Agreement:
    """What a bundle says of the campaign in it."""
    pairs: dict[str, tuple[Any, Any]] = {
        "campaign": (about.campaign, report.campaign.name),
        "runs": (about.runs, len(report.runs)),
        "seed": (about.seed, report.seed),
        "simulated": (about.simulated, report.simulated),
    }
    wrong = (
        Difference(name, "", stated, found, None)
        for name, (stated, found) in pairs.items()
        if stated != found
    )
    return Agreement(ABOUT, 1, 2, 0.0, tuple(wrong))


def _set_against(folder: Path, table: DataTable, about: About) -> Iterator[Agreement]:
    """The table against its JSON file and against its CSV file."""
    stated = about.tolerances.get(table.name)
    for ending in ("json", "csv"):
        name = f"{table.name}.{ending}"
        try:
            heads, rows = _read_table(folder / RESULTS / name, table)
        except StrikeproofError as wrong:
            yield Agreement(name, len(table.rows), 0, 0.0, (), wrong.problem.replace(f"{folder}/", ""))
            continue
        found = compare_table(table, heads, rows, stated)
        yield Agreement(name, found.rows, found.numbers, found.largest, found.differences, found.problem)


def _read_table(path: Path, table: DataTable) -> tuple[list[Any], list[Any]]:
    """Heads and rows that are stated; read in a process with bounds."""
    content = read_file(path, _MOST_TABLE)
    if path.suffix == ".json":
        found: tuple[list[Any], list[Any]] = read_bounded(path, parse_json, path, content)
        return found
    cells: list[list[str]] = read_bounded(path, parse_csv, path, content)
    return typed_rows(table, cells)


def say_versions(about: About) -> Iterator[str]:
    """That a bundle was made by other versions than these, where it was."""
    now = versions()
    others = [
        f"{name} {said} (here {now[name]})"
        for name, said in about.versions.items()
        if name in now and now[name] != said
    ]
    if others:
        yield f"it was made with other versions: {', '.join(others)}"


def _say_taken_out(about: About) -> tuple[str, ...]:
    changed: Sequence[str] = about.changed
    if not about.stripped:
        return ()
    more = f"; the heads of {len(changed)} files were changed for that" if changed else ""
    return (f"personal data was taken out when it was made{more}",)
