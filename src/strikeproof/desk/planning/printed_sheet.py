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
from strikeproof.language import language_now, say, say_many, speaking, write_figures
from strikeproof.quantity import from_si, kind_of_unit, to_si, unit_label, write_duration, write_number

if TYPE_CHECKING:
    from strikeproof.publish.run_sheet import PaperRun

__all__ = ["print_sheet"]


def print_sheet(
    workspace: Path, name: str, *, force: str = "kN", torque: str = "N m", language: str | None = None
) -> str:
    """The sheet as one HTML document, large enough to read and with room to write.

    Parameters
    ----------
    force, torque
        Units to print loads in.
    language
        Code of the language to print it in; None: the one that is spoken.

    Raises
    ------
    StrikeproofError
        If the campaign cannot be planned.
    """
    with speaking(language or language_now()):
        return _print_sheet(plan_sheet(workspace, name), find_campaign_place(workspace, name), force, torque)


def _print_sheet(plan: SheetPlan, folder: Path, force: str, torque: str) -> str:
    # The room it is written in wakes a plotting library, which nobody waits for who only plans.
    from strikeproof.publish.run_sheet import PaperSheet, write_run_sheet_page

    campaign = plan.campaign
    bolt = _bolt(campaign)
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
            say(
                "Strikeproof {version}, seed {seed}",
                version=strikeproof.__version__,
                seed=campaign.protocol.seed,
            ),
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
    return say(
        "{tool} in {rotation}, {hand}-hand bolt",
        tool=row["tool"],
        rotation=turning.words["rotation"],
        hand=turning.words["hand"],
    )


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
    return say(
        "{load}, about {turned} {torque}",
        load=load,
        turned=write_number(turned, 3),
        torque=unit_label(torque),
    )


def _facts(
    plan: SheetPlan, bolt: BoltFacts | None, stop: str | None, folder: Path
) -> Iterator[tuple[str, str]]:
    protocol = plan.campaign.protocol
    yield (
        say("Each run"),
        say(
            "{duration_s} s, {turning}",
            duration_s=write_figures(f"{protocol.duration_s:g}"),
            turning=plan.campaign.turning,
        ),
    )
    yield (
        say("Cool-down"),
        f"{write_figures(f'{protocol.cool_down_s:g}')} s" if protocol.cool_down_s else say("none given"),
    )
    yield say("Score"), str(protocol.score)
    if bolt is not None:
        yield say("Bolt"), f"{bolt.thread.designation} {bolt.property_class.name}"
    if stop is not None:
        is_only_said = blind_words(plan.campaign, folder) or plan.campaign.protocol.direction == "loosen"
        yield say("Bolt may carry") if is_only_said else say("Stop below"), stop
    if protocol.supply:
        yield say("Supply"), protocol.supply
    yield (
        say("Left to do"),
        say_many(
            "{count} run, about {duration}",
            "{count} runs, about {duration}",
            plan.left,
            duration=write_duration(plan.time_s),
        ),
    )


def _steps(campaign: Campaign) -> Iterator[str]:
    protocol = campaign.protocol
    turning = campaign.turning
    yield say("Take the article and the tool of the next line; look for cracks")
    if turning.rotation == "reverse" or turning.hand == "left":
        yield say(
            "Set the tool to {rotation}: it is to {direction} a {hand}-hand bolt",
            **turning.words,
        )
    yield say("Where the line says new bolt, take one, oil it as the others were, and run it down snug")
    if protocol.direction == "tighten":
        yield say("Bring the bolt back to snug and let the reading come to rest")
    else:
        yield say("Tighten the bolt to its starting load and let the reading come to rest")
    yield say(
        "Start the log, wait a second, hammer for {duration_s} s, wait two seconds, end the log",
        duration_s=write_figures(f"{protocol.duration_s:g}"),
    )
    yield say("Tick the line; write down at once what was odd about the run. Never repeat a run unseen")
    if protocol.cool_down_s:
        yield say(
            "Let the tool cool for {cool_down_s} s", cool_down_s=write_figures(f"{protocol.cool_down_s:g}")
        )


def _cautions(plan: SheetPlan, bolt: BoltFacts | None, stop: str | None, folder: Path) -> Iterator[str]:
    if plan.expected:
        yield plan.expected
    yield from supply_cautions(plan.campaign)
    if bolt is not None:
        blind, share = (
            blind_words(plan.campaign, folder),
            say("{share} % of the bolt's proof load", share=write_figures(f"{100 * bolt.share:.3g}")),
        )
        if blind:
            yield say("The bolt may carry {stop}, {share}, but {blind}", stop=stop, share=share, blind=blind)
        else:
            yield say("Stop a run that comes to {stop}: {share}", stop=stop, share=share)
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
