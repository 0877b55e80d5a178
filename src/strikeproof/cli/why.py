"""Commands that ask why one article beats another, and what an unbuilt one would do."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from strikeproof.cli.application import app
from strikeproof.cli.speaking import AsJson, CampaignName, Workspace, print_json, print_rows, progress, show

__all__ = ["explain", "predict"]

Quick = Annotated[bool, typer.Option("--quick", help="A rougher answer in a fraction of the time.")]


@app.command()
def explain(
    workspace: Workspace, campaign: CampaignName = None, quick: Quick = False, as_json: AsJson = False
) -> None:
    """Set rival explanations of a campaign against each other."""
    from strikeproof.desk.explaining.explain import explain_workspace

    with progress("fitting") as step:
        outcome = explain_workspace(workspace, campaign, quick=quick, progress=step)
    if as_json:
        print_json(outcome.as_json())
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
    """Tell what an article that was never run would gain, and whether it would hold."""
    from strikeproof.desk.explaining.predict import predict_file

    with progress("fitting") as step:
        outcome = predict_file(article, workspace, campaign, article=name, quick=quick, progress=step)
    if as_json:
        print_json(outcome.as_json())
        return
    print_rows(outcome.lines())
    for caution in outcome.cautions:
        show(f"! {caution}")
