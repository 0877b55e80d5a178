"""Calibration readings as a person enters them: tried while they are typed, then kept with the campaign."""

from __future__ import annotations

import csv
import io
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any, Final

import numpy as np
import sqlalchemy as sa

from strikeproof.campaign import schema as tables
from strikeproof.campaign.database import reading
from strikeproof.campaign.records import CalibrationSource, Campaign
from strikeproof.campaign.store import Store
from strikeproof.campaign.table import parse_number
from strikeproof.desk.calibration import CalibrationOutcome, calibrate_rows
from strikeproof.desk.places import campaign_places
from strikeproof.desk.workspace import open_campaign
from strikeproof.errors import BadInput, TooFewRuns

__all__ = [
    "APPLIED_UNITS",
    "CalibrationView",
    "Draft",
    "Point",
    "keep_calibration",
    "read_points",
    "start_draft",
    "try_calibration",
]

APPLIED_UNITS: Final = ("N m", "lbf ft", "kN", "N", "lbf")
_SHEET: Final = "calibration.csv"
_FEWEST: Final = 3
_CURVE: Final = 60


@dataclass(frozen=True, slots=True)
class Point:
    """One reading as typed; what is not a number yet is None. `direction` is "", "up" or "down"."""

    applied: float | None = None
    reading: float | None = None
    direction: str = ""
    repeat: str = ""

    @property
    def whole(self) -> bool:
        """Whether it can be used."""
        return self.applied is not None and self.reading is not None


@dataclass(frozen=True, slots=True)
class Draft:
    """Readings with what is known of the reference instrument; `degree` is None to have it chosen."""

    points: tuple[Point, ...] = ()
    applied_unit: str = "N m"
    reading_unit: str = "reading"
    reference_uncertainty_percent: float = 0.0
    degree: int | None = None


@dataclass(frozen=True, slots=True)
class CalibrationView:
    """What the readings say so far. `residuals` and `suspects` are by the place of a point in its draft.

    `budget` has one row a component: name, standard uncertainty, share of the variance in percent, source.
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
            reference_uncertainty_percent=source.reference_uncertainty_percent,
            degree=source.degree,
        )
    if kept is None:
        return draft
    return replace(draft, points=tuple(_point(row) for row in kept.rows))


def _point(row: Mapping[str, Any]) -> Point:
    return Point(row["applied"], row["reading"], row["direction"] or "", row["repeat"] or "")


def read_points(text: str) -> tuple[Point, ...]:
    """Lines of applied and reading, perhaps with direction and repeat, however they are separated.

    Raises
    ------
    BadInput
        If a line has fewer than two numbers.
    """
    found = []
    for number, line in enumerate(text.splitlines(), start=1):
        cells = _cells(line)
        if not any(cells) or (number == 1 and _number(cells[0]) is None):
            continue  # a heading, or nothing
        values = [_number(cell) for cell in cells[:2]]
        if len(values) < 2 or None in values:
            raise BadInput(
                f"{line.strip()!r} is not two numbers",
                where=f"line {number}",
                allowed="applied and reading, with a tab, a semicolon or a space between",
            )
        words = [cell.lower() for cell in cells[2:]]
        direction = next((word for word in words if word in ("up", "down")), "")
        repeat = next((word for word in words if word not in ("", "up", "down")), "")
        found.append(Point(values[0], values[1], direction, repeat))
    return tuple(found)


def _number(text: str) -> float | None:
    try:
        return parse_number(text)
    except BadInput:
        return None


def _cells(line: str) -> list[str]:
    for mark in ("\t", ";"):
        if mark in line:
            return [cell.strip() for cell in line.split(mark)]
    if ", " in line or line.count(",") > 1 or ("," in line and "." in line):
        return [cell.strip() for cell in line.split(",")]
    return line.split() if len(line.split()) > 1 else [cell.strip() for cell in line.split(",")]


def try_calibration(workspace: Path, name: str | None, draft: Draft) -> CalibrationView:
    """The curve, residuals and budget of the readings so far; keeps nothing.

    Raises
    ------
    StrikeproofError
        If they are too few, or no curve rises or falls through them.
    """
    _store, _key, campaign = open_campaign(workspace, name)
    rows = _rows(draft)
    if len(rows) < _FEWEST:
        raise TooFewRuns("readings of the calibration", got=len(rows), needed=_FEWEST)
    return _view(calibrate_rows(campaign, _source(campaign, draft), rows), [row["line"] for row in rows])


def keep_calibration(workspace: Path, name: str | None, draft: Draft) -> str:
    """Keep the readings with the campaign; returns a sentence that says so.

    A campaign that lies in the workspace takes them into its folder too, where that can be undone; of one
    that was loaded from elsewhere only the workspace's record changes.

    Raises
    ------
    StrikeproofError
        If the readings cannot be used.
    """
    store, key, campaign = open_campaign(workspace, name)
    try_calibration(workspace, name, draft)
    folder = _folder(store, key)
    if folder.resolve() in {each.resolve() for each in campaign_places(workspace)}:
        _keep_in_folder(workspace, folder, campaign, draft)
    text = _sheet(draft)
    source = _source(campaign, draft)
    store.keep_campaign(replace(campaign, calibration=source), folder)
    rows = [{**row, "line": line} for line, row in enumerate(_rows(draft), start=2)]
    store.keep_calibration(key, (store.keep_original(text), source.sheet, len(text)), rows)
    return f"{len(rows)} readings are kept with {campaign.name}"


def _keep_in_folder(workspace: Path, folder: Path, campaign: Campaign, draft: Draft) -> None:
    from strikeproof.desk.set_up import change_set_up
    from strikeproof.desk.set_up_edits import all_of, set_value

    wanted = {
        "sheet": _SHEET,
        "applied_unit": draft.applied_unit,
        "reference_uncertainty_percent": draft.reference_uncertainty_percent or None,
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
        reference_uncertainty_percent=draft.reference_uncertainty_percent,
        degree=draft.degree,
        rig=before.rig if before else None,
        bolt=before.bolt if before else None,
    )


def _rows(draft: Draft) -> list[dict[str, Any]]:
    """Whole points as the calibration takes them; `line` is the place in the draft."""
    return [
        {
            "applied": point.applied,
            "reading": point.reading,
            "direction": point.direction or None,
            "repeat": point.repeat or None,
            "applied_uncertainty": None,
            "line": place,
        }
        for place, point in enumerate(draft.points)
        if point.whole
    ]


def _sheet(draft: Draft) -> bytes:
    text = io.StringIO()
    rows = csv.writer(text, lineterminator="\n")
    rows.writerow(("applied", "reading", "direction", "repeat"))
    for each in draft.points:
        if each.whole:
            rows.writerow((repr(each.applied), repr(each.reading), each.direction, each.repeat))
    return text.getvalue().encode()


def _view(outcome: CalibrationOutcome, places: Sequence[int]) -> CalibrationView:
    fit, budget = outcome.fit, outcome.budget
    low, high = fit.applied_range
    grid = np.linspace(low, high, _CURVE)
    powers = np.vander(grid, len(fit.coefficients), increasing=True)
    return CalibrationView(
        facts=(*outcome.rows(), *(("note", note) for note in outcome.fit.notes)),
        residuals=dict(zip(places, fit.residuals.tolist(), strict=True)),
        suspects=outcome.suspect_lines,
        budget=tuple(
            (line.name, line.standard_uncertainty, 100.0 * share, line.source)
            for line, share in zip(budget.components, budget.shares, strict=True)
        ),
        at=budget.at,
        expanded=budget.expanded_uncertainty,
        curve_applied=tuple(grid.tolist()),
        curve_reading=tuple((powers @ fit.coefficients).tolist()),
    )
