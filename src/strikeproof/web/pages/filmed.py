"""Films over a person's own clips, below the published page: clips sent and chosen, a film made and saved."""

from __future__ import annotations

from typing import Any, Final

from starlette.requests import Request
from starlette.responses import FileResponse, Response

from strikeproof.desk.publishing.film.clips import FILMS, clip_names, keep_clip, traced_runs
from strikeproof.errors import NotFound, StrikeproofError
from strikeproof.web.answering import refusal
from strikeproof.web.fragments import render
from strikeproof.web.frame import View
from strikeproof.web.inside import inside
from strikeproof.web.plain import answer_press, stream_work, typed_in, view_of_runs
from strikeproof.web.routes import app
from strikeproof.web.site import Site
from strikeproof.web.tasks import FOOTAGE
from strikeproof.web.work import WORK

__all__ = ["film_choices", "register_films"]

_FORMATS: Final = (("16:9", "16:9, wide"), ("9:16", "9:16, upright"), ("1:1", "1:1, square"))
_SIZES: Final = (("540", "540"), ("720", "720"), ("1080", "1080"), ("2160", "2160, slow"))
_LOOKS: Final = (("dark", "dark"), ("light", "light"))
_KINDS: Final = {".mp4": "video/mp4", ".vtt": "text/vtt; charset=utf-8"}


def film_choices(site: Site, view: View, newest: str = "") -> dict[str, Any]:
    """What the form of a film offers.

    Parameters
    ----------
    newest
        The clip that is chosen at first.

    Raises
    ------
    StrikeproofError
        If there is no such campaign.
    """
    runs = traced_runs(site.workspace, view.campaign)
    return {
        "clips": [(each, each) for each in clip_names(site.workspace)],
        "runs": runs,
        "more": [("", "none"), *runs],
        "formats": _FORMATS,
        "sizes": _SIZES,
        "looks": _LOOKS,
        "newest": newest,
    }


def register_films(site: Site) -> None:
    """Make the routes by which a clip is stored and a film made and saved."""

    @app.post("/published/clip")
    async def stored(request: Request, campaign: str = "") -> Response:
        typed = await typed_in(request)

        def store() -> dict[str, str]:
            view = view_of_runs(site, request, campaign)
            name = keep_clip(site.workspace, typed.get("upload", ""), typed.get("called", ""))
            return {"markup": render("film_form", view=view, filming=film_choices(site, view, name))}

        return await answer_press("Storing the clip", store)

    @app.post("/published/film")
    async def filmed(request: Request, campaign: str = "") -> Response:
        typed = await typed_in(request)
        try:
            view = view_of_runs(site, request, campaign)
        except StrikeproofError as error:
            return refusal(error)
        runs = tuple(filter(None, (typed.get(f"run{place}", "") for place in range(1, 5))))
        wishes = tuple(typed.get(key, "") for key in ("format", "size", "look", "offset"))
        return stream_work(
            request,
            "Filming",
            lambda: WORK.start(
                FOOTAGE, site.workspace, view.campaign, runs, typed.get("clip", ""), wishes
            ).pressed(),
            lambda made: render("film", made=made, view=view),
        )

    @app.get("/published/film")
    async def saved(name: str = "") -> Response:
        try:
            path = inside(site.workspace / FILMS, name)
            if path.suffix not in _KINDS or not path.is_file():
                raise NotFound("film", name, ())
        except StrikeproofError as error:
            return refusal(error)
        return FileResponse(path, filename=path.name, media_type=_KINDS[path.suffix])
