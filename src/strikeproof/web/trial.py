"""A workspace to try everything in, on simulated data: a second server of its own, thrown away by a press.

It lies in a temporary folder and ends with this server, so that nothing of it gets among a person's own
campaigns. It is only offered where this server asks for no password, as the second one asks for none either.
"""

from __future__ import annotations

import asyncio
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

from starlette.requests import Request
from starlette.responses import RedirectResponse, Response

from strikeproof.errors import StrikeproofError
from strikeproof.web.fragments import render
from strikeproof.web.plain import answer_press, stream_work
from strikeproof.web.routes import app, at_end
from strikeproof.web.site import Site
from strikeproof.web.tasks import TRIAL
from strikeproof.web.work import WORK, Job

__all__ = ["Trial", "register_trial"]

_PATIENCE_S = 5.0
_PREFIX = "strikeproof-trial-"
_WORKSPACE = "workspace"
_SERVE = """
from strikeproof.cli import main
from strikeproof.desk.workspace.parent_watch import end_with_parent
end_with_parent()
main()
"""


class Trial:
    """The one trial of a server: its folder, its process, and where that answers."""

    def __init__(self) -> None:
        self.folder: Path | None = None
        self._process: subprocess.Popen[str] | None = None
        self._address = ""
        self._asking = asyncio.Lock()

    @property
    def is_there(self) -> bool:
        """Whether there is one that answers, or will in a moment."""
        return self._process is not None and self._process.poll() is None

    def place(self) -> Path:
        """The folder of a new workspace, or of the one that is being made now.

        Raises
        ------
        StrikeproofError
            If there is a trial already, such as from another window.
        """
        if self.is_there:
            raise StrikeproofError("there is a trial already", "reload the page to open it")
        made = None if self.folder is None else self.folder / _WORKSPACE
        if made is not None and WORK.under_way(TRIAL, made):
            return made
        self.throw_away()
        self.folder = Path(tempfile.mkdtemp(prefix=_PREFIX))
        return self.folder / _WORKSPACE

    def serve(self, workspace: Path) -> None:
        """Start its server, on any free port of this machine."""
        self._process = subprocess.Popen(
            [sys.executable, "-c", _SERVE, "serve", "-w", str(workspace), "--web-port", "0"],
            stdin=subprocess.DEVNULL,
            stdout=subprocess.PIPE,
            text=True,
        )

    async def address(self) -> str:
        """Where it answers; empty when it has ended."""
        async with self._asking:
            if self.is_there and not self._address:
                self._address = await asyncio.to_thread(self._first_line)
        return self._address if self.is_there else ""

    def _first_line(self) -> str:
        process = self._process
        line = process.stdout.readline().strip() if process is not None and process.stdout is not None else ""
        return line if line.startswith("http") else ""

    def throw_away(self) -> None:
        """End its server and delete its folder."""
        process, folder = self._process, self.folder
        self._process, self.folder, self._address = None, None, ""
        if process is not None:
            process.terminate()
            try:
                process.wait(_PATIENCE_S)
            except subprocess.TimeoutExpired:
                process.kill()
                process.wait()
            if process.stdout is not None:
                process.stdout.close()
        if folder is not None:
            shutil.rmtree(folder, ignore_errors=True)


def register_trial(site: Site) -> Trial | None:
    """Make the presses and the address of a trial; None where none is offered."""
    if site.token is not None or site.workspace.parent.name.startswith(_PREFIX):  # a trial has no trial
        return None
    trial = Trial()

    async def close() -> None:
        await asyncio.to_thread(trial.throw_away)

    at_end(close)

    @app.post("/data/filled/trial")
    async def made(request: Request) -> Response:
        def start() -> Job:
            return WORK.start(TRIAL, trial.place()).pressed()

        def show(workspace: Path) -> str:
            if trial.folder is not None and not trial.is_there:
                trial.serve(workspace)
            return render("trial", there=trial.is_there)

        return stream_work(request, "Making simulated data", start, show)

    @app.get("/trial")
    async def opened(_request: Request) -> Response:
        return RedirectResponse(await trial.address() or "/", 303)

    @app.post("/trial/throw-away")
    async def thrown_away(_request: Request) -> Response:
        def throw() -> dict[str, str]:
            if trial.folder is None:
                raise StrikeproofError("there is no trial", "reload the page")
            trial.throw_away()
            return {"go": "/"}

        return await answer_press("Throwing the trial away", throw)

    return trial
