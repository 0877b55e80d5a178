"""Turn a campaign file into a run sheet: blocks in random order, bolts within their budget."""

from __future__ import annotations

import json
import secrets
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

import strikeproof
from strikeproof.campaign.folder import other_file_at, read_campaign
from strikeproof.campaign.inside import path_inside
from strikeproof.campaign.records import Article, Campaign
from strikeproof.campaign.run_sheet import NEW_BOLT
from strikeproof.campaign.sheet_text import write_run_sheet_text
from strikeproof.campaign.table import read_table
from strikeproof.campaign.text import read_text
from strikeproof.campaign.whole_file import write_beside
from strikeproof.desk.safety.bolt_limit import tell_limit
from strikeproof.desk.safety.head_fit import say_head_fit
from strikeproof.desk.safety.supply import supply_cautions
from strikeproof.errors import BadFile, BadInput, NotFound, StoreError
from strikeproof.judge.planning import follow_runs, plan_runs
from strikeproof.judge.records import PlannedRun
from strikeproof.judge.repeats import repeats_for
from strikeproof.quantity import write_duration, write_number

__all__ = ["RunPlan", "as_cells", "plan_campaign", "plan_notes", "plan_repeats", "write_sheet"]


@dataclass(frozen=True, slots=True)
class RunPlan:
    """A planned run sheet and what a person should know before starting; `path` is of its campaign.toml."""

    campaign: Campaign
    runs: tuple[PlannedRun, ...]
    repeats: int
    seed: int
    notes: tuple[str, ...]
    path: Path

    def sheet(self) -> str:
        """The run sheet as CSV; the seed is in its first line."""
        head = f"planned by strikeproof {strikeproof.__version__}, seed {self.seed}"
        return write_run_sheet_text(map(as_cells, self.runs), head)


def as_cells(run: PlannedRun) -> dict[str, str]:
    """A planned run as the cells of its line."""
    return {
        "run": run.run,
        "log": f"{run.run}.csv",
        "tool": run.tool,
        "article": run.article,
        "block": run.block,
        "bolt": run.bolt or "",
        "note": NEW_BOLT if run.new_bolt and run.bolt else "",
    }


def plan_campaign(path: Path, changed: Sequence[str] = ()) -> RunPlan:
    """The run sheet for the campaign.toml at `path`.

    Parameters
    ----------
    path
        Of the campaign, or its folder.
    changed
        Articles that are a piece after a change, which cannot take turns with what it was before: each gets
        its blocks behind all others, with the reference in them, so that the reference brackets the change.

    Raises
    ------
    BadFile, BadInput, NotFound
        If the file cannot be read, neither it nor its rig says how many repeats or what they must show, or a
        changed article is none of the campaign's, its reference, or all of them.
    """
    path = path / "campaign.toml" if path.is_dir() else path
    campaign = read_campaign(path)
    repeats, why = plan_repeats(campaign, path)
    seed = campaign.protocol.seed if campaign.protocol.seed is not None else secrets.randbelow(10**6)
    names = [article.name for article in campaign.articles]
    _check_changed(changed, names, campaign.reference)
    pause = campaign.protocol.duration_s + (campaign.protocol.cool_down_s or 0.0)
    runs: tuple[PlannedRun, ...] = ()
    for number, articles in enumerate(
        ([name for name in names if name not in changed], *([name] for name in changed))
    ):
        part = plan_runs(
            articles,
            [tool.name for tool in campaign.tools],
            campaign.reference,
            repeats=repeats,
            seed=seed + number,
            duration_s=campaign.protocol.duration_s,
            runs_per_bolt=campaign.bolt.runs_per_bolt,
            cool_down_s=campaign.protocol.cool_down_s,
        )
        runs = follow_runs(runs, part, pause_s=pause)
    notes = (why, *_change_notes(runs, changed, campaign.reference), *plan_notes(campaign, runs, path))
    return RunPlan(campaign, runs, repeats, seed, notes, path)


def _check_changed(changed: Sequence[str], names: Sequence[str], reference: str) -> None:
    for name in changed:
        if name not in names:
            raise NotFound("article", name, names)
    others = set(names) - set(changed) - {reference}
    if reference in changed or (changed and not others):
        raise BadInput(
            ", ".join(changed),
            where="after a change",
            allowed=f"articles beside {reference} and the piece as it was before",
            fix="name the article that the piece is afterwards",
        )


def _change_notes(runs: Sequence[PlannedRun], changed: Sequence[str], reference: str) -> Iterator[str]:
    """When to change the piece."""
    for name in changed:
        block = next(each.block for each in runs if each.article == name)
        first = next(each.run for each in runs if each.block == block)
        yield (
            f"change the piece into {name} before run {first}: {reference} runs in the blocks before and "
            "after, so that other changes in between cancel"
        )


def write_sheet(plan: RunPlan, target: Path, *, replace: bool = False) -> Path | None:
    """Write the run sheet; one that is there already is replaced only on demand, and saved beside.

    Returns
    -------
    Path or None
        Where the sheet before is; None when there was none.

    Raises
    ------
    StoreError
        If the sheet is there already, runs on it were made, or it cannot be written.
    """
    _check_target(target, plan.path, plan.campaign)
    if target.exists() and not replace:
        raise StoreError(f"{target}: is there already", "give another name, or add --replace")
    return write_beside(target, plan.sheet())


def plan_repeats(campaign: Campaign, path: Path) -> tuple[int, str]:
    """Runs of each article with each tool, and why so many.

    Raises
    ------
    BadInput
        If neither the protocol nor a wanted difference says.
    """
    protocol, rig = campaign.protocol, campaign.rig
    if protocol.repeats is not None:
        return protocol.repeats, f"{protocol.repeats} repeats, as the protocol says"
    wanted, scatter = protocol.smallest_difference_percent, rig.repeatability_percent
    if wanted is None or scatter is None:
        raise BadInput(
            "nothing says how many repeats",
            where=str(path),
            allowed="protocol.repeats",
            fix="add it, or protocol.smallest_difference_percent with rig.repeatability_percent",
        )
    comparisons = (len(campaign.articles) - 1) * len(campaign.tools)
    repeats = repeats_for(wanted, scatter, comparisons, tools=len(campaign.tools))
    return repeats, (
        f"{repeats} repeats show a difference of {write_number(wanted, 3)} % with 80 % power, "
        f"at a repeatability of {write_number(scatter, 3)} % and {comparisons} comparisons"
    )


def plan_notes(campaign: Campaign, runs: tuple[PlannedRun, ...], folder: Path) -> list[str]:
    """What a person should know before starting; `folder` is the campaign's own, or its campaign.toml."""
    protocol, bolt = campaign.protocol, campaign.bolt
    length = write_duration(runs[-1].start_s + protocol.duration_s)
    notes = [f"{len(runs)} runs, {length} of hammering and cooling down"]
    if protocol.cool_down_s is None:
        notes.append("no cool-down is given: a tool that warms up drifts; set protocol.cool_down")
    if bolt.runs_per_bolt is None:
        notes.append("no budget of runs per bolt is given: the sheet changes no bolt; set bolt.runs_per_bolt")
    else:
        count = len({run.bolt for run in runs})
        bolts = "1 bolt" if count == 1 else f"{count} bolts"
        notes.append(f"{bolts}, {bolt.runs_per_bolt} runs each at most")
    if protocol.looks == 0:
        notes.append("looks after any block are allowed for: all together have at most 5 % false differences")
    elif protocol.looks is not None:
        notes.append(
            f"{protocol.looks} looks are planned, evenly over the blocks: together they have at most 5 % "
            f"false differences"
        )
    limit = tell_limit(campaign, folder)
    fit = say_head_fit(campaign.bolt.words, map(_geometry, campaign.articles))
    return [*supply_cautions(campaign), *notes, *fit, *([limit] if limit else [])]


def _geometry(article: Article) -> dict[str, Any]:
    return {"name": article.name, **(json.loads(article.geometry) if article.geometry else {})}


_SAID_OF_A_RUN: Final = ("score", "set_aside", "started")
_PLANNED_NOTES: Final = ("", NEW_BOLT)
_ELSEWHERE: Final = "plan to another file with -o, or move the sheet away by hand first"


def _check_target(target: Path, path: Path, campaign: Campaign) -> None:
    """Refuse a target that is no place for the run sheet of the campaign at `path`, a campaign.toml.

    Raises
    ------
    StoreError
        If `target` is a folder, another file of the campaign, or a sheet with runs that were made, or of
        which nobody knows.
    """
    if target.is_dir():
        raise StoreError(f"{target}: is a folder", f"name a file, such as {target / 'runs.csv'}")
    other = other_file_at(target, path, campaign)
    if other is not None:
        raise StoreError(f"{target}: is {other}, not a run sheet", "name another file, such as runs.csv")
    if not target.is_file() or _is_blank(target):
        return
    try:
        rows = read_table(target).rows
    except BadFile as wrong:
        raise StoreError(f"{wrong.problem}; whether its runs were made cannot be seen", _ELSEWHERE) from wrong
    made = sum(_is_made(row.cells, path.parent, campaign) for row in rows)
    if made:
        were = "1 run on it was" if made == 1 else f"{made} runs on it were"
        raise StoreError(f"{target}: {were} made already, and a new plan would relabel them", _ELSEWHERE)


def _is_blank(target: Path) -> bool:
    try:
        lines = read_text(target, is_sheet=True).splitlines()
    except BadFile:
        return False
    return not any(line.strip() and not line.startswith("#") for line in lines)


def _is_made(cells: dict[str, str], folder: Path, campaign: Campaign) -> bool:
    told = any(cells.get(name) for name in _SAID_OF_A_RUN)
    return told or cells.get("note", "") not in _PLANNED_NOTES or _has_log(cells.get("log"), folder, campaign)


def _has_log(log: str | None, folder: Path, campaign: Campaign) -> bool:
    try:
        return bool(log) and path_inside(folder, campaign.logs_folder, log or "", key="log").is_file()
    except BadFile:
        return False
