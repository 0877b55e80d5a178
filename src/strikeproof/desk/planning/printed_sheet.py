"""The run sheet for the wall beside the rig: the order, the cautions that belong to it, and how to go on."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import TYPE_CHECKING

import strikeproof
from strikeproof.campaign.records import Article, Campaign, RunRow
from strikeproof.campaign.run_sheet import read_rotation
from strikeproof.desk.articles.article import describe_article
from strikeproof.desk.calibrating.calibration import calibrate_folder
from strikeproof.desk.planning.sheet import SheetPlan, plan_sheet
from strikeproof.desk.safety.bolt import BoltFacts, describe_parts
from strikeproof.desk.safety.bolt_limit import blind_words
from strikeproof.desk.safety.cautions import CAUTIONS, OwnCaution, plan_cautions
from strikeproof.desk.safety.supply import supply_cautions
from strikeproof.desk.workspace.places import find_campaign_place
from strikeproof.errors import StrikeproofError
from strikeproof.quantity import from_si, kind_of_unit, to_si, unit_label, write_duration, write_number

if TYPE_CHECKING:
    from strikeproof.publish.run_sheet import PaperRun

__all__ = ["print_sheet"]


def print_sheet(workspace: Path, name: str, *, force: str = "kN", torque: str = "N m") -> str:
    """The sheet as one HTML document, large enough to read and with room to write.

    Parameters
    ----------
    force, torque
        Units to print loads in.

    Raises
    ------
    StrikeproofError
        If the campaign cannot be planned.
    """
    # The room it is written in wakes a plotting library, which nobody waits for who only plans.
    from strikeproof.publish.run_sheet import PaperSheet, write_run_sheet_page

    plan = plan_sheet(workspace, name)
    campaign = plan.campaign
    bolt = _bolt(campaign)
    folder = find_campaign_place(workspace, name)
    stop = None if bolt is None else _limit(bolt, _own_torque(campaign, bolt, folder), force, torque)
    return write_run_sheet_page(
        PaperSheet(
            campaign.name,
            campaign.note,
            campaign.simulated,
            tuple(_runs(campaign, plan)),
            tuple(_facts(plan, bolt, stop, folder)),
            tuple(_steps(campaign)),
            tuple(_cautions(plan, bolt, stop, folder)),
            tuple((tool.name, tool.supply) for tool in campaign.tools if tool.supply),
            f"Strikeproof {strikeproof.__version__}, seed {campaign.protocol.seed}",
        )
    )


def _runs(campaign: Campaign, plan: SheetPlan) -> Iterator[PaperRun]:
    from strikeproof.publish.run_sheet import PaperRun

    before = None
    for row in plan.cells:
        bolt = row.get("bolt", "")
        line = RunRow(row["run"], row["article"], _tool(campaign, row), row["block"], bolt=bolt)
        yield PaperRun(line, bool(bolt) and bolt != before, row["run"] in plan.made)
        before = bolt


def _tool(campaign: Campaign, row: Mapping[str, str]) -> str:
    """The tool of a line, and how it is set where that is not as for the others."""
    turning = campaign.turning_in(read_rotation(row.get("rotation")))
    if turning == campaign.turning:
        return row["tool"]
    return f"{row['tool']} in {turning.rotation}, {turning.hand}-hand bolt"


def _bolt(campaign: Campaign) -> BoltFacts | None:
    bolt = campaign.bolt
    parts = bolt.parts()
    if parts is None:
        return None
    return describe_parts(
        parts,
        friction=bolt.friction,
        thread_friction=bolt.thread_friction,
        head_friction=bolt.head_friction,
        share=bolt.largest_proof_share,
    )


def _own_torque(campaign: Campaign, bolt: BoltFacts, folder: Path) -> float | None:
    """The torque at which a cell that shows a load itself shows the allowed one; None where none does.
    [N·m]"""
    source = campaign.calibration
    if source is None or kind_of_unit(source.applied_unit) != "torque":
        return None
    try:
        level = calibrate_folder(folder).level_of_own(bolt.allowed_clamp_load)
    except StrikeproofError:  # said where the campaign is loaded
        return None
    return None if level is None else to_si(level, source.applied_unit, "torque")


def _limit(bolt: BoltFacts, own_torque: float | None, force: str, torque: str) -> str:
    """The allowed clamp load, and the least torque that may get it there, where one is known."""
    load = f"{write_number(from_si(bolt.allowed_clamp_load, force, 'force'), 3)} {unit_label(force)}"
    by_friction = None if bolt.tightening is None else bolt.tightening.allowed_torque
    known = [each for each in (by_friction, own_torque) if each is not None]
    if not known:
        return load
    turned = from_si(min(known), torque, "torque")
    return f"{load}, about {write_number(turned, 3)} {unit_label(torque)}"


def _facts(
    plan: SheetPlan, bolt: BoltFacts | None, stop: str | None, folder: Path
) -> Iterator[tuple[str, str]]:
    protocol = plan.campaign.protocol
    yield "Each run", f"{protocol.duration_s:g} s, {plan.campaign.turning}"
    yield "Cool-down", f"{protocol.cool_down_s:g} s" if protocol.cool_down_s else "none given"
    yield "Score", str(protocol.score)
    if bolt is not None:
        yield "Bolt", f"{bolt.thread.designation} {bolt.property_class.name}"
    if stop is not None:
        is_only_said = blind_words(plan.campaign, folder) or plan.campaign.protocol.direction == "loosen"
        yield "Bolt may carry" if is_only_said else "Stop below", stop
    if protocol.supply:
        yield "Supply", protocol.supply
    yield "Left to do", f"{plan.left} runs, about {write_duration(plan.time_s)}"


def _steps(campaign: Campaign) -> Iterator[str]:
    protocol = campaign.protocol
    turning = campaign.turning
    yield "Take the article and the tool of the next line; look for cracks"
    if turning.rotation == "reverse" or turning.hand == "left":
        yield f"Set the tool to {turning.rotation}: it is to {turning.direction} a {turning.hand}-hand bolt"
    yield "Where the line says new bolt, take one, oil it as the others were, and run it down snug"
    if protocol.direction == "tighten":
        yield "Bring the bolt back to snug and let the reading come to rest"
    else:
        yield "Tighten the bolt to its starting load and let the reading come to rest"
    yield f"Start the log, wait a second, hammer for {protocol.duration_s:g} s, wait two seconds, end the log"
    yield "Tick the line; write down at once what was odd about the run. Never repeat a run unseen"
    if protocol.cool_down_s:
        yield f"Let the tool cool for {protocol.cool_down_s:g} s"


def _cautions(plan: SheetPlan, bolt: BoltFacts | None, stop: str | None, folder: Path) -> Iterator[str]:
    if plan.expected:
        yield plan.expected
    yield from supply_cautions(plan.campaign)
    if bolt is not None:
        blind, share = (
            blind_words(plan.campaign, folder),
            f"{100 * bolt.share:.3g} % of the bolt's proof load",
        )
        if blind:
            yield f"The bolt may carry {stop}, {share}, but {blind}"
        else:
            yield f"Stop a run that comes to {stop}: {share}"
    yield from CAUTIONS
    campaign = plan.campaign
    yield from plan_cautions(plan.left, campaign.protocol.duration_s, (t.mechanism for t in campaign.tools))
    told: set[str] = set()
    for article in plan.campaign.articles:
        for text in _of_article(article, folder):
            if text not in told:
                told.add(text)
                yield text


def _of_article(article: Article, folder: Path) -> Iterator[str]:
    """The cautions that only some articles need."""
    if article.geometry is None:
        return
    try:
        table = {"name": article.name, **json.loads(article.geometry)}
        described = describe_article({"article": table}, workspace=folder)
    except StrikeproofError:  # an article of which too little is known has no cautions of its own
        return
    yield from (text for text in described.cautions if isinstance(text, OwnCaution))
