"""The command that serves the bench in the browser."""

from __future__ import annotations

from typing import Annotated

import typer

from strikeproof.cli.application import app
from strikeproof.cli.speaking import Workspace, say, show

__all__ = ["serve"]


@app.command()
def serve(
    workspace: Workspace,
    port: Annotated[int, typer.Option(min=0, max=65535, help="0 takes any that is free.")] = 8000,
    host: Annotated[
        str, typer.Option(help="Where to listen; the default is this machine only.")
    ] = "127.0.0.1",
    token: Annotated[
        str | None,
        typer.Option(
            envvar="STRIKEPROOF_TOKEN", help="What a browser must know; made when left out off loopback."
        ),
    ] = None,
    look_token: Annotated[
        str | None,
        typer.Option(
            envvar="STRIKEPROOF_LOOK_TOKEN",
            help="Another token, for people who may look at everything and change nothing.",
        ),
    ] = None,
    ask_token: Annotated[
        bool, typer.Option("--ask-token", help="Ask for a token on this machine too; one is made.")
    ] = False,
    any_port: Annotated[
        bool,
        typer.Option("--any-port", help="Let the recorder open serial ports that the machine does not list."),
    ] = False,
    open_browser: Annotated[bool, typer.Option("--open", help="Open it in the browser.")] = False,
) -> None:
    """Serve the workspace to a browser on this machine until Ctrl-C."""
    from strikeproof.web.site import open_site

    site = open_site(workspace, host, port, token, look_token=look_token, ask=ask_token, any_port=any_port)

    from strikeproof.web.server import serve as run  # takes a second, which no refusal needs to wait for

    run(
        site,
        say=lambda line: show(line, flush=True),
        open_browser=open_browser,
    )
    say("stopped")
