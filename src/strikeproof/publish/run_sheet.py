"""The run sheet on paper: what to do next in large type, with room to tick, write and sign."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from itertools import groupby

from jinja2 import Environment, PackageLoader, StrictUndefined, Template
from markupsafe import Markup

from strikeproof.publish.colours import theme_css
from strikeproof.publish.texts import count, sentence, tie

__all__ = ["PaperRun", "PaperSheet", "write_run_sheet_page"]


@dataclass(frozen=True, slots=True)
class PaperRun:
    """One line of the sheet; `done` runs are struck through and keep their place."""

    run: str
    tool: str
    article: str
    block: str
    bolt: str
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
        What to heed, a stop first.
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
    blocks = [(block, list(runs)) for block, runs in groupby(sheet.runs, key=lambda run: run.block)]
    return _template().render(
        sheet=sheet,
        blocks=[(block, runs, _block_says(runs)) for block, runs in blocks],
        said=f"{count(len(sheet.runs), 'run')} in {count(len(blocks), 'block')}",
        sentence=sentence,
        style=Markup(theme_css() + _text("run-sheet.css")),
    )


def _block_says(runs: Sequence[PaperRun]) -> str:
    return f"{runs[0].tool} · {count(len(runs), 'run')}"


def _text(name: str) -> str:
    return files("strikeproof.publish").joinpath("templates", name).read_text(encoding="utf-8")


@cache
def _template() -> Template:
    place = Environment(
        loader=PackageLoader("strikeproof.publish"),
        autoescape=True,
        finalize=tie,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    return place.get_template("run-sheet.html")
