"""Commands that copy a whole workspace, bring it back, and move its database to a server."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from strikeproof.cli.application import app
from strikeproof.cli.speaking import AsJson, Workspace, print_json, say, show

__all__ = ["backup", "move", "restore"]


@app.command()
def backup(
    workspace: Workspace,
    to: Annotated[
        Path,
        typer.Option(
            "--to", help="Folder for the backup, on another disk; or one file, if the name ends in .zip."
        ),
    ],
    quiet: Annotated[bool, typer.Option("--quiet", help="Print nothing when all is well.")] = False,
    as_json: AsJson = False,
) -> None:
    """Copy a whole workspace, also while a recorder writes; the copy is verified as check does.

    Exit code 0: the backup is made. 1: it is made, and something in the workspace is damaged. 2: it is not
    made, and the previous backup stays as it was.
    """
    from strikeproof.desk.workspace.backup import back_up

    outcome = back_up(workspace, to)
    for problem in outcome.problems:
        say(f"! {problem}")
    if as_json:
        print_json(outcome)
    elif not quiet:
        show(f"{outcome.place}: {outcome.runs} runs, {outcome.files} files, {outcome.size / 1e6:.1f} MB")
    raise typer.Exit(1 if outcome.problems else 0)


@app.command()
def restore(
    place: Annotated[Path, typer.Argument(help="Folder or .zip file of a backup.")],
    workspace: Workspace,
    as_json: AsJson = False,
) -> None:
    """Bring a backup back into a folder that is new or empty; every file of it is verified.

    Exit code 0: all is restored. 1: something in the backup is damaged, all else is
    restored. 2: nothing is restored.
    """
    from strikeproof.desk.workspace.backup import restore as bring_back

    outcome = bring_back(place, workspace)
    for problem in outcome.problems:
        say(f"! {problem}")
    if as_json:
        print_json(outcome)
    else:
        show(f"{outcome.place}: {outcome.runs} runs, {outcome.files} files, as of {outcome.made_at}")
    raise typer.Exit(1 if outcome.problems else 0)


@app.command()
def move(
    workspace: Workspace,
    to: Annotated[
        str,
        typer.Option(
            "--to",
            help="Database on a PostgreSQL server, such as postgresql://bench@server:5432/strikeproof.",
        ),
    ],
    as_json: AsJson = False,
) -> None:
    """Move the database of a workspace to a server, so that several benches can write at once.

    Traces and logs stay in the folder, which the benches share. Every row is read back from the
    server and compared before the workspace uses it. The password belongs in ~/.pgpass or PGPASSWORD.
    """
    from strikeproof.desk.workspace.moving import move_workspace

    outcome = move_workspace(workspace, to)
    if as_json:
        print_json(outcome)
        return
    for each in outcome.tables:
        show(f"{each.table:<12} {each.rows:>8} rows, the same on the server")
    show(f"{outcome.workspace}: its database is now {outcome.server}")
