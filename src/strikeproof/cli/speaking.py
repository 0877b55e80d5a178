"""What all commands share: their options, and how they speak.

With `--json` standard output holds one JSON document and nothing else; all other words go to standard error.
Whatever a terminal would obey of a campaign's texts is shown as its code: this is the one place for that.
"""

from __future__ import annotations

import json
import shlex
import shutil
import sys
from collections.abc import Iterable, Sequence
from itertools import zip_longest
from pathlib import Path
from textwrap import wrap
from typing import Annotated, Any, Final, TextIO

import typer

from strikeproof.language import LANGUAGES, find_language
from strikeproof.plain_text import escape_json, show_codes

__all__ = [
    "AsJson",
    "CampaignName",
    "CampaignPath",
    "Changes",
    "Language",
    "RunName",
    "Scheduler",
    "SetupPath",
    "Workspace",
    "command",
    "fold_widths",
    "print_json",
    "print_rows",
    "read_changes",
    "read_language",
    "say",
    "show",
]

_NARROWEST: Final = 12
"""Of a column that folds, so that words stay together. [letters]"""

Workspace = Annotated[Path, typer.Option("-w", "--workspace", help="Folder of the workspace.")]
CampaignName = Annotated[
    str | None, typer.Option("--campaign", help="Name of the campaign, when there are several.")
]
CampaignPath = Annotated[Path, typer.Argument(help="campaign.toml, or the folder it is in.")]
AsJson = Annotated[bool, typer.Option("--json", help="Print one JSON document and nothing else.")]
SetupPath = Annotated[Path, typer.Argument(help="File with [tool], [article], [bolt], [rig], [protocol].")]
Changes = Annotated[
    list[str] | None,
    typer.Option(
        "--with", help='Change a value for this time: --with "article.polar_inertia 3e-4". May be repeated.'
    ),
]
Language = Annotated[
    str,
    typer.Option(
        envvar="STRIKEPROOF_LANGUAGE",
        help="Language: en, de (Deutsch) or es (Español). German and Spanish were made without a native "
        "reader.",
    ),
]
Scheduler = Annotated[
    str | None,
    typer.Option(
        metavar="ADDRESS",
        help="Dask scheduler whose workers simulate, such as tcp://host:8786; needs the extra `cluster`.",
    ),
]
RunName = Annotated[str, typer.Argument(help="The run's name on its sheet.")]


def command(name: str, *words: str, workspace: Path, campaign: str | None) -> str:
    """A command of this program as it can be pasted into a shell."""
    of = () if campaign is None else ("--campaign", campaign)
    return shlex.join(["strikeproof", name, *words, "-w", str(workspace), *of])


def read_changes(given: list[str] | None) -> list[tuple[str, str]]:
    """Key and value of each `--with`, as they were written."""
    return [(key, value) for key, _, value in (each.strip().partition(" ") for each in given or ())]


def read_language(given: str) -> str:
    """The code of a language that is there, also where it is written as a locale is."""
    code = find_language(given)
    if code is None:
        choices = ", ".join(f"{code} ({name})" for code, name in LANGUAGES.items())
        raise typer.BadParameter(
            f"{given!r} is no language that Strikeproof speaks: {choices}",
            param_hint="--language or STRIKEPROOF_LANGUAGE",
        )
    return code


def say(text: str) -> None:
    """A line to standard error."""
    print(_fold(show_codes(text), sys.stderr), file=sys.stderr)


def show(text: object = "", *, end: str = "\n", flush: bool = False) -> None:
    """A line to standard output."""
    print(_fold(show_codes(str(text)), sys.stdout), end=end, flush=flush)


def _fold(text: str, where: TextIO) -> str:
    """Sentences broken between words on a terminal too narrow for them; never a table, nor a command."""
    if not where.isatty():
        return text
    room = shutil.get_terminal_size().columns
    return "\n".join(_fold_line(line, room) for line in text.split("\n"))


def _fold_line(line: str, room: int) -> str:
    if len(line) <= room or "  " in line or "strikeproof " in line:
        return line
    under = "  " if line.startswith("! ") else ""
    pieces = wrap(line, room, subsequent_indent=under, break_long_words=False, break_on_hyphens=False)
    return "\n".join(pieces)


def print_json(document: Any) -> None:
    """One record or document on standard output; only texts in it may hold what a terminal would obey."""
    from strikeproof.plain_json import to_json  # help needs none of it

    print(escape_json(json.dumps(to_json(document), ensure_ascii=False, indent=1, allow_nan=False)))


def print_rows(rows: Iterable[tuple[str, ...]]) -> None:
    """Rows in columns on standard output; on a terminal too narrow for them the widest columns fold."""
    rows = [tuple(show_codes(cell).replace("\n", "\\n") for cell in row) for row in rows]
    widths = [max(len(row[column]) for row in rows if column < len(row)) for column in range(len(rows[0]))]
    if sys.stdout.isatty():
        widths = fold_widths(widths, shutil.get_terminal_size().columns)
    for row in rows:
        folded = [wrap(cell, max(width, 1)) or [""] for cell, width in zip(row, widths, strict=False)]
        for line in zip_longest(*folded, fillvalue=""):
            cells = zip(line, widths, strict=False)
            print("  ".join(cell.ljust(width) for cell, width in cells).rstrip())


def fold_widths(widths: Sequence[int], room: int) -> list[int]:
    """Widths of columns, two blanks apart, of which the widest give way until all fit into `room`.

    None becomes narrower than `_NARROWEST` for that, so that a table of very many columns may still run over.
    """
    folded = list(widths)
    while sum(folded) + 2 * (len(folded) - 1) > room and max(folded) > _NARROWEST:
        folded[folded.index(max(folded))] -= 1
    return folded
