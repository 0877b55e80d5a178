"""The press that plans a block for articles which came late, and what it made."""

from __future__ import annotations

from collections.abc import Awaitable, Callable

from strikeproof.desk.planning.extra_block import ExtraBlock, keep_block, plan_block
from strikeproof.errors import StrikeproofError
from strikeproof.web.elements import button, show_error, tag
from strikeproof.web.frame import View
from strikeproof.web.planning.asking import ask
from strikeproof.web.work import WORK

__all__ = ["block_words", "offer_block"]


def offer_block(
    view: View, word: str, articles: tuple[str, ...], done: Callable[[ExtraBlock], Awaitable[None]]
) -> None:
    """A button that adds the block to the sheet of the campaign in the folder `word`.

    `done` shows what was made. A predicted overstress is asked about first.
    """
    trouble = tag("div")

    async def press() -> None:
        trouble.clear()
        try:
            block = await WORK.run(plan_block, view.site.workspace, word)
            with trouble:
                if block.stop and not await ask(
                    "A bolt is predicted to be overloaded",
                    [block.stop],
                    "Plan it all the same",
                    "Leave the sheet as it is",
                ):
                    return
            await done(await WORK.run(keep_block, view.site.workspace, word))
        except StrikeproofError as error:
            with trouble:
                show_error(error)

    with tag("div", classes="bar"):
        button(f"Plan a block with {_listed(articles)} and the reference", press, data_make="block")
    trouble.move(target_index=-1)


def block_words(block: ExtraBlock) -> str:
    """What was made."""
    first, last = block.cells[0]["run"], block.cells[-1]["run"]
    return (
        f"Runs {first} to {last} are planned: {_listed(block.articles)} with {block.reference}, in random "
        "order, after what was on the sheet. No line of it was changed."
    )


def _listed(names: tuple[str, ...]) -> str:
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"
