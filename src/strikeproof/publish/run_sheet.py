"""The run sheet on paper: what to do next in large type, with room to tick, write and sign."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import groupby

from markupsafe import Markup

from strikeproof.campaign.records import RunRow
from strikeproof.language import say, say_many
from strikeproof.publish.colours import theme_css
from strikeproof.publish.documents import find_template, read_piece
from strikeproof.publish.texts import sentence

__all__ = ["PaperRun", "PaperSheet", "write_run_sheet_page"]


@dataclass(frozen=True, slots=True)
class PaperRun:
    """One line of the sheet; `done` runs are struck through and keep their place."""

    row: RunRow
    new_bolt: bool
    done: bool


@dataclass(frozen=True, slots=True)
class PaperSheet:
    """All that is printed.

    Attributes
    ----------
    facts
        Label and value of what holds for every run.
    steps
        What to do for each run, in order.
    cautions
        Warnings, a stop first.
    supply
        Of each tool, in words.
    """

    campaign: str
    note: str | None
    simulated: bool
    runs: tuple[PaperRun, ...]
    facts: tuple[tuple[str, str], ...]
    steps: tuple[str, ...]
    cautions: tuple[str, ...]
    supply: tuple[tuple[str, str], ...]
    made_by: str


def write_run_sheet_page(sheet: PaperSheet) -> str:
    """The sheet as one self-contained HTML document; all words from outside are escaped."""
    blocks = [(block, list(runs)) for block, runs in groupby(sheet.runs, key=lambda run: run.row.block)]
    return find_template("run-sheet.html").render(
        sheet=sheet,
        blocks=[(block, runs, _block_says(runs)) for block, runs in blocks],
        said=say(
            "{runs} {blocks}",
            runs=say_many("{count} run", "{count} runs", len(sheet.runs)),
            blocks=say_many("in {count} block", "in {count} blocks", len(blocks)),
        ),
        sentence=sentence,
        style=Markup(theme_css() + read_piece("run-sheet.css")),
    )


def _block_says(runs: Sequence[PaperRun]) -> str:
    return f"{runs[0].row.tool} · {say_many('{count} run', '{count} runs', len(runs))}"
