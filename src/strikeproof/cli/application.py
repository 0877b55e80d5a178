"""The program and the options that stand before any command."""

from __future__ import annotations

from typing import Annotated

import typer

import strikeproof

__all__ = ["app"]

app = typer.Typer(
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
    help="From timed impact-wrench runs to a comparison that holds and a page anyone can recompute.",
)


def _version(wanted: bool) -> None:
    if wanted:
        print(strikeproof.__version__)
        raise typer.Exit


@app.callback()
def _options(
    version: Annotated[
        bool, typer.Option("--version", callback=_version, is_eager=True, help="Print the version and end.")
    ] = False,
) -> None:
    pass
