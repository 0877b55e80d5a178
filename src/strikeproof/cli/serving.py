"""The command that serves the bench in the browser."""

from __future__ import annotations

from typing import Annotated

import typer

from strikeproof.cli.application import app
from strikeproof.cli.speaking import Workspace, read_language, say, show

__all__ = ["serve"]


@app.command()
def serve(
    workspace: Workspace,
    port: Annotated[
        int, typer.Option("--web-port", min=0, max=65535, help="Port of the address; 0 takes a free one.")
    ] = 8000,
    host: Annotated[
        str, typer.Option(help="Address to listen on; left out, only this machine can reach it.")
    ] = "127.0.0.1",
    token: Annotated[
        str | None,
        typer.Option(
            "--password",
            envvar=["STRIKEPROOF_PASSWORD", "STRIKEPROOF_TOKEN"],
            help="Password that a browser must give. Default: one is made where others can reach it.",
        ),
    ] = None,
    look_token: Annotated[
        str | None,
        typer.Option(
            "--look-password",
            envvar=["STRIKEPROOF_LOOK_PASSWORD", "STRIKEPROOF_LOOK_TOKEN"],
            help="Another password, for people who may look at everything and change nothing.",
        ),
    ] = None,
    ask_token: Annotated[
        bool, typer.Option("--ask-password", help="Ask for a password on this machine too; one is made.")
    ] = False,
    any_port: Annotated[
        bool,
        typer.Option("--any-port", help="Let the recorder open serial ports that the machine does not list."),
    ] = False,
    language: Annotated[
        str | None,
        typer.Option(
            envvar="STRIKEPROOF_LANGUAGE",
            help="Language of record screen, run sheet and page where a browser has chosen none: en, de, es. "
            "Left out, as the browser asks.",
        ),
    ] = None,
    open_browser: Annotated[bool, typer.Option("--browser", help="Open the page in the browser.")] = False,
) -> None:
    """Serve the workspace to a browser on this machine until Ctrl-C."""
    from strikeproof.web.site import open_site

    site = open_site(
        workspace,
        host,
        port,
        token,
        look_token=look_token,
        ask=ask_token,
        any_port=any_port,
        language=None if language is None else read_language(language),
    )

    from strikeproof.web.server import serve as run  # takes a second, which no error needs to wait for

    run(
        site,
        say=lambda line: show(line, flush=True),
        open_browser=open_browser,
    )
    say("stopped")
