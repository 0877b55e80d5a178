"""Front 1: the command line."""

from __future__ import annotations

import sys

import typer

from strikeproof.errors import StrikeproofError

__all__ = ["app", "main"]

app = typer.Typer(no_args_is_help=True, add_completion=False, pretty_exceptions_enable=False)


def main() -> None:
    """Run one command; an error a person can mend becomes one line and exit code 2."""
    try:
        app()
    except StrikeproofError as error:
        print(f"strikeproof: {error}", file=sys.stderr)
        raise SystemExit(2) from None
