"""What is said of a block that was planned for articles which came late."""

from __future__ import annotations

from strikeproof.desk.planning.extra_block import ExtraBlock

__all__ = ["block_words", "listed"]


def block_words(block: ExtraBlock) -> str:
    """What was made."""
    first, last = block.cells[0]["run"], block.cells[-1]["run"]
    return (
        f"Runs {first} to {last} are planned: {listed(block.articles)} with {block.reference}, in random "
        "order, after what was on the sheet. No line of it was changed."
    )


def listed(names: tuple[str, ...]) -> str:
    """Names in a sentence."""
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"
