"""The command that does the whole job on simulated runs, and ends in the browser."""

from __future__ import annotations

import shlex
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import Annotated

import typer

from strikeproof.cli.application import app
from strikeproof.cli.course import progress
from strikeproof.cli.serving import serve
from strikeproof.cli.speaking import print_rows, show
from strikeproof.errors import StoreError, StrikeproofError

__all__ = ["demo"]

_ANY_PORT = 0  # one that is taken must not be the end of some minutes of work


@app.command()
def demo(
    into: Annotated[Path, typer.Option(help="Folder to make.")] = Path("strikeproof-demo"),
    seed: Annotated[int, typer.Option(help="Random seed of the simulation.")] = 13,
    then_serve: Annotated[
        bool, typer.Option("--serve", help="Serve it to the browser at the end, when at a terminal.")
    ] = False,
) -> None:
    """Do the whole job on simulated runs: logs, load, compare, explain, page, next prototypes."""
    from strikeproof.desk.comparing.tables import rig_sentence, verdict_tables
    from strikeproof.desk.demo import demo_place, make_demo
    from strikeproof.desk.loading.load import load_campaign
    from strikeproof.desk.publishing.report import write_report

    workspace, page = into / "workspace", into / "page.html"
    folder = demo_place(workspace)
    _require_room(into, folder, workspace)
    with progress("simulating", (0.0, 0.05)) as step:
        make_demo(folder, seed, step)
    with progress("loading", (0.05, 0.1)) as step:
        load_campaign(folder, workspace, step)
    why = _explain(workspace)
    with progress("examining", (0.55, 0.65)) as step:
        outcome = write_report(workspace, page, charts=into / "charts", progress=step)
    designed = _design(folder, workspace, into / "design")
    show("SIMULATED runs of invented articles\n")
    show(rig_sentence(outcome))
    for rows in verdict_tables(outcome):
        print_rows(rows)
    for warning in outcome.warnings:
        show(f"! {warning}")
    show("\nWhy:")
    for line in why:
        show(line)
    show(f"\nWhat to build next, by the brief in {folder / 'brief.toml'}:")
    print_rows(designed)
    show(
        f"\nrun sheet and logs  {folder}\nworkspace           {workspace}\n"
        f"drawings and lists  {into / 'design'}\npage                {page.resolve()}"
    )
    _show(workspace, then_serve=then_serve)


def _require_room(into: Path, folder: Path, workspace: Path) -> None:
    """A demo that is there is never written over: whoever asks again wants to see it, or a new one."""
    if folder.exists() and any(folder.iterdir()):
        remove = shlex.join(["rm", "-r", str(into)])
        raise StoreError(
            f"{into}: a demo is there already",
            f"to see it: {_serving(workspace)}; to make it again, remove it first: {remove}",
        )


def _explain(workspace: Path) -> Sequence[str]:
    from strikeproof.desk.explaining.explain import explain_workspace

    with progress("explaining", (0.1, 0.55)) as step:
        try:
            return explain_workspace(workspace, quick=True, progress=step).lines()
        except StrikeproofError as cause:  # the comparison needs it not
            return [f"No explanation: {cause}"]


def _design(folder: Path, workspace: Path, out: Path) -> Sequence[tuple[str, ...]]:
    from strikeproof.desk.demo import design_demo

    with progress("designing", (0.65, 1.0)) as step:
        try:
            return design_demo(folder, workspace, out, progress=step)
        except StrikeproofError as cause:  # the comparison needs it not too
            return [(f"No prototype: {cause}",)]


def _show(workspace: Path, *, then_serve: bool) -> None:
    """Serve it where somebody sits at a terminal; else say how, so that no pipe waits for ever."""
    if then_serve and sys.stdin.isatty() and sys.stdout.isatty():
        show("in the browser      ", end="", flush=True)
        serve(workspace, port=_ANY_PORT)
        return
    show(f"in the browser      {_serving(workspace)}")


def _serving(workspace: Path) -> str:
    """The command that serves it, called as this one was."""
    called = Path(sys.argv[0])
    name = called if called.name == "strikeproof" else "strikeproof"
    return shlex.join([str(name), "serve", "-w", str(workspace)])
