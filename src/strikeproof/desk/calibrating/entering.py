"""Calibration readings as a person enters them: tried while they are typed, then saved with the campaign."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from math import isfinite
from pathlib import Path
from typing import Any, Final

import numpy as np
import sqlalchemy as sa

from strikeproof.campaign import schema as tables
from strikeproof.campaign.database import reading
from strikeproof.campaign.faults import Fault
from strikeproof.campaign.records import CalibrationSource, Campaign
from strikeproof.campaign.store import Store
from strikeproof.desk.calibrating.calibration import CalibrationOutcome, calibrate_rows
from strikeproof.desk.workspace.opening import open_campaign
from strikeproof.desk.workspace.places import campaign_places
from strikeproof.errors import BadInput, TooFewRuns
from strikeproof.plain_text import write_csv_text
from strikeproof.quantity import is_known_unit, parse_in_unit, split_number

__all__ = [
    "APPLIED_UNITS",
    "CalibrationView",
    "Draft",
    "Fault",
    "Point",
    "find_faults",
    "keep_calibration",
    "read_points",
    "start_draft",
    "try_calibration",
]

APPLIED_UNITS: Final = ("N m", "lbf ft", "kN", "N", "lbf")
_SHEET: Final = "calibration.csv"
_REFERENCE: Final = "reference_uncertainty_percent"
_NUMBER_STARTS: Final = "+-−.,"
_FEWEST: Final = 3
_CURVE: Final = 60


@dataclass(frozen=True, slots=True)
class Point:
    """One reading as it was typed: its numbers are text, right or wrong, so that nothing typed is lost.

    `direction` is "", "up" or "down". `applied_uncertainty` has no field; a sheet's own stays with it.
    """

    applied: str = ""
    reading: str = ""
    direction: str = ""
    repeat: str = ""
    applied_uncertainty: float | None = None

    @property
    def blank(self) -> bool:
        """Whether no number was typed."""
        return not (self.applied.strip() or self.reading.strip())

    def numbers(self, units: tuple[str, str]) -> tuple[float, float] | None:
        """Applied and reading in their units; None while one of them is no number."""
        applied, reading = (
            _number(text, unit) for text, unit in zip((self.applied, self.reading), units, strict=True)
        )
        return None if applied is None or reading is None else (applied, reading)


@dataclass(frozen=True, slots=True)
class Draft:
    """Readings and what is known of the reference instrument, as typed; `degree` None: it is chosen."""

    points: tuple[Point, ...] = ()
    applied_unit: str = "N m"
    reading_unit: str = "reading"
    reference_uncertainty_percent: str = "0"
    degree: int | None = None

    @property
    def units(self) -> tuple[str, str]:
        """Of applied values and of readings; a cell may have another of the same kind behind its number."""
        return self.applied_unit, self.reading_unit


@dataclass(frozen=True, slots=True)
class CalibrationView:
    """What the readings say so far. `residuals` and `suspects` are by the place of a point in its draft.

    `budget` has one row a component: name, what it adds to the uncertainty in the unit of the result, share
    of the variance in percent, source.
    """

    facts: tuple[tuple[str, str], ...]
    residuals: Mapping[int, float]
    suspects: tuple[int, ...]
    budget: tuple[tuple[str, float, float, str], ...]
    at: float
    expanded: float
    curve_applied: tuple[float, ...]
    curve_reading: tuple[float, ...]


def start_draft(workspace: Path, name: str | None) -> Draft:
    """The readings that the campaign has, or none.

    Raises
    ------
    StrikeproofError
        If there is no such campaign.
    """
    store, key, campaign = open_campaign(workspace, name)
    source, kept = campaign.calibration, store.calibration_rows(key)
    draft = Draft(reading_unit=campaign.rig.unit)
    if source is not None:
        draft = replace(
            draft,
            applied_unit=source.applied_unit,
            reference_uncertainty_percent=_written(source.reference_uncertainty_percent),
            degree=source.degree,
        )
    if kept is None:
        return draft
    return replace(draft, points=tuple(_point(row) for row in kept.rows))


def _point(row: Mapping[str, Any]) -> Point:
    return Point(
        _written(row["applied"]),
        _written(row["reading"]),
        row["direction"] or "",
        row["repeat"] or "",
        row.get("applied_uncertainty"),
    )


def _written(value: float) -> str:
    """As short as it can be without being another number."""
    short = f"{value:.10g}"
    return short if float(short) == value else repr(value)


def read_points(text: str) -> tuple[Point, ...]:
    """Lines of applied and reading, perhaps with direction and repeat, however they are separated.

    Raises
    ------
    BadInput
        If a line does not begin with two numbers, or has a cell that is nothing of the four.
    """
    found = []
    for number, line in enumerate(text.splitlines(), start=1):
        cells = _cells(line)
        if not any(cells) or (number == 1 and _is_heading(cells)):
            continue
        values = [_pasted(cell) for cell in cells[:2]]
        words = [cell for cell in cells[2:] if cell]
        directions = [cell.lower() for cell in words if cell.lower() in ("up", "down")]
        repeats = [cell for cell in words if cell.lower() not in ("up", "down")]
        if len(values) < 2 or None in values or len(directions) > 1 or len(repeats) > 1:
            raise BadInput(
                f"{line.strip()!r} is not a reading",
                where=f"line {number}",
                allowed="two numbers, perhaps direction and repeat; tab, semicolon or space between",
                fix="correct that line, or remove it",
            )
        applied, reading = (_written(value) for value in values if value is not None)
        found.append(Point(applied, reading, "".join(directions), "".join(repeats)))
    return tuple(found)


def _is_heading(cells: Sequence[str]) -> bool:
    return not any(cell[:1].isdecimal() or cell[:1] in _NUMBER_STARTS for cell in cells[:2] if cell)


def find_faults(draft: Draft) -> tuple[Fault, ...]:
    """What is wrong with what was typed: at (point, "applied" or "reading"), or at the reference's key.

    A point in which no number was typed is no reading, and has no fault.
    """
    found = []
    for place, point in enumerate(draft.points):
        for (name, text), unit in zip(
            (("applied", point.applied), ("reading", point.reading)), draft.units, strict=True
        ):
            wrong = None if point.blank else _tell_number(text, unit)
            if wrong is not None:
                found.append(Fault((place, name), wrong.what, wrong.fix))
    try:
        _reference(draft)
    except BadInput as wrong:
        found.append(Fault((_REFERENCE,), wrong.what, wrong.fix))
    return tuple(found)


def _pasted(cell: str) -> float | None:
    """The number of a pasted cell, which may have a unit behind it; None where it is none."""
    number, unit = split_number(cell)
    return _number(number if number and (not unit or is_known_unit(unit)) else cell)


def _number(text: str, unit: str | None = None) -> float | None:
    try:
        value = parse_in_unit(text, unit)
    except BadInput:
        return None
    return value if isfinite(value) else None


def _tell_number(text: str, unit: str) -> BadInput | None:
    """What is wrong with the text of a number; None when nothing is."""
    if not text.strip():
        return BadInput("the number is missing", where="reading", allowed="a number", fix="type it")
    try:
        value = parse_in_unit(text, unit)
    except BadInput as wrong:
        return wrong
    if isfinite(value):
        return None
    return BadInput(f"{text!r} is too large", where="reading", allowed="a number", fix="correct its exponent")


def _reference(draft: Draft) -> float:
    """The expanded uncertainty of the reference instrument; none given is 0. [%]"""
    text = draft.reference_uncertainty_percent
    bare = text.strip().removesuffix("%")
    value = _number(bare) if bare else 0.0
    if value is None or not 0 <= value < 100:
        raise BadInput(
            f"{text!r} is no uncertainty in percent",
            where="reference, expanded uncertainty",
            allowed="0 or more, less than 100",
            fix="write it like 1.5, or empty the field",
        )
    return value


def _cells(line: str) -> list[str]:
    for mark in ("\t", ";"):
        if mark in line:
            return [cell.strip() for cell in line.split(mark)]
    if ", " in line or line.count(",") > 1 or ("," in line and "." in line):
        return [cell.strip() for cell in line.split(",")]
    return line.split() if len(line.split()) > 1 else [cell.strip() for cell in line.split(",")]


def try_calibration(workspace: Path, name: str | None, draft: Draft) -> CalibrationView:
    """The curve, residuals and budget of the readings that are complete so far; keeps nothing.

    Raises
    ------
    StrikeproofError
        If they are too few, or no curve rises or falls through them.
    """
    _store, _key, campaign = open_campaign(workspace, name)
    rows = _rows(draft)
    if len(rows) < _FEWEST:
        raise TooFewRuns("the calibration", got=len(rows), needed=_FEWEST, kind="readings")
    return _view(calibrate_rows(campaign, _source(campaign, draft), rows), [row["line"] for row in rows])


def keep_calibration(workspace: Path, name: str | None, draft: Draft) -> str:
    """Keep the readings with the campaign; returns a sentence that says so.

    A campaign that lies in the workspace takes them into its folder too, where that can be undone; of one
    that was loaded from elsewhere only the workspace's record changes.

    Raises
    ------
    StrikeproofError
        If anything that was typed cannot be read, or the readings cannot be used: then nothing is stored.
    """
    store, key, campaign = open_campaign(workspace, name)
    _refuse_faults(draft)
    try_calibration(workspace, name, draft)
    folder = _folder(store, key)
    if folder.resolve() in {each.resolve() for each in campaign_places(workspace)}:
        _keep_in_folder(workspace, folder, campaign, draft)
    text = _sheet(draft)
    source = _source(campaign, draft)
    store.keep_campaign(replace(campaign, calibration=source), folder)
    rows = [{**row, "line": line} for line, row in enumerate(_rows(draft), start=2)]
    store.keep_calibration(key, (store.keep_original(text), source.sheet, len(text)), rows)
    return f"{len(rows)} readings are saved with {campaign.name}"


def _refuse_faults(draft: Draft) -> None:
    faults = find_faults(draft)
    if not faults:
        return
    first, more = faults[0], len(faults) - 1
    place = (
        f"reading {int(first.place[0]) + 1}, {first.place[1]}" if len(first.place) > 1 else "the reference"
    )
    raise BadInput(
        f"nothing is saved yet: {first.problem}" + (f", and {more} more to correct" if more else ""),
        where=place,
        allowed="numbers in every field that is filled",
        fix="correct what is marked, or remove it",
    )


def _keep_in_folder(workspace: Path, folder: Path, campaign: Campaign, draft: Draft) -> None:
    from strikeproof.desk.setting_up.editor import change_set_up
    from strikeproof.desk.setting_up.edits import all_of, set_value

    wanted = {
        "sheet": _SHEET,
        "applied_unit": draft.applied_unit,
        "reference_uncertainty_percent": _reference(draft) or None,
        "degree": draft.degree,
    }
    edit = all_of(*(set_value(("calibration", key), value) for key, value in wanted.items()))
    change_set_up(workspace, folder.name, edit, agreed=True, calibration=_sheet(draft).decode())


def _folder(store: Store, key: int) -> Path:
    with reading(store.engine) as db:
        return Path(str(db.scalar(sa.select(tables.campaign.c.folder).where(tables.campaign.c.id == key))))


def _source(campaign: Campaign, draft: Draft) -> CalibrationSource:
    before = campaign.calibration
    return CalibrationSource(
        sheet=_SHEET,
        applied_unit=draft.applied_unit,
        reference_uncertainty_percent=_reference(draft),
        degree=draft.degree,
        rig=before.rig if before else None,
        bolt=before.bolt if before else None,
    )


def _rows(draft: Draft) -> list[dict[str, Any]]:
    """Complete points as the calibration takes them; `line` is the place in the draft."""
    return [
        {
            "applied": numbers[0],
            "reading": numbers[1],
            "direction": point.direction or None,
            "repeat": point.repeat or None,
            "applied_uncertainty": point.applied_uncertainty,
            "line": place,
        }
        for place, point in enumerate(draft.points)
        if (numbers := point.numbers(draft.units)) is not None
    ]


def _sheet(draft: Draft) -> bytes:
    names = ["applied", "reading", "direction", "repeat"]
    rows = _rows(draft)
    if any(row["applied_uncertainty"] is not None for row in rows):
        names.append("applied_uncertainty")
    lines = [
        [_written(each) if isinstance(each := row[name], float) else each or "" for name in names]
        for row in rows
    ]
    return write_csv_text([names, *lines]).encode()


def _view(outcome: CalibrationOutcome, places: Sequence[int]) -> CalibrationView:
    fit, budget = outcome.fit, outcome.budget
    low, high = fit.applied_range
    grid = np.linspace(low, high, _CURVE)
    powers = np.vander(grid, len(fit.coefficients), increasing=True)
    return CalibrationView(
        facts=(
            *(("caution", each) for each in outcome.cautions),
            *outcome.rows(),
            *(("note", note) for note in outcome.notes),
        ),
        residuals=dict(zip(places, fit.residuals.tolist(), strict=True)),
        suspects=outcome.suspect_lines,
        budget=tuple(
            (line.name, line.contribution, 100.0 * share, line.source)
            for line, share in zip(budget.components, budget.shares, strict=True)
        ),
        at=budget.at,
        expanded=budget.expanded_uncertainty,
        curve_applied=tuple(grid.tolist()),
        curve_reading=tuple((powers @ fit.coefficients).tolist()),
    )
