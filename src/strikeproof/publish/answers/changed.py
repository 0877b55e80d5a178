"""Before and after a change, in words."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Final

from strikeproof.judge.questions.changed import Changed, Order
from strikeproof.publish.answers.differences import difference_sentence, difference_sign
from strikeproof.publish.answers.panel import Panel
from strikeproof.publish.texts import count
from strikeproof.quantity import write_percent

__all__ = ["changed_panel"]

_ORDER: Final[Mapping[Order, str]] = {
    "bracketed": "All runs before the change were made before those after it, with {reference} in blocks of "
    "both times ({blocks}). Each state is compared with {reference} in its own blocks, so what changed for "
    "all articles in between falls out{shift}. What happened in between to {before} alone or to {reference} "
    "alone, such as wear, counts as the change.",
    "no reference": "{reference} did not run in the same blocks both before and after: nothing says what "
    "else changed in between. Run blocks with {reference} beside each state.",
    "misplaced": "All runs before the change were made before those after it, but for run {misplaced}: check "
    "its article and its place in time.",
    "took turns": "Runs of {before} and {after} are mixed in time, as those of two pieces or of a change "
    "that was undone. For one piece that was changed once, check the article of each run.",
    "reversed": "The runs of {after} were made before those of {before}: check which is which.",
}


def changed_panel(found: Sequence[Changed], reference: str, margin_percent: float) -> Panel:
    """What the change did with each tool, and what cannot be separated from it."""
    said = tuple(
        (difference_sign(each.difference), difference_sentence(each.difference, margin_percent))
        for each in found
    )
    return Panel("change", "Before and after", said, (), tuple(_note(each, reference) for each in found))


def _note(found: Changed, reference: str) -> str:
    text = _ORDER[found.order].format(
        reference=reference,
        before=found.before,
        after=found.after,
        misplaced=found.misplaced,
        blocks=f"{count(found.blocks_before, 'block')} before, {found.blocks_after} after",
        shift=_shift(found, reference),
    )
    return f"With {found.tool}: {text}"


def _shift(found: Changed, reference: str) -> str:
    if found.reference_percent is None:
        return ""
    ends = f"{write_percent(found.reference_low_percent)} to {write_percent(found.reference_high_percent)}"
    return f": {reference} changed by {write_percent(found.reference_percent)} ({ends})"
