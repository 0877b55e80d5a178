"""A design for a front: searched by the brief of a campaign, saved beside it, and shown again from there."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable, Iterator, Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any

from strikeproof.campaign.whole_file import whole_folder, write_whole
from strikeproof.design.relaxing import NoArticle
from strikeproof.desk.articles.draft import page_markup
from strikeproof.desk.designing.brief_draft import brief_path, design_folder, lowered_margins, open_brief
from strikeproof.desk.designing.design import DesignOutcome, prepare_design
from strikeproof.desk.designing.files import write_design
from strikeproof.desk.designing.views import DesignView, Refusal
from strikeproof.desk.explaining.explain import Progress
from strikeproof.desk.publishing.parts import save_chart, show_chart
from strikeproof.desk.publishing.views import ENDINGS
from strikeproof.desk.workspace.opening import open_campaign
from strikeproof.desk.workspace.results_version import EXPLANATIONS
from strikeproof.errors import BadInput, NotFound, StoreError, StrikeproofError
from strikeproof.plain_json import to_json
from strikeproof.publish.drawing import Chart, Rows
from strikeproof.publish.front import FrontPoint, front_chart
from strikeproof.publish.texts import file_word
from strikeproof.quantity import from_si, unit_label

__all__ = ["design_chart_file", "design_to_show", "keep_design", "kept_design_to_show"]

_VIEW = "view.json"
_LETTERS = 1.35  # a drawing on a page is shown smaller than on paper


class _Stopped(StrikeproofError):
    """Stopped before there was anything to keep."""

    def __init__(self) -> None:
        super().__init__(
            "the search was stopped before it found an article that meets the brief", "start it again"
        )


def design_to_show(
    workspace: Path,
    name: str | None,
    units: Mapping[str, str],
    *,
    quick: bool = False,
    progress: Progress | None = None,
    cancelled: Callable[[], bool] | None = None,
) -> DesignView | Refusal:
    """Search by a campaign's brief, and keep what was found in place of what was found before.

    Parameters
    ----------
    cancelled
        True ends the search with what was found by then.

    Raises
    ------
    StrikeproofError
        If the brief or the campaign cannot be used, or the search was stopped with nothing found.
    """
    path = brief_path(workspace, name)
    draft = open_brief(workspace, name)
    if draft.tables is None:
        raise StoreError("there is no brief yet", "write one first")

    def tell(done: int, total: int, what: str) -> None:
        if cancelled is not None and cancelled():
            raise _Stopped
        if progress is not None:
            progress(done, total, what)

    task = prepare_design(path, workspace, name, quick=quick, progress=tell)
    try:
        outcome = task.search(progress, cancelled)
    except NoArticle as found:
        nearest = {**draft.tables, "brief": {**draft.tables["brief"], **found.changes}}
        if not found.changes:
            return Refusal(found, None, draft.mark)
        return Refusal(found, nearest, draft.mark, lowered_margins(draft.tables, nearest))
    if not outcome.proposals and not outcome.search.complete:
        raise _Stopped
    keep_design(outcome, path.with_name("design"), draft.mark, quick=quick)
    return kept_design_to_show(workspace, name, units) or _lost(path)


def _lost(path: Path) -> DesignView:
    raise StoreError(f"{path.with_name('design')}: is gone", "search again")


def keep_design(outcome: DesignOutcome, folder: Path, mark: str, *, quick: bool) -> None:
    """Write all files of a design, and what a page shows of it, in place of the one before.

    Raises
    ------
    StoreError
        If they cannot be written.
    """
    with whole_folder(folder) as new:
        write_design(outcome, new)
        told = {**_told(outcome), "mark": mark, "quick": quick, "version": EXPLANATIONS}
        write_whole(new / _VIEW, json.dumps(told, ensure_ascii=False))


def _told(outcome: DesignOutcome) -> dict[str, Any]:
    """What `--json` prints, with what a page needs beside it."""
    told: dict[str, Any] = to_json(outcome)
    for number, (row, each) in enumerate(zip(told["proposals"], outcome.proposals, strict=True), start=1):
        sheet = each.described.drawing(part_list=False, letters=_LETTERS)
        row |= {
            "number": number,
            "folder": f"{number:02d}-{file_word(each.name)}",
            "gain_words": each.counted.words,
            "why": list(each.why()),
            "near": None if each.nearest is None else each.nearest.words,
            "half_section": page_markup(sheet),
            "says": f"Half-section of {each.name}: {each.found.words}",
            "stops": list(each.stops),
            "cautions": [text for text in each.cautions if text not in each.stops],
        }
    return told


def kept_design_to_show(workspace: Path, name: str | None, units: Mapping[str, str]) -> DesignView | None:
    """The design that is stored for a campaign, None where there is none that can be read.

    Raises
    ------
    StrikeproofError
        If there is no such campaign.
    """
    told = _read(design_folder(workspace, name))
    if told is None:
        return None
    chart = _chart(told, units)
    drawn = None if chart is None else show_chart(chart)
    changed, outdated = _mark_now(workspace, name) != told["mark"], told.get("version") != EXPLANATIONS
    return DesignView(told, drawn, changed, outdated)


def _mark_now(workspace: Path, name: str | None) -> str:
    path = brief_path(workspace, name)
    return hashlib.sha256(path.read_bytes()).hexdigest()[:16] if path.is_file() else ""


def _read(folder: Path) -> dict[str, Any] | None:
    try:
        found: dict[str, Any] = json.loads((folder / _VIEW).read_text(encoding="utf-8"))
    except (OSError, ValueError):  # none is stored, or it was spoiled by hand: it is searched again
        return None
    return found


def _chart(told: Mapping[str, Any], units: Mapping[str, str]) -> Chart | None:
    unit = units.get("mass", "kg")
    found = front_chart(
        list(_points(told, unit)),
        reference=told["reference"],
        currency=told["currency"],
        mass_unit=unit_label(unit),
    )
    return None if found is None else replace(found, rows=lambda: _numbers(told))


def _points(told: Mapping[str, Any], unit: str) -> Iterator[FrontPoint]:
    named = {each["name"] for each in told["proposals"]}
    rows = [*told["proposals"], *(each for each in told["pareto"] if each["name"] not in named)]
    for each in rows:
        if each["price"] is not None:
            yield FrontPoint(
                each["name"],
                each["gain_percent"],
                each["low"],
                each["high"],
                each["price"],
                from_si(each["mass_kg"], unit, "mass"),
                each.get("number"),
            )


def design_chart_file(workspace: Path, name: str | None, ending: str, units: Mapping[str, str]) -> bytes:
    """The chart as SVG or PNG, or its numbers as CSV in SI.

    Raises
    ------
    BadInput, NotFound
        If the ending is another one, or there is no such chart.
    """
    if ending not in ENDINGS:
        raise BadInput(repr(ending), where="chart", allowed=", ".join(ENDINGS))
    told = _read(design_folder(workspace, name))
    chart = None if told is None else _chart(told, units)
    if told is None or chart is None:
        raise NotFound("chart", "design-front", ())
    whose = f"{open_campaign(workspace, name)[2].name}, {told['brief']}"
    heading = (chart.title, f"SIMULATED runs: {whose}" if told["simulated"] else whose)
    return save_chart(chart, ending, heading, simulated=told["simulated"])


def _numbers(told: Mapping[str, Any]) -> Rows:
    keys = ("name", "gain_percent", "low", "high", "price", "mass_kg", "outer_diameter_m")
    named = {each["name"] for each in told["proposals"]}
    shown = (*told["proposals"], *(each for each in told["pareto"] if each["name"] not in named))
    return (("proposal", *keys), *((each.get("number", ""), *(each[key] for key in keys)) for each in shown))
