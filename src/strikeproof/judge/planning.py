"""A run sheet in blocks: who runs when, on which bolt."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace

import numpy as np

from strikeproof.errors import BadInput
from strikeproof.judge.records import PlannedRun

__all__ = ["follow_runs", "plan_blocks", "plan_runs"]


def plan_runs(
    articles: Sequence[str],
    tools: Sequence[str],
    reference: str,
    *,
    repeats: int,
    seed: int,
    duration_s: float,
    runs_per_bolt: int | None = None,
    cool_down_s: float | None = None,
) -> tuple[PlannedRun, ...]:
    """Randomised blocks: each article once and the reference twice, all in random order.

    A reference that always ran at the ends of a block would take what warms up there upon itself.

    Parameters
    ----------
    articles
        What is compared; the reference may be among them.
    tools
        Each block is run with one tool; in every round each tool has its block, in random order.
    reference
        Twice in every block.
    repeats
        Blocks of each tool, so the runs of each article; the reference gets twice as many.
    seed
        The same seed gives the same order.
    duration_s, cool_down_s
        Length of a run and of the pause after it. [s]
    runs_per_bolt
        How many runs a bolt withstands. Bolts change between blocks where the budget allows a whole block,
        else in equal parts of a block.

    Raises
    ------
    BadInput
        If there is nothing to compare or to run with, or a number is out of range.

    References
    ----------
    Randomised blocks: Box, Hunter, Hunter, *Statistics for Experimenters*, 2005, ch. 4. More runs of what all
    are compared with: Dunnett, J. Am. Stat. Assoc. 50 (1955) 1096: √k times as many are best (from memory).
    """
    others = [name for name in dict.fromkeys(articles) if name != reference]
    _check_plan(others, tools, repeats, runs_per_bolt, duration_s)
    rng = np.random.default_rng(seed)
    blocks = list(_blocks(others, tools, reference, repeats, rng))
    return _planned(blocks, runs_per_bolt, duration_s + (cool_down_s or 0.0))


def plan_blocks(
    wanted: Mapping[str, Sequence[str]],
    reference: str,
    *,
    seed: int,
    duration_s: float,
    runs_per_bolt: int | None = None,
    cool_down_s: float | None = None,
) -> tuple[PlannedRun, ...]:
    """One block for each tool of `wanted`: its articles once and the reference twice, in random order.

    Parameters
    ----------
    wanted
        By tool: what is compared with the reference.
    reference
        Twice in every block.
    seed, duration_s, cool_down_s, runs_per_bolt
        As of `plan_runs`.

    Raises
    ------
    BadInput
        If there is nothing to compare or to run with, or a number is out of range.
    """
    rng = np.random.default_rng(seed)
    blocks = []
    for tool, articles in wanted.items():
        others = [name for name in dict.fromkeys(articles) if name != reference]
        _check_plan(others, [tool], 1, runs_per_bolt, duration_s)
        blocks.append((tool, _deal(others, reference, rng)))
    return _planned(blocks, runs_per_bolt, duration_s + (cool_down_s or 0.0))


def follow_runs(
    first: Sequence[PlannedRun], then: Sequence[PlannedRun], *, pause_s: float
) -> tuple[PlannedRun, ...]:
    """Runs of two plans one after the other, with names, blocks and bolts that go on.

    What comes after the first plan begins on a new bolt, where bolts are counted.

    Parameters
    ----------
    first, then
        Plans of one campaign.
    pause_s
        From the start of a run to that of the next. [s]
    """
    if not first:
        return tuple(then)
    blocks = max(int(each.block) for each in first)
    bolts = max((int(each.bolt.removeprefix("bolt-")) for each in first if each.bolt), default=0)
    digits = max(3, len(str(len(first) + len(then))))
    whole = [*first, *(_moved(each, blocks, bolts) for each in then)]
    return tuple(
        replace(each, run=f"r{order:0{digits}d}", order=order, start_s=(order - 1) * pause_s)
        for order, each in enumerate(whole, 1)
    )


def _moved(run: PlannedRun, blocks: int, bolts: int) -> PlannedRun:
    bolt = run.bolt and f"bolt-{int(run.bolt.removeprefix('bolt-')) + bolts}"
    return replace(run, block=f"{int(run.block) + blocks}", bolt=bolt)


def _planned(
    blocks: Sequence[tuple[str, list[str]]], runs_per_bolt: int | None, pause: float
) -> tuple[PlannedRun, ...]:
    """The runs of the blocks, `pause` from the start of one to that of the next. [s]"""
    bolts = _share_bolts([len(names) for _, names in blocks], runs_per_bolt)
    rows = [(tool, name, f"{block}") for block, (tool, names) in enumerate(blocks, 1) for name in names]
    digits = max(3, len(str(len(rows))))
    return tuple(
        PlannedRun(
            run=f"r{order:0{digits}d}",
            order=order,
            tool=tool,
            article=name,
            block=block,
            bolt=None if bolt is None else f"bolt-{bolt}",
            bolt_use=use,
            new_bolt=use == 0,
            start_s=(order - 1) * pause,
        )
        for order, ((tool, name, block), (bolt, use)) in enumerate(zip(rows, bolts, strict=True), 1)
    )


def _blocks(
    others: Sequence[str], tools: Sequence[str], reference: str, repeats: int, rng: np.random.Generator
) -> Iterator[tuple[str, list[str]]]:
    """Tool and article names of each block, in the order they are run."""
    for _ in range(repeats):
        for tool in rng.permutation(len(tools)):
            yield tools[tool], _deal(others, reference, rng)


def _deal(others: Sequence[str], reference: str, rng: np.random.Generator) -> list[str]:
    """The runs of one block in random order."""
    names = [reference, reference, *others]
    return [names[i] for i in rng.permutation(len(names))]


def _share_bolts(lengths: Sequence[int], budget: int | None) -> list[tuple[int | None, int | None]]:
    """Number of the bolt and how often it was used, for every run."""
    if budget is None:
        return [(None, None)] * sum(lengths)
    shared: list[tuple[int | None, int | None]] = []
    bolt, use = 0, budget
    for length in lengths:
        parts = -(-length // budget)
        for part in np.array_split(np.arange(length), parts):
            if use + len(part) > budget:
                bolt, use = bolt + 1, 0
            shared += [(bolt, use + i) for i in range(len(part))]
            use += len(part)
    return shared


def _check_plan(
    others: Sequence[str], tools: Sequence[str], repeats: int, runs_per_bolt: int | None, duration_s: float
) -> None:
    """Refuse a plan that cannot be run."""
    where = "plan"
    if not others:
        raise BadInput("no article besides the reference", where=where, allowed="one or more", fix="name one")
    if not tools:
        raise BadInput("no tool", where=where, allowed="one or more", fix="name one")
    if repeats < 1:
        raise BadInput(f"{repeats} repeats", where=where, allowed="1 or more")
    if runs_per_bolt is not None and runs_per_bolt < 1:
        raise BadInput(f"{runs_per_bolt} runs for a bolt", where=where, allowed="1 or more")
    if not duration_s > 0.0:
        raise BadInput(f"runs of {duration_s:g} s", where=where, allowed="above 0 s")
