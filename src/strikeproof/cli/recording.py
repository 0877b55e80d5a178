"""Commands of the live rig."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from strikeproof.cli.application import app
from strikeproof.cli.speaking import CampaignPath

__all__ = ["simulated_rig"]


@app.command("simulated-rig")
def simulated_rig(
    campaign: CampaignPath,
    speech: Annotated[str, typer.Option(help="frames, numbers or stamped.")] = "frames",
    payload: Annotated[str, typer.Option(help="Of frames: int16, int24 or float32.")] = "int24",
    rate: Annotated[float, typer.Option(help="Samples a second.")] = 10_000.0,
    pace: Annotated[float, typer.Option(help="Seconds of the rig in one second; 0 as fast as read.")] = 1.0,
    seed: Annotated[int, typer.Option(help="Of its luck.")] = 1,
    link: Annotated[Path | None, typer.Option(help="Name for the port that outlives unplugging.")] = None,
    every: Annotated[float, typer.Option(help="Start a run by itself so often, in seconds.")] = 0.0,
    wait: Annotated[float, typer.Option(help="Seconds from an announced run to its first blow.")] = 1.5,
) -> None:
    """Be a simulated rig on a pseudo-terminal, until standard input ends."""
    from strikeproof.desk.simulated_rig import read_settings, run_simulated_rig

    settings = read_settings(
        campaign,
        speech,
        payload,
        rate_hz=rate,
        pace=pace,
        seed=seed,
        link=link,
        every_s=every,
        wait_s=wait,
    )
    run_simulated_rig(settings)
