"""A block for articles that came late, such as one added from a design: planned behind what is on the sheet.

It holds each article that has fewer blocks than there are to be repeats, and the reference twice, all in
random order, with each tool that lacks them. Nothing that is on the sheet already is changed.
"""

from __future__ import annotations

import secrets
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

from strikeproof.campaign.folder import read_campaign
from strikeproof.campaign.records import Campaign
from strikeproof.campaign.table import read_table
from strikeproof.campaign.toml_reader import read_toml
from strikeproof.desk.planning.blocks import Cells, blocks_lacking, number_on, short_articles, with_tool
from strikeproof.desk.planning.plan import plan_repeats
from strikeproof.desk.planning.sheet import find_expected, open_complete
from strikeproof.desk.setting_up.editor import keep_record
from strikeproof.desk.setting_up.edits import Tables
from strikeproof.desk.setting_up.run_rows import hold_sheet, read_run_cells, sheet_path, write_run_cells
from strikeproof.errors import BadInput
from strikeproof.judge.planning import plan_blocks

__all__ = ["ExtraBlock", "add_block", "keep_block", "plan_block"]


@dataclass(frozen=True, slots=True)
class ExtraBlock:
    """Lines that follow those of a run sheet.

    Attributes
    ----------
    articles
        Those that the block is for.
    reference
        What they are run beside.
    cells
        Each new line's filled cells.
    stop
        That a run of the block is predicted to go beyond the bolt's proof load; "" when none is.
    more
        How many further such blocks the articles need after it, until each has its repeats.
    """

    articles: tuple[str, ...]
    reference: str
    cells: tuple[Cells, ...]
    stop: str
    more: int


def plan_block(workspace: Path, name: str) -> ExtraBlock:
    """The block as it would be added now; nothing is written.

    Raises
    ------
    BadInput
        If the campaign is not complete, has no run sheet, or no article lacks runs.
    """
    found = open_complete(workspace, name)
    return _plan(found.folder, found.tables)


def keep_block(workspace: Path, name: str) -> ExtraBlock:
    """Add the block to the run sheet.

    Raises
    ------
    BadInput
        As `plan_block`.
    StoreError
        If runs are being recorded in the folder, or the sheet cannot be written.
    """
    found = open_complete(workspace, name)
    block = _add(found.folder, found.tables)
    keep_record(workspace, found.folder, make=True)
    return block


def keep_agreed_block(workspace: Path, name: str, *, agreed: bool = False) -> tuple[ExtraBlock, bool]:
    """Add the block unless it is predicted to overload a bolt and nobody agreed; whether it was added.

    Raises
    ------
    BadInput, StoreError
        As `keep_block`.
    """
    block = plan_block(workspace, name)
    if block.stop and not agreed:
        return block, False
    return keep_block(workspace, name), True


def add_block(path: Path) -> ExtraBlock:
    """The same for a campaign folder anywhere, by its campaign.toml or the folder; no workspace is named.

    Raises
    ------
    BadFile
        If campaign.toml cannot be used.
    BadInput, StoreError
        As `keep_block`.
    """
    folder = path if path.is_dir() else path.parent
    read_campaign(folder / "campaign.toml")
    return _add(folder, read_toml(folder / "campaign.toml")[0])


def _add(folder: Path, tables: Tables) -> ExtraBlock:
    path = sheet_path(folder, tables)
    with hold_sheet(folder):
        block = _plan(folder, tables)
        write_run_cells(path, [*read_run_cells(path), *_in_columns(path, block.cells)])
    return block


def _in_columns(path: Path, cells: Iterable[Cells]) -> list[Cells]:
    """The lines without the cells that the sheet has no column for."""
    columns = read_table(path).columns
    return [{name: cell for name, cell in row.items() if name in columns} for row in cells]


def _plan(folder: Path, tables: Tables) -> ExtraBlock:
    campaign = read_campaign(folder / "campaign.toml")
    rows = with_tool(read_run_cells(sheet_path(folder, tables)), campaign)
    if not rows:
        raise BadInput(
            "there is no run sheet yet",
            where=campaign.name,
            allowed="a campaign whose runs are planned",
            fix="make the run sheet: it holds every article",
        )
    repeats = _repeats(campaign, folder)
    wanted = short_articles(rows, campaign, repeats)
    if not wanted:
        raise BadInput(
            "every article has its runs on the sheet already",
            where=campaign.name,
            allowed="an article with fewer blocks than repeats",
            fix="ask for more repeats in the protocol to plan more",
        )
    protocol = campaign.protocol
    runs = plan_blocks(
        wanted,
        campaign.reference,
        seed=_seed(campaign, len(rows)),
        duration_s=protocol.duration_s,
        runs_per_bolt=campaign.bolt.runs_per_bolt,
        cool_down_s=protocol.cool_down_s,
    )
    names = {name for of in wanted.values() for name in of}
    articles = tuple(each.name for each in campaign.articles if each.name in names)
    of_block = {*articles, campaign.reference}
    mounted = [each for each in tables["article"] if each.get("name") in of_block]
    stop = find_expected({**tables, "article": mounted})
    cells = tuple(number_on(runs, rows))
    lacking = blocks_lacking([*rows, *cells], campaign, repeats)
    more = max((count for of in lacking.values() for count in of.values()), default=0)
    return ExtraBlock(articles, campaign.reference, cells, stop, more)


def _repeats(campaign: Campaign, folder: Path) -> int | None:
    """None where nothing says how many, as with a sheet that was written by hand."""
    try:
        return plan_repeats(campaign, folder / "campaign.toml")[0]
    except BadInput:
        return None


def _seed(campaign: Campaign, rows: int) -> int:
    """What is shown is what is written, where the protocol has a seed."""
    given = campaign.protocol.seed
    return secrets.randbelow(10**6) if given is None else given + rows
