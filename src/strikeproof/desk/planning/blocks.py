"""The blocks of a run sheet: which are begun, which are fair, which articles still lack some.

A late article is one that the first block does not hold. It gets blocks of its own, with the reference, and
the blocks that were planned before it stay as they are.
"""

from __future__ import annotations

import re
from collections import Counter, defaultdict
from collections.abc import Iterable, Sequence
from itertools import groupby

from strikeproof.campaign.records import Campaign
from strikeproof.campaign.run_sheet import NEW_BOLT
from strikeproof.desk.planning.plan import as_cells
from strikeproof.judge.records import PlannedRun

__all__ = [
    "Cells",
    "blocks_lacking",
    "blocks_left",
    "is_fair",
    "number_on",
    "own_blocks",
    "short_articles",
    "standing_rows",
    "with_tool",
]

Cells = dict[str, str]


def with_tool(rows: Iterable[Cells], campaign: Campaign) -> list[Cells]:
    """The lines, each with its tool: a sheet of one tool need not name it."""
    return [{"tool": campaign.tools[0].name, **row} for row in rows]


def standing_rows(rows: Sequence[Cells], made: frozenset[str], campaign: Campaign) -> list[Cells]:
    """The lines of every block in which a run was made; what cannot be run any more goes."""
    begun = {row.get("block") for row in rows if row.get("run") in made}
    known = {each.name for each in campaign.articles}
    return [
        row
        for row in rows
        if row.get("run") in made or (row.get("block") in begun and row.get("article") in known)
    ]


def own_blocks(rows: Sequence[Cells], begun: Sequence[Cells], campaign: Campaign) -> list[Cells]:
    """The lines of the blocks to come that late articles have to themselves, with the reference."""
    late = _late(begun, campaign)
    ahead = _by_block(row for row in rows if row not in begun)
    return [
        row
        for block in ahead
        if _others(block, campaign) <= late and _holds(block, campaign)
        for row in block
    ]


def _late(begun: Sequence[Cells], campaign: Campaign) -> set[str]:
    """What the first block that was begun does not hold; none while nothing is begun."""
    blocks = _by_block(begun)
    known = {each.name for each in campaign.articles} - {campaign.reference}
    return known - _others(blocks[0], campaign) if blocks else set()


def _by_block(rows: Iterable[Cells]) -> list[list[Cells]]:
    return [list(of) for _key, of in groupby(rows, key=lambda row: (row.get("tool"), row.get("block")))]


def _others(block: Sequence[Cells], campaign: Campaign) -> set[str]:
    return {row.get("article", "") for row in block} - {campaign.reference}


def _holds(block: Sequence[Cells], campaign: Campaign) -> bool:
    """Whether a block holds the reference at least twice, and at least one other, each once."""
    count = Counter(row.get("article", "") for row in block)
    twice = count.pop(campaign.reference, 0) >= 2
    return twice and bool(count) and max(count.values()) == 1


def blocks_left(campaign: Campaign, repeats: int, begun: Sequence[Cells]) -> dict[str, int]:
    """Blocks of all articles that each tool still lacks."""
    late = _late(begun, campaign)
    full = [block for block in _by_block(begun) if not _others(block, campaign) <= late]
    count = Counter(tool for tool, _block in {(block[0]["tool"], block[0].get("block")) for block in full})
    return {tool.name: max(0, repeats - count[tool.name]) for tool in campaign.tools}


def is_fair(ahead: Sequence[Cells], kept: Sequence[Cells], campaign: Campaign, left: dict[str, int]) -> bool:
    """Whether lines that are on the sheet already are the blocks still lacking, whatever their order.

    A block to come holds all articles, or all but the late ones where these have blocks of their own.
    """
    everyone = {each.name for each in campaign.articles} - {campaign.reference}
    late = _late(kept, campaign)
    served = defaultdict(set)
    for row in kept:
        served[row["tool"]].add(row.get("article", ""))
    blocks = _by_block(ahead)
    for block in blocks:
        others = _others(block, campaign)
        early = others == everyone - late and late <= served[block[0]["tool"]]
        if not _holds(block, campaign) or not (others == everyone or early):
            return False
    on_bolts = Counter(row.get("bolt") for row in ahead)
    budget = campaign.bolt.runs_per_bolt
    if (
        set(on_bolts) - {None}
        if budget is None
        else None in on_bolts or any(n > budget for n in on_bolts.values())
    ):
        return False
    return Counter(block[0].get("tool") for block in blocks) == +Counter(left)


def short_articles(
    rows: Sequence[Cells], campaign: Campaign, repeats: int | None
) -> dict[str, tuple[str, ...]]:
    """By tool: the articles that stand in fewer blocks of the sheet than there are to be repeats.

    Where nothing says how many repeats, an article is to stand in as many blocks as any other does.
    """
    lacking = blocks_lacking(rows, campaign, repeats)
    return {tool: tuple(of) for tool, of in lacking.items()}


def blocks_lacking(
    rows: Sequence[Cells], campaign: Campaign, repeats: int | None
) -> dict[str, dict[str, int]]:
    """By tool and article: how many blocks each article lacks that is in too few."""
    found = {}
    for tool in campaign.tools:
        count: Counter[str] = Counter()
        for block in _by_block(row for row in rows if row["tool"] == tool.name):
            count.update(_others(block, campaign))
        names = [each.name for each in campaign.articles if each.name != campaign.reference]
        wanted = max(count.values(), default=1) if repeats is None else repeats
        found[tool.name] = {name: wanted - count[name] for name in names if count[name] < wanted}
    return {tool: of for tool, of in found.items() if of}


def number_on(runs: Sequence[PlannedRun], before: Sequence[Cells]) -> list[Cells]:
    """Planned runs as cells; runs, blocks and bolts count on from those before."""
    last_run, last_block, last_bolt = (
        _largest(row.get(key, "") for row in before) for key in ("run", "block", "bolt")
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
        note = NEW_BOLT if bolt and bolt not in seen else ""
        seen.add(bolt)
        row = as_cells(run) | {"run": name, "log": f"{name}.csv", "block": blocks[run.block]}
        cells.append({key: cell for key, cell in (row | {"bolt": bolt, "note": note}).items() if cell})
    return cells


def _largest(words: Iterable[str]) -> int:
    """The largest number in any name, 0 when none has one; r012-2 is a second try of run 12."""
    return max((int(digits) for word in words for digits in re.findall(r"\d{1,6}", word)), default=0)
