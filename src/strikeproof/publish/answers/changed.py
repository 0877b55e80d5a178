"""Before and after a change, in words."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Final

from strikeproof.judge.questions.changed import Changed, Order
from strikeproof.language import say, say_many
from strikeproof.publish.answers.differences import difference_sentence, difference_sign
from strikeproof.publish.answers.panel import Panel
from strikeproof.quantity import write_percent

__all__ = ["changed_panel"]

_ORDER: Final[Mapping[Order, str]] = {
    "bracketed": say(
        "All runs before the change were made before those after it, with {reference} in blocks of both "
        "times ({blocks}). Each state is compared with {reference} in its own blocks, so a change of all "
        "articles in between cancels{shift}. What happened in between to {before} alone or to "
        "{reference} alone, such as wear, counts as the change."
    ),
    "no reference": say(
        "{reference} did not run in the same blocks both before and after: nothing says what else "
        "changed in between. Run blocks with {reference} beside each state."
    ),
    "misplaced": say(
        "All runs before the change were made before those after it, but for run {misplaced}: check its "
        "article and its place in time."
    ),
    "took turns": say(
        "Runs of {before} and {after} are mixed in time, as those of two pieces or of a change that was "
        "undone. For one piece that was changed once, check the article of each run."
    ),
    "reversed": say("The runs of {after} were made before those of {before}: check which is which."),
}


def changed_panel(found: Sequence[Changed], reference: str, margin_percent: float) -> Panel:
    """What the change did with each tool, and what cannot be separated from it."""
    said = tuple(
        (difference_sign(each.difference), difference_sentence(each.difference, margin_percent))
        for each in found
    )
    return Panel("change", say("Before and after"), said, (), tuple(_note(each, reference) for each in found))


def _note(found: Changed, reference: str) -> str:
    text = say(
        _ORDER[found.order],
        reference=reference,
        before=found.before,
        after=found.after,
        misplaced=found.misplaced,
        blocks=say(
            "{blocks} before, {blocks_after} after",
            blocks=say_many("{count} block", "{count} blocks", found.blocks_before),
            blocks_after=found.blocks_after,
        ),
        shift=_shift(found, reference),
    )
    return say("With {tool}: {text}", tool=found.tool, text=text)


def _shift(found: Changed, reference: str) -> str:
    if found.reference_percent is None:
        return ""
    ends = say(
        "{reference_low_percent} to {reference_high_percent}",
        reference_low_percent=write_percent(found.reference_low_percent),
        reference_high_percent=write_percent(found.reference_high_percent),
    )
    return say(
        ": {reference} changed by {reference_percent} ({ends})",
        reference=reference,
        reference_percent=write_percent(found.reference_percent),
        ends=ends,
    )
