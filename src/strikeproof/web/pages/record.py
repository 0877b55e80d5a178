"""Recording at the rig: the next run in large type, one button, the live trace, and the verdict at once."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.websockets import WebSocket

from strikeproof.desk.recording.views import MISHAPS
from strikeproof.errors import StrikeproofError
from strikeproof.language import retold_all, speaking
from strikeproof.web.frame import View
from strikeproof.web.plain import plain_page
from strikeproof.web.record_wire import attend_screen
from strikeproof.web.record_words import error_words, script_words
from strikeproof.web.recorder import RecorderHub
from strikeproof.web.routes import app, at_end
from strikeproof.web.site import Site
from strikeproof.web.tasks import Task
from strikeproof.web.work import WORK

__all__ = ["register"]

EXPECTED: Task[dict[tuple[str, str], str]] = Task("planning.sheet", "expected_overloads")
LISTEN: Task[dict[str, Any]] = Task("loading.listen", "listen_upload")

_NOTHING = (
    "There is no campaign to record yet",
    "Set one up: articles, tools, bolt and protocol. Its run sheet is what is recorded here.",
)


def _screen(view: View) -> Mapping[str, Any]:
    """What the screen at the rig (assets/record_screen.js) begins with."""
    with speaking(view.language):
        mishaps = retold_all([[word, text] for word, text in MISHAPS.items()])
    return {
        "screen": {
            "campaign": view.campaign,
            "runs": view.to("/run"),
            "compare": view.to("/comparison"),
            "mishaps": mishaps,
            "language": view.language,
            "words": script_words(view.language),
        }
    }


def register(site: Site) -> None:
    """Make the page's routes, and the one recorder behind them."""

    async def predict(campaign: str) -> Mapping[tuple[str, str], str]:
        return await WORK.run(EXPECTED, site.workspace, campaign)

    hub = RecorderHub(site.workspace, any_port=site.any_port, predict=predict)
    at_end(hub.close)
    plain_page(site, "/record", "Record", _NOTHING, facts=_screen)

    @app.websocket("/record/wire")
    async def wire(socket: WebSocket, campaign: str = "") -> None:
        await attend_screen(socket, hub, campaign, site.language)

    @app.post("/record/sound")
    async def sound(request: Request) -> Response:
        try:
            told: Any = await request.json()
            words = [str(told[key])[:300] for key in ("campaign", "run", "came", "called")]
        except (ValueError, TypeError, KeyError):
            return JSONResponse(
                {"what": "The sound came without the name of its run.", "fix": "Reload the page."}, 400
            )
        try:
            heard = await WORK.run(LISTEN, site.workspace, *words)
        except StrikeproofError as error:
            return JSONResponse(error_words(error), 400)
        return JSONResponse(heard)
