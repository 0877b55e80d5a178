"""The command that hears a run."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from strikeproof.cli.application import app
from strikeproof.cli.speaking import AsJson, CampaignName, RunName, Workspace, print_json, print_rows, show

__all__ = ["listen"]


@app.command()
def listen(
    run: RunName,
    recording: Annotated[Path, typer.Argument(help="WAV of the run, from any phone.")],
    workspace: Workspace,
    campaign: CampaignName = None,
    as_json: AsJson = False,
) -> None:
    """Set the sound of a run against its trace, and keep it beside the run."""
    from strikeproof.desk.loading.listen import listen as hear

    outcome = hear(workspace, run, recording, campaign)
    if as_json:
        print_json(outcome.as_json())
        return
    print_rows(outcome.lines())
    show(outcome.check)
    for remark in (*outcome.check.remarks, *outcome.notes):
        show(f"! {remark}")
