"""How many blocks are enough, and what they cost, in words."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from strikeproof.judge.questions.enough import Enough, Simulated, blocks_between
from strikeproof.publish.answers.panel import Panel
from strikeproof.publish.answers.table import AnswerTable
from strikeproof.publish.texts import count, given
from strikeproof.publish.verdicts import SIGNS
from strikeproof.quantity import write_duration, write_number

__all__ = ["Prices", "enough_panel"]


@dataclass(frozen=True, slots=True)
class Prices:
    """Of an hour at the bench and of a bolt, in a currency; None where nobody says."""

    hour: float | None
    bolt: float | None
    currency: str

    def cost(self, each: Simulated) -> float | None:
        """Of so many runs; None where neither price is known."""
        if self.hour is None and self.bolt is None:
            return None
        return (self.hour or 0.0) * each.time_s / 3600.0 + (self.bolt or 0.0) * (each.bolts or 0)


def enough_panel(found: Enough, made: int, freedom: int, prices: Prices) -> Panel:
    """The answer with what was tried on the way.

    `made` is how many blocks there are of each tool, `freedom` that of the scatter.
    """
    sign = SIGNS["cannot tell" if found.needed is None else "same"]
    return Panel(
        "enough",
        "How many blocks are enough",
        ((sign, _said(found, made, prices)),),
        (_table(found, prices),),
        (*_notes(found, freedom), *_no_bolts(found, prices)),
    )


def _said(found: Enough, made: int, prices: Prices) -> str:
    wanted = (
        f"a difference of {given(found.difference_percent)} % in {given(100.0 * found.power)} % of campaigns"
    )
    if found.needed is None:
        return f"Not even {found.tried[-1].blocks} blocks of each tool would show {wanted}."
    needed = found.needed
    more = (
        "they are made already"
        if made >= needed.blocks
        else f"{needed.blocks - made} more than the {made} that are made"
    )
    blocks = count(needed.blocks, "block")
    return f"{blocks} of each tool show {wanted}; {more}. In all: {_costs(needed, prices)}."


def _costs(each: Simulated, prices: Prices) -> str:
    parts = [count(each.runs, "run"), write_duration(each.time_s)]
    if each.bolts is not None:
        parts.append(count(each.bolts, "bolt"))
    if (cost := prices.cost(each)) is not None:
        parts.append(f"{cost:.2f} {prices.currency}".strip())
    return ", ".join(parts)


def _table(found: Enough, prices: Prices) -> AnswerTable:
    rows = tuple(
        (
            SIGNS["same" if each.power >= found.power else "cannot tell"],
            (
                (f"{each.blocks}",),
                (f"{100.0 * each.power:.0f} ± {100.0 * each.error:.0f} %",),
                (f"{each.runs}",),
                ("–" if each.bolts is None else f"{each.bolts}",),
                (write_duration(each.time_s),),
                ("–" if (cost := prices.cost(each)) is None else f"{cost:.2f}",),
            ),
        )
        for each in found.tried
    )
    money = f"Cost, {prices.currency}" if prices.currency else "Cost"
    return AnswerTable("What was tried", ("Blocks", "Shown", "Runs", "Bolts", "Time", money), rows, 1)


def _no_bolts(found: Enough, prices: Prices) -> tuple[str, ...]:
    if prices.bolt is None or all(each.bolts is not None for each in found.tried):
        return ()
    return ("Bolts are not in the cost: the campaign does not say how many runs a bolt lasts.",)


def _notes(found: Enough, freedom: int) -> Iterator[str]:
    yield (
        f"{found.campaigns} simulated campaigns for each row, with articles, tools and order of this plan. "
        f"The scatter of a run is drawn from the {found.residuals} that the fit leaves here "
        f"({write_number(found.scatter_percent, 2)} %). An article shows the difference where its interval, "
        "which holds with all others, leaves out 0; the second opinion by reshuffling costs one or two in a "
        "hundred beside."
    )
    if found.needed is None or freedom < 1:
        return
    low, high = blocks_between(found.needed.blocks, freedom)
    yield (
        f"The scatter is known from {freedom} degrees of freedom only: {low} to {high} blocks may be what is "
        f"needed (90 %), and {found.needed.blocks} is the best guess."
    )
