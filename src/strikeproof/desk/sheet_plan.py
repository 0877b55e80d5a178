"""The run sheet of a campaign set up here: planned in fair order, and planned on when runs were made already.

A run that was made stays on its line as it is, and the block it stands in is kept; only what comes after is
planned. The order follows from the protocol's seed, so planning twice gives the same sheet.
"""

from __future__ import annotations

import re
import secrets
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import groupby
from pathlib import Path

from strikeproof.campaign.folder import read_campaign
from strikeproof.campaign.records import Campaign
from strikeproof.desk.bolt_check import check_bolt
from strikeproof.desk.plan import as_cells, plan_notes, plan_repeats
from strikeproof.desk.run_rows import hold_sheet, read_run_cells, sheet_path, write_run_cells
from strikeproof.desk.set_up import SetUp, change_set_up, keep_record, open_set_up
from strikeproof.desk.set_up_edits import set_value
from strikeproof.errors import BadInput
from strikeproof.judge.planning import plan_runs
from strikeproof.judge.records import PlannedRun

__all__ = ["SheetPlan", "keep_sheet", "open_for_recording", "plan_sheet"]

_SEED_WHEN_NOT_TOLD = 0  # shown before the person makes the sheet; making it draws one and writes it down


@dataclass(frozen=True, slots=True)
class SheetPlan:
    """A run sheet.

    Attributes
    ----------
    cells
        Each line's filled cells.
    made
        The runs that were made.
    on_disk
        Whether the sheet in the folder is this one.
    time_s, bolts
        Of the runs still to be made, cool-downs between them included. [s, 1]
    notes
        What to know before starting.
    stop
        That a run is predicted to go beyond the bolt's proof load; "" when none is.
    """

    campaign: Campaign
    cells: tuple[dict[str, str], ...]
    made: frozenset[str]
    on_disk: bool
    time_s: float
    bolts: int
    repeats: int
    notes: tuple[str, ...]
    stop: str = ""

    @property
    def left(self) -> int:
        """Runs still to be made."""
        return sum(row["run"] not in self.made for row in self.cells)


def plan_sheet(workspace: Path, name: str) -> SheetPlan:
    """The sheet as it would be made now; nothing is written.

    Raises
    ------
    BadInput
        If the campaign is not whole, or nothing says how many repeats.
    """
    return _plan(_whole(workspace, name))


def _whole(workspace: Path, name: str) -> SetUp:
    found = open_set_up(workspace, name)
    if found.faults:
        first = found.faults[0]
        more = f" (and {len(found.faults) - 1} more)" if len(found.faults) > 1 else ""
        raise BadInput(
            first.problem, where="the plan", allowed="a campaign that is whole", mend=first.mend + more
        )
    return found


def keep_sheet(workspace: Path, name: str) -> SheetPlan:
    """Make the sheet and put it into the campaign's folder; a seed is drawn and written down if none is told.

    Raises
    ------
    BadInput, StoreError
        If it cannot be planned, or not written.
    """
    found = _whole(workspace, name)
    _plan(found)  # what cannot be planned changes nothing
    if found.tables.get("protocol", {}).get("seed") is None:
        found = change_set_up(
            workspace, name, set_value(("protocol", "seed"), 1 + secrets.randbelow(10**6))
        ).set_up
    plan = _plan(found)
    seed = f"planned by strikeproof, seed {plan.campaign.protocol.seed}"
    path = sheet_path(found.folder, found.tables)
    with hold_sheet(found.folder):
        dropped = [row for row in read_run_cells(path) if row not in plan.cells]
        write_run_cells(path, list(plan.cells), seed, filled_by_hand=any(map(_is_filled, dropped)))
    keep_record(workspace, found.folder, make=True)
    return _plan(found)


def _is_filled(row: dict[str, str]) -> bool:
    """Whether a line says what no plan says."""
    return bool({"started", "set_aside", "score"} & row.keys()) or row.get("note", "new bolt") != "new bolt"


def open_for_recording(workspace: Path, name: str) -> None:
    """Let the workspace know a campaign whose sheet was made elsewhere, such as on the command line.

    Raises
    ------
    BadInput, StoreError
        If the campaign is not complete, or the workspace cannot be written.
    """
    keep_record(workspace, _whole(workspace, name).folder, make=True)


def _plan(found: SetUp) -> SheetPlan:
    path = found.folder / "campaign.toml"
    campaign = read_campaign(path)
    if Path(campaign.runs_sheet).suffix.lower() not in (".csv", ".txt", ".tsv"):
        raise BadInput(
            f"{campaign.runs_sheet!r} is no text sheet",
            where="runs.sheet",
            allowed="a .csv file",
            mend="name a .csv file, or plan in the workbook yourself",
        )
    repeats, why = plan_repeats(campaign, path)
    present = read_run_cells(sheet_path(found.folder, found.tables))
    made = frozenset(run.run for run in found.made)
    kept = _begun(present, made, campaign)
    ahead = [row for row in present if row not in kept]
    still_right = (kept or campaign.protocol.seed is None) and _is_fair(
        ahead, campaign, _left(campaign, repeats, kept)
    )
    cells = [*kept, *(ahead if still_right else _onward(campaign, repeats, kept))]
    runs = [row for row in cells if row["run"] not in made]
    protocol = campaign.protocol
    pause = protocol.duration_s + (protocol.cool_down_s or 0.0)
    return SheetPlan(
        campaign,
        tuple(cells),
        made,
        [_plain(row) for row in present] == [_plain(row) for row in cells] and bool(present),
        len(runs) * pause,
        len({row["bolt"] for row in runs if row.get("bolt")}),
        repeats,
        (why, *_kept_note(kept, made), *(plan_notes(campaign, _as_runs(runs, pause)) if runs else ())),
        _stop(found) if runs else "",
    )


def _stop(found: SetUp) -> str:
    """A predicted overstress of the bolt, where enough is known to predict one."""
    bolt = found.tables.get("bolt", {})
    if "thread" not in bolt or "class" not in bolt:
        return ""
    checked = check_bolt(found.tables)
    return checked.says if checked.stop else ""


def _plain(row: dict[str, str]) -> tuple[str, ...]:
    return tuple(row.get(key, "") for key in ("run", "tool", "article", "block", "bolt"))


def _begun(rows: Iterable[dict[str, str]], made: frozenset[str], campaign: Campaign) -> list[dict[str, str]]:
    """The lines of every block in which a run was made; what cannot be run any more goes."""
    rows = list(rows)
    blocks = {row.get("block") for row in rows if row.get("run") in made}
    known = {each.name for each in campaign.articles}
    return [
        {"tool": campaign.tools[0].name, **row}
        for row in rows
        if row.get("run") in made or (row.get("block") in blocks and row.get("article") in known)
    ]


def _left(campaign: Campaign, repeats: int, kept: Sequence[dict[str, str]]) -> dict[str, int]:
    """Blocks that each tool still lacks."""
    begun = Counter(tool for tool, _block in {(row["tool"], row.get("block")) for row in kept})
    return {tool.name: max(0, repeats - begun[tool.name]) for tool in campaign.tools}


def _is_fair(rows: Sequence[dict[str, str]], campaign: Campaign, left: dict[str, int]) -> bool:
    """Whether lines that are on the sheet already are the blocks still lacking, whatever their order."""
    others = sorted(each.name for each in campaign.articles if each.name != campaign.reference)
    blocks = [list(of) for _key, of in groupby(rows, key=lambda row: (row.get("tool"), row.get("block")))]
    for block in blocks:
        names = [row.get("article", "") for row in block]
        if len(names) < 3 or {names[0], names[-1]} != {campaign.reference} or sorted(names[1:-1]) != others:
            return False
    on_bolts = Counter(row.get("bolt") for row in rows)
    budget = campaign.bolt.runs_per_bolt
    if (
        set(on_bolts) - {None}
        if budget is None
        else None in on_bolts or any(n > budget for n in on_bolts.values())
    ):
        return False
    return Counter(block[0].get("tool") for block in blocks) == +Counter(left)


def _onward(campaign: Campaign, repeats: int, kept: Sequence[dict[str, str]]) -> list[dict[str, str]]:
    """The blocks still to come, numbered on from what is kept."""
    left = _left(campaign, repeats, kept)
    most = max(left.values())
    if most == 0:
        return []
    seed = campaign.protocol.seed
    runs = plan_runs(
        [article.name for article in campaign.articles],
        list(left),
        campaign.reference,
        repeats=most,
        seed=_SEED_WHEN_NOT_TOLD if seed is None else seed + len(kept),
        duration_s=campaign.protocol.duration_s,
        runs_per_bolt=campaign.bolt.runs_per_bolt,
        cool_down_s=campaign.protocol.cool_down_s,
    )
    return _numbered(_without_spare_blocks(runs, left), kept)


def _without_spare_blocks(runs: Sequence[PlannedRun], left: dict[str, int]) -> list[PlannedRun]:
    """As many blocks of each tool as it lacks; the first go, so that the last rounds hold every tool."""
    blocks: dict[str, list[str]] = {tool: [] for tool in left}
    for run in runs:
        if run.block not in blocks[run.tool]:
            blocks[run.tool].append(run.block)
    wanted = {block for tool, of in blocks.items() for block in of[len(of) - left[tool] :]}
    return [run for run in runs if run.block in wanted]


def _numbered(runs: Sequence[PlannedRun], kept: Sequence[dict[str, str]]) -> list[dict[str, str]]:
    """Planned runs as cells; runs, blocks and bolts count on from the kept ones."""
    last_run, last_block, last_bolt = (
        _largest(row.get(key, "") for row in kept) for key in ("run", "block", "bolt")
    )
    digits = max(3, len(str(last_run + len(runs))))
    blocks = {
        block: str(last_block + n) for n, block in enumerate(dict.fromkeys(run.block for run in runs), 1)
    }
    bolts = {
        bolt: f"bolt-{last_bolt + n}" for n, bolt in enumerate(dict.fromkeys(run.bolt for run in runs), 1)
    }
    seen: set[str] = set()
    cells = []
    for number, run in enumerate(runs, last_run + 1):
        bolt = bolts[run.bolt] if run.bolt else ""
        name = f"r{number:0{digits}d}"
        note = "new bolt" if bolt and bolt not in seen else ""
        seen.add(bolt)
        row = as_cells(run) | {"run": name, "log": f"{name}.csv", "block": blocks[run.block]}
        cells.append({key: cell for key, cell in (row | {"bolt": bolt, "note": note}).items() if cell})
    return cells


def _largest(words: Iterable[str]) -> int:
    """The largest number in any name, 0 when none has one; r012-2 is a second try of run 12."""
    return max((int(digits) for word in words for digits in re.findall(r"\d{1,6}", word)), default=0)


def _as_runs(rows: Sequence[dict[str, str]], pause: float) -> tuple[PlannedRun, ...]:
    return tuple(
        PlannedRun(
            row["run"],
            n + 1,
            row["tool"],
            row["article"],
            row["block"],
            row.get("bolt"),
            None,
            False,
            n * pause,
        )
        for n, row in enumerate(rows)
    )


def _kept_note(kept: Sequence[dict[str, str]], made: frozenset[str]) -> list[str]:
    if not made:
        return []
    return [f"{sum(row['run'] in made for row in kept)} runs were made and stay as they are"]
