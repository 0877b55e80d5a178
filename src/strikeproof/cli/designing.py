"""Commands that ask why one article beats another, what an unbuilt one would do, and what to build next."""

from __future__ import annotations

import signal
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Annotated

import typer

from strikeproof.cli.application import app
from strikeproof.cli.course import progress
from strikeproof.cli.speaking import (
    AsJson,
    CampaignName,
    Scheduler,
    Workspace,
    print_json,
    print_rows,
    say,
    show,
)

__all__ = ["design"]


@app.command()
def design(
    brief: Annotated[
        Path, typer.Argument(help="TOML file with [brief], [envelope], [[stock]]: docs/design.md.")
    ],
    workspace: Annotated[
        Path | None,
        typer.Option(
            "-w", "--workspace", help="Folder of the workspace; without it the brief's [bench] is used."
        ),
    ] = None,
    campaign: CampaignName = None,
    out: Annotated[
        Path | None, typer.Option("-o", "--out", help="Folder for article files, drawings, lists and sheets.")
    ] = None,
    quick: Annotated[
        bool, typer.Option("--quick", help="A rougher answer in a fraction of the time.")
    ] = False,
    seed: Annotated[
        int | None, typer.Option(min=0, help="Random seed of the search. Default: the brief's own.")
    ] = None,
    step: Annotated[
        bool, typer.Option("--step", help="With -o: write solid models (STEP) too; needs the extra `cad`.")
    ] = False,
    scheduler: Scheduler = None,
    as_json: AsJson = False,
) -> None:
    """Search for the next prototype within the room, budget and strength of a brief."""
    from strikeproof.desk.designing.design import prepare_design
    from strikeproof.desk.designing.files import require_outlet, write_design

    if out is not None:
        require_outlet(out, step=step)
    with progress("fitting", (0.0, 0.5)) as tell:
        task = prepare_design(
            brief, workspace, campaign, seed=seed, quick=quick, progress=tell, scheduler=scheduler
        )
    with _stop_gently() as stopped, progress("designing", (0.5, 1.0)) as tell:
        outcome = task.search(tell, stopped)
    if out is not None:
        for path in write_design(outcome, out, step=step):
            say(f"wrote {path.parent}")
    if as_json:
        print_json(outcome)
        return
    if outcome.simulated:
        show("These figures rest on SIMULATED runs\n")
    print_rows(outcome.lines())
    for each in outcome.proposals:
        show(f"\n{each.name}: {each.found.words}")
        for text in (*each.why(), *((each.nearest.words,) if each.nearest else ())):
            show(f"  {text}")
    show()
    for text in outcome.told():
        show(f"! {text}")


@contextmanager
def _stop_gently() -> Iterator[Callable[[], bool]]:
    """The first Ctrl-C ends the search and keeps what was found; a second one ends the program as ever."""
    asked: list[bool] = []
    before = signal.getsignal(signal.SIGINT)

    def note(_signal: int, _frame: object) -> None:
        asked.append(True)
        say("stopping and saving what was found (Ctrl-C again ends at once)")
        signal.signal(signal.SIGINT, before)

    signal.signal(signal.SIGINT, note)
    try:
        yield lambda: bool(asked)
    finally:
        signal.signal(signal.SIGINT, before)


Quick = Annotated[bool, typer.Option("--quick", help="A rougher answer in a fraction of the time.")]


@app.command()
def explain(
    workspace: Workspace,
    campaign: CampaignName = None,
    quick: Quick = False,
    scheduler: Scheduler = None,
    as_json: AsJson = False,
) -> None:
    """Find which property makes the difference: fit every candidate explanation of a campaign."""
    from strikeproof.desk.explaining.explain import explain_workspace

    with progress("fitting") as step:
        outcome = explain_workspace(workspace, campaign, quick=quick, progress=step, scheduler=scheduler)
    if as_json:
        print_json(outcome)
        return
    for line in outcome.lines():
        show(line)
    for table in outcome.tables():
        show()
        print_rows(table)


@app.command()
def predict(
    article: Annotated[Path, typer.Argument(help="TOML file with an [article] table.")],
    workspace: Workspace,
    campaign: CampaignName = None,
    name: Annotated[str | None, typer.Option(help="Which article, when the file has several.")] = None,
    quick: Quick = False,
    as_json: AsJson = False,
) -> None:
    """Predict what an article that was never run would gain, and whether it is strong enough."""
    from strikeproof.desk.explaining.predict import predict_file

    with progress("fitting") as step:
        outcome = predict_file(article, workspace, campaign, article=name, quick=quick, progress=step)
    if as_json:
        print_json(outcome)
        return
    print_rows(outcome.lines())
    for caution in outcome.cautions:
        show(f"! {caution}")
