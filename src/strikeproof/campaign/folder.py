"""A campaign as it lies on disk: campaign.toml, the run sheet and the calibration sheet.

Everything wrong is found in one reading. What is wrong with one run or with the calibration
leaves the rest usable; what is wrong with campaign.toml does not.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from dataclasses import asdict, dataclass, replace
from fnmatch import fnmatchcase
from pathlib import Path
from typing import Final

from strikeproof.campaign.agreement import turning_of
from strikeproof.campaign.calibration_sheet import CalibrationRow, read_calibration_of
from strikeproof.campaign.faults import check_tables, write_place
from strikeproof.campaign.gate import read_small
from strikeproof.campaign.inside import path_inside
from strikeproof.campaign.keys import (
    GEOMETRY_KEYS,
    ArticleTable,
    CampaignFile,
    OtherRigTable,
    ProtocolTable,
    RigTable,
)
from strikeproof.campaign.records import (
    Article,
    Bolt,
    CalibrationSource,
    Campaign,
    OtherRig,
    Protocol,
    Rig,
    RunRow,
    Tool,
)
from strikeproof.campaign.run_sheet import read_run_sheet
from strikeproof.campaign.store import Store
from strikeproof.campaign.text import LARGEST_SHEET_BYTES, read_file
from strikeproof.campaign.toml_lines import find_line
from strikeproof.campaign.toml_reader import MOST_BYTES, read_toml_of
from strikeproof.errors import BadFile, Problem, StrikeproofError
from strikeproof.parts import read_materials
from strikeproof.parts.materials import MaterialBook

__all__ = [
    "BETWEEN_FILES",
    "CalibrationFile",
    "CampaignFolder",
    "find_log_files",
    "keep_calibration",
    "other_file_at",
    "read_calibrations",
    "read_campaign",
    "read_folder",
    "read_own_materials",
]


BETWEEN_FILES: Final = "|"
"""What comes between the files of a run that is recorded over several."""
_PATTERN: Final = re.compile(r"[*?]")


@dataclass(frozen=True, slots=True)
class CalibrationFile:
    """A calibration sheet as it was read: of which rig, its rows, and the bytes that they came from."""

    rig: str
    sheet: Path
    rows: tuple[CalibrationRow, ...]
    content: bytes


@dataclass(frozen=True, slots=True)
class CampaignFolder:
    """A campaign's files, read: what can be used, and what is wrong with the rest.

    `calibrations` are those of its rigs, as far as their sheets can be read.
    """

    folder: Path
    campaign: Campaign
    rows: tuple[RunRow, ...]
    calibrations: tuple[CalibrationFile, ...]
    problems: tuple[Problem, ...]

    def log_path(self, row: RunRow) -> Path | None:
        """Where the log of a run is, or what its files are called together; None where it has none."""
        return None if row.log is None else self.folder / self.campaign.logs_folder / row.log

    def log_files(self, row: RunRow) -> tuple[Path, ...]:
        """The files of a run's log: one, as a rule; of a pattern those that are there.

        Raises
        ------
        BadFile
            If one of them does not lie in the campaign's folder.
        """
        return find_log_files(self.folder, self.campaign, row) if row.log else ()


def read_folder(path: Path) -> CampaignFolder:
    """The campaign whose campaign.toml is at `path` (or in the folder `path`), with its sheets.

    Raises
    ------
    BadFile
        If campaign.toml itself, or the run sheet as a whole, cannot be used.
    """
    path = path / "campaign.toml" if path.is_dir() else path
    campaign = read_campaign(path)
    folder = path.parent
    runs_sheet = path_inside(folder, campaign.runs_sheet, key="runs.sheet")
    rows, problems = _logs_inside(folder, runs_sheet, campaign, *read_run_sheet(runs_sheet, campaign))
    calibrations, more = read_calibrations(folder, campaign)
    return CampaignFolder(folder, campaign, rows, calibrations, (*problems, *more))


def read_calibrations(
    folder: Path, campaign: Campaign
) -> tuple[tuple[CalibrationFile, ...], tuple[Problem, ...]]:
    """The calibration sheets of a campaign's rigs, and what is wrong with them or the others.

    Raises
    ------
    BadFile
        If a sheet does not lie in the campaign's folder.
    """
    found: list[CalibrationFile] = []
    problems: list[Problem] = []
    for name in campaign.rig_names:
        on = campaign.on_rig(name)
        if on.calibration is None:
            continue
        sheet = path_inside(folder, on.calibration.sheet, key="calibration.sheet")
        try:
            content = read_file(sheet, LARGEST_SHEET_BYTES)
        except BadFile as wrong:
            problems += wrong.problems
            continue
        rows, wrong_rows = read_calibration_of(sheet, content, (on.calibration.applied_unit, on.rig.unit))
        problems += wrong_rows
        found.append(CalibrationFile(name, sheet, rows, content))
    return tuple(found), tuple(problems)


def keep_calibration(store: Store, key: int, campaign: Campaign, read: CalibrationFile) -> None:
    """Keep the calibration of one of a campaign's rigs, and its sheet as it is."""
    original = (store.keep_original(read.content), read.sheet.name, len(read.content))
    rig = None if read.rig == campaign.rig.name else read.rig
    store.keep_calibration(key, original, [asdict(row) for row in read.rows], rig)


def find_log_files(
    folder: Path, campaign: Campaign, row: RunRow, sheet: Path | None = None
) -> tuple[Path, ...]:
    """The files that the log cell of a run names: one, several with bars between them, or by a pattern."""
    found: list[Path] = []
    for name in _log_names(folder, campaign, row.log or ""):
        path = path_inside(folder, campaign.logs_folder, name, key="log", file=sheet, line=row.line)
        found += [path] if path.exists() or not _PATTERN.search(name) else _matching(path)
    return tuple(dict.fromkeys(found))


def _log_names(folder: Path, campaign: Campaign, cell: str) -> list[str]:
    """A file may have a bar in its name."""
    if BETWEEN_FILES not in cell or (folder / campaign.logs_folder / cell).exists():
        return [cell]
    return [each.strip() for each in cell.split(BETWEEN_FILES) if each.strip()]


def _matching(path: Path) -> list[Path]:
    """The files of a folder whose names fit a pattern, in the order of their names, none that is hidden."""
    try:
        names = sorted(each.name for each in path.parent.iterdir() if each.is_file())
    except OSError:
        return []
    fits = [name for name in names if fnmatchcase(name.casefold(), path.name.casefold())]
    return [path.parent / name for name in fits if not name.startswith(".")]


def _logs_inside(
    folder: Path, sheet: Path, campaign: Campaign, rows: tuple[RunRow, ...], problems: tuple[Problem, ...]
) -> tuple[tuple[RunRow, ...], tuple[Problem, ...]]:
    """The rows whose logs lie in the campaign's folder, and a problem more for each of the others."""
    good, more = [], list(problems)
    taken: dict[Path, str] = {}
    for row in rows:
        try:
            files = find_log_files(folder, campaign, row, sheet) if row.log is not None else ()
        except BadFile as wrong:
            more += wrong.problems
            continue
        if row.log is not None and not files:
            what, fix = f"no file of the logs fits {row.log!r}", "correct the pattern, or put the files there"
            more.append(Problem(str(sheet), row.line, what, fix))
        elif twice := next((each for each in files if each in taken), None):
            what = f"log {twice.name!r} of run {row.run!r} belongs to run {taken[twice]!r} already"
            more.append(Problem(str(sheet), row.line, what, "name the logs of this run"))
        else:
            good.append(row)
            taken |= dict.fromkeys(files, row.run)
    return tuple(good), tuple(more)


def read_campaign(path: Path) -> Campaign:
    """The record written in a campaign.toml.

    Raises
    ------
    BadFile
        With every wrong key and value at once, each with its line.
    """
    content = read_file(path, MOST_BYTES)
    campaign: Campaign = read_small(path, content, _read_campaign, path, content)
    return campaign


def _read_campaign(path: Path, content: bytes) -> Campaign:
    tables, text = read_toml_of(path, content)
    file, faults = check_tables(tables, read_own_materials(path.parent))
    if file is None or faults:
        raise BadFile(
            [Problem(str(path), find_line(text, each.place), each.problem, each.fix) for each in faults]
        )
    campaign = _as_record(file)
    if wrong := tuple(_outside(path, text, campaign)) or tuple(_taken(path, text, campaign)):
        raise BadFile(wrong)
    return campaign


def _outside(path: Path, text: str, campaign: Campaign) -> Iterator[Problem]:
    """The keys whose files do not lie in the campaign's folder."""
    named: list[tuple[tuple[str | int, ...], str]] = [
        (("runs", "sheet"), campaign.runs_sheet),
        (("runs", "logs"), campaign.logs_folder),
    ]
    named += _calibration_sheets(campaign)
    for place, name in named:
        try:
            path_inside(path.parent, name, key=write_place(place), file=path, line=find_line(text, place))
        except BadFile as wrong:
            yield from wrong.problems


def _calibration_sheets(campaign: Campaign) -> list[tuple[tuple[str | int, ...], str]]:
    """The calibration sheets that are named, each with the place of its key."""
    own = campaign.calibration
    named: list[tuple[tuple[str | int, ...], str]] = (
        [] if own is None else [(("calibration", "sheet"), own.sheet)]
    )
    for at, other in enumerate(campaign.other_rigs):
        if other.calibration is not None:
            named.append((("other_rig", at, "calibration", "sheet"), other.calibration.sheet))
    return named


def _taken(path: Path, text: str, campaign: Campaign) -> Iterator[Problem]:
    """That the run sheet would be another of the campaign's files: a plan would be written over it."""
    other = other_file_at(path.parent / campaign.runs_sheet, path, campaign)
    if other is not None:
        what = f"runs.sheet: {campaign.runs_sheet!r} is {other}"
        fix = "name a file of its own, such as runs.csv"
        yield Problem(str(path), find_line(text, ("runs", "sheet")), what, fix)


def other_file_at(target: Path, path: Path, campaign: Campaign) -> str | None:
    """Which file of the campaign at `path` lies at `target`, or a link there leads to; not its run sheet.

    None when none does.
    """
    files = {"the campaign file": path, "the materials file": path.parent / "materials.toml"}
    sheets = [path.parent / name for _place, name in _calibration_sheets(campaign)]
    known = [*files.items(), *(("the calibration sheet", sheet) for sheet in sheets)]
    return next((what for what, file in known if _is_same(target, file)), None)


def _is_same(one: Path, other: Path) -> bool:
    try:
        return one.resolve() == other.resolve() or one.samefile(other)
    except (OSError, RuntimeError, ValueError):  # one of them is not there; links in a circle
        return False


def _as_record(file: CampaignFile) -> Campaign:
    turning = turning_of(file.protocol.direction, file.protocol.rotation, file.bolt.thread, file.bolt.hand)
    return Campaign(
        **file.campaign.model_dump(),
        protocol=replace(_protocol(file.protocol), direction=turning.direction, rotation=turning.rotation),
        rig=_rig(file.rig),
        bolt=Bolt(**{**file.bolt.model_dump(), "hand": turning.hand}),
        tools=tuple(Tool(**tool.model_dump()) for tool in file.tool),
        articles=tuple(_article(article) for article in file.article),
        calibration=CalibrationSource(**file.calibration.model_dump()) if file.calibration else None,
        runs_sheet=file.runs.sheet,
        logs_folder=file.runs.logs,
        other_rigs=tuple(map(_other_rig, file.other_rig)),
    )


def _protocol(table: ProtocolTable) -> Protocol:
    values = {**dict(table), "duration_s": table.duration, "cool_down_s": table.cool_down}
    values["direction"] = table.direction or "tighten"  # settled where the bolt is known
    return Protocol(**{key: value for key, value in values.items() if key not in ("duration", "cool_down")})


def _rig(table: RigTable) -> Rig:
    return Rig(**table.model_dump())


def _other_rig(table: OtherRigTable) -> OtherRig:
    calibration = table.calibration
    return OtherRig(
        Rig(**table.model_dump(exclude={"calibration"})),
        CalibrationSource(**calibration.model_dump()) if calibration else None,
    )


def _article(table: ArticleTable) -> Article:
    geometry = table.model_dump(include=set(GEOMETRY_KEYS), exclude_none=True)
    words = json.dumps(geometry, sort_keys=True, default=str) if geometry else None
    return Article(**table.model_dump(exclude=set(GEOMETRY_KEYS)), geometry=words)


def read_own_materials(folder: Path) -> MaterialBook:
    """The person's own materials, from `materials.toml` beside the campaign.

    Raises
    ------
    BadFile
        If it is there and cannot be used.
    """
    path = path_inside(folder, "materials.toml", key="materials", file=folder / "materials.toml")
    if not path.is_file():
        return {}
    content = read_file(path, MOST_BYTES)
    book: MaterialBook = read_small(path, content, _read_materials, path, content)
    return book


def _read_materials(path: Path, content: bytes) -> MaterialBook:
    tables, text = read_toml_of(path, content)
    if strange := [key for key in tables if key != "material"]:
        what = f"unknown table {strange[0]!r}"
        line = find_line(text, (strange[0],))
        raise BadFile([Problem(str(path), line, what, "write each material as [material.NAME]")])
    try:
        return read_materials(tables.get("material", {}))
    except StrikeproofError as wrong:
        raise BadFile([Problem(str(path), None, wrong.problem, wrong.fix)]) from wrong
