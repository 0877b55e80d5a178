"""Sound that came through the browser: listened to beside its run, then gone from what is on its way."""

from __future__ import annotations

import secrets
import shutil
from pathlib import Path
from typing import Any

from strikeproof.desk.loading.listen import listen
from strikeproof.desk.loading.upload import INCOMING
from strikeproof.errors import StoreError

__all__ = ["listen_upload"]


def listen_upload(workspace: Path, campaign: str | None, run: str, came: str, called: str) -> dict[str, Any]:
    """Keep a recording that came in beside a run; gives the verdict and a table of sound against trace.

    Parameters
    ----------
    came, called
        Under which name it came in, and what the person's file was called.

    Raises
    ------
    BadFile
        If it is no sound file.
    StoreError, NotFound, BadInput
        If it did not come, there is no such run, or the workspace cannot be written.
    """
    path = workspace / INCOMING / Path(came).name
    folder = path.with_name(secrets.token_hex(8))
    named = folder / (Path(called).name or "sound.wav")
    try:
        folder.mkdir()
        path.rename(named)
    except OSError as cause:
        folder.rmdir()
        raise StoreError("the sound did not come in", "send it again") from cause
    try:
        heard = listen(workspace, run, named, campaign)
    finally:
        shutil.rmtree(folder, ignore_errors=True)
    check = heard.check
    return {
        "run": run,
        "file": heard.recording,
        "verdict": check.verdict,
        "says": [*check.reasons, *check.remarks, *heard.notes],
        "rows": [list(each) for each in heard.lines()],
    }
