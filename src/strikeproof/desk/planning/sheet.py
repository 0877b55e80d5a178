"""The run sheet of a campaign set up here: planned in fair order, and planned on when runs were made already.

A run that was made stays on its line as it is, and the block it is in is stored; only what comes after is
planned. The order follows from the protocol's seed, so planning twice gives the same sheet.
"""

from __future__ import annotations

import secrets
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from strikeproof.campaign.folder import read_campaign
from strikeproof.campaign.records import Campaign
from strikeproof.campaign.run_sheet import NEW_BOLT
from strikeproof.campaign.toml_reader import read_toml
from strikeproof.desk.planning.blocks import (
    Cells,
    blocks_left,
    is_fair,
    number_on,
    own_blocks,
    short_articles,
    standing_rows,
    with_tool,
)
from strikeproof.desk.planning.bolt_check import BoltCheck, check_bolt
from strikeproof.desk.planning.plan import plan_notes, plan_repeats
from strikeproof.desk.safety.cautions import Stop
from strikeproof.desk.setting_up.editor import SetUp, change_set_up, keep_record, open_set_up
from strikeproof.desk.setting_up.edits import Tables, set_value
from strikeproof.desk.setting_up.run_rows import hold_sheet, read_run_cells, sheet_path, write_run_cells
from strikeproof.desk.workspace.opening import open_campaign
from strikeproof.errors import BadFile, BadInput, NotFound
from strikeproof.judge.planning import plan_runs
from strikeproof.judge.records import PlannedRun

__all__ = [
    "SheetPlan",
    "expected_overloads",
    "find_expected",
    "find_expected_in",
    "find_expected_of",
    "keep_sheet",
    "open_complete",
    "open_for_recording",
    "plan_sheet",
]

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
    expected
        That a run is predicted to go beyond what the bolt is allowed; "" when none is. It is also a note.
    short
        Articles that stand in fewer blocks than there are to be repeats, such as one that came late.
    """

    campaign: Campaign
    cells: tuple[dict[str, str], ...]
    made: frozenset[str]
    on_disk: bool
    time_s: float
    bolts: int
    repeats: int
    notes: tuple[str, ...]
    expected: str = ""
    short: tuple[str, ...] = ()

    @property
    def stop(self) -> str:
        """That a run is predicted to go beyond the bolt's proof load; "" when none is."""
        return self.expected if isinstance(self.expected, Stop) else ""

    @property
    def left(self) -> int:
        """Runs still to be made."""
        return sum(row["run"] not in self.made for row in self.cells)


def plan_sheet(workspace: Path, name: str) -> SheetPlan:
    """The sheet as it would be made now; nothing is written.

    Raises
    ------
    BadInput
        If the campaign is not complete, or nothing says how many repeats.
    """
    return _plan(open_complete(workspace, name))


def open_complete(workspace: Path, name: str) -> SetUp:
    """The campaign called `name`, with nothing in it missing or wrong.

    Raises
    ------
    BadInput
        If something is.
    """
    found = open_set_up(workspace, name)
    if found.faults:
        first = found.faults[0]
        more = f" (and {len(found.faults) - 1} more)" if len(found.faults) > 1 else ""
        raise BadInput(first.problem, where="the plan", allowed="a complete campaign", fix=first.fix + more)
    return found


def keep_sheet(workspace: Path, name: str) -> SheetPlan:
    """Make the sheet and put it into the campaign's folder; a seed is drawn and written down if none is
    given.

    Raises
    ------
    BadInput, StoreError
        If it cannot be planned, or not written.
    """
    found = open_complete(workspace, name)
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
    return bool({"started", "set_aside", "score"} & row.keys()) or row.get("note", NEW_BOLT) != NEW_BOLT


def open_for_recording(workspace: Path, name: str) -> None:
    """Let the workspace know a campaign whose sheet was made elsewhere, such as on the command line.

    Raises
    ------
    BadInput, StoreError
        If the campaign is not complete, or the workspace cannot be written.
    """
    keep_record(workspace, open_complete(workspace, name).folder, make=True)


def _plan(found: SetUp) -> SheetPlan:
    path = found.folder / "campaign.toml"
    campaign = read_campaign(path)
    if Path(campaign.runs_sheet).suffix.lower() not in (".csv", ".txt", ".tsv"):
        raise BadInput(
            f"{campaign.runs_sheet!r} is not a text file",
            where="runs.sheet",
            allowed="a .csv file",
            fix="name a .csv file, or plan in the workbook yourself",
        )
    repeats, why = plan_repeats(campaign, path)
    present = with_tool(read_run_cells(sheet_path(found.folder, found.tables)), campaign)
    made = frozenset(run.run for run in found.made)
    begun = standing_rows(present, made, campaign)
    kept = [*begun, *own_blocks(present, begun, campaign)]
    ahead = [row for row in present if row not in kept]
    left = blocks_left(campaign, repeats, begun)
    still_right = (begun or campaign.protocol.seed is None) and is_fair(ahead, kept, campaign, left)
    cells = (
        [row for row in present if row in kept or row in ahead]
        if still_right
        else [*kept, *_onward(campaign, left, kept)]
    )
    runs = [row for row in cells if row["run"] not in made]
    protocol = campaign.protocol
    cool_down = protocol.cool_down_s or 0.0
    pause = protocol.duration_s + cool_down
    expected = find_expected(found.tables) if runs else ""
    ahead_notes = plan_notes(campaign, _as_runs(runs, pause), found.folder) if runs else ()
    return SheetPlan(
        campaign,
        tuple(cells),
        made,
        [_plain(row) for row in present] == [_plain(row) for row in cells] and bool(present),
        len(runs) * pause - cool_down if runs else 0.0,
        len({row["bolt"] for row in runs if row.get("bolt")}),
        repeats,
        (
            *_overload_note(expected),
            why,
            *_kept_note(kept, made),
            *ahead_notes,
        ),
        expected,
        tuple(_short(cells, campaign, repeats)),
    )


def _short(cells: Sequence[Cells], campaign: Campaign, repeats: int) -> Iterator[str]:
    names = {name for of in short_articles(cells, campaign, repeats).values() for name in of}
    return (each.name for each in campaign.articles if each.name in names)


def find_expected(tables: Tables) -> str:
    """A predicted overload of the bolt in words, where enough is known to predict one; else empty.

    It is a `Stop` beyond the proof load.
    """
    checked = _check(tables)
    return "" if checked is None else checked.caution


def _check(tables: Tables) -> BoltCheck | None:
    bolt = tables.get("bolt", {})
    return check_bolt(tables) if "thread" in bolt and "class" in bolt else None


def find_expected_of(workspace: Path, name: str | None) -> str:
    """The same for a campaign of the workspace; empty where its file is not there or is being changed.

    Raises
    ------
    StoreError, NotFound, BadInput
        If there is no such campaign.
    """
    store, key, _campaign = open_campaign(workspace, name)
    try:
        return find_expected_in(store.campaign_folder(key))
    except BadFile:
        return ""


def find_expected_in(path: Path) -> str:
    """The same for the campaign.toml at `path`, or in that folder; why, where the bolt cannot be predicted.

    Raises
    ------
    BadFile
        If it cannot be read.
    """
    tables, _text = read_toml(path / "campaign.toml" if path.is_dir() else path)
    try:
        return find_expected(tables)
    except (BadInput, NotFound) as wrong:
        return f"The load on the bolt cannot be predicted: {wrong}"


def expected_overloads(workspace: Path, name: str | None) -> dict[tuple[str, str], str]:
    """The predicted overloads of a campaign of the workspace in words, by tool and article.

    Nothing is in it where nothing can be predicted.

    Raises
    ------
    StoreError, NotFound, BadInput
        If there is no such campaign.
    """
    store, key, campaign = open_campaign(workspace, name)
    try:
        tables, _text = read_toml(store.campaign_folder(key) / "campaign.toml")
        checked = _check(tables)
    except (BadFile, BadInput, NotFound):
        return {}
    pairs = [(tool.name, article.name) for tool in campaign.tools for article in campaign.articles]
    found = {} if checked is None else {pair: checked.caution_of(*pair) for pair in pairs}
    return {pair: words for pair, words in found.items() if words}


def _plain(row: dict[str, str]) -> tuple[str, ...]:
    return tuple(row.get(key, "") for key in ("run", "tool", "article", "block", "bolt"))


def _onward(campaign: Campaign, left: dict[str, int], kept: Sequence[Cells]) -> list[Cells]:
    """The blocks still to come, numbered on from what is stored."""
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
    return number_on(_without_spare_blocks(runs, left), kept)


def _without_spare_blocks(runs: Sequence[PlannedRun], left: dict[str, int]) -> list[PlannedRun]:
    """As many blocks of each tool as it lacks; the first go, so that the last rounds hold every tool."""
    blocks: dict[str, list[str]] = {tool: [] for tool in left}
    for run in runs:
        if run.block not in blocks[run.tool]:
            blocks[run.tool].append(run.block)
    wanted = {block for tool, of in blocks.items() for block in of[len(of) - left[tool] :]}
    return [run for run in runs if run.block in wanted]


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


def _overload_note(expected: str) -> list[str]:
    return [expected] if expected and not isinstance(expected, Stop) else []


def _kept_note(kept: Sequence[dict[str, str]], made: frozenset[str]) -> list[str]:
    if not made:
        return []
    return [f"{sum(row['run'] in made for row in kept)} runs were made and stay as they are"]
