"""Articles: one of them edited with its half-section and figures beside it, live."""

from __future__ import annotations

import asyncio
import json
from collections.abc import Mapping
from typing import Any

from starlette.requests import Request
from starlette.responses import JSONResponse, RedirectResponse, Response

from strikeproof.desk.articles.form import material_choices, stock_choices
from strikeproof.desk.setting_up.editor import open_saved_set_up, open_set_up
from strikeproof.desk.setting_up.shelf import list_set_ups
from strikeproof.errors import StrikeproofError
from strikeproof.web.fragments import render
from strikeproof.web.frame import View, view_of
from strikeproof.web.pages.plan import campaigns_elsewhere, set_up_of
from strikeproof.web.plain import error_markup, plain_page, typed_in
from strikeproof.web.planning.article_deeds import change_article, stays_drawn
from strikeproof.web.planning.article_facts import article_facts
from strikeproof.web.planning.questions import said_of
from strikeproof.web.routes import app
from strikeproof.web.site import Site

__all__ = ["register"]


def register(site: Site) -> None:
    """Make the page, and what is changed and typed on it."""
    plain_page(site, "/articles", "Articles", facts=_facts)

    @app.post("/articles/change")
    async def changed(request: Request, set_up: str = "", article: int = 0) -> Response:
        view, words = view_of(site, request, "", {"set_up": set_up}), await typed_in(request)

        def change() -> dict[str, Any]:
            return _change(view, set_up, max(article - 1, 0), words)

        return JSONResponse(await asyncio.to_thread(change))

    @app.post("/articles/draft")
    async def drafted(request: Request, set_up: str = "", article: int = 0) -> Response:
        """What it comes to with what is being typed; nothing is saved."""
        view, words = view_of(site, request, "", {"set_up": set_up}), await typed_in(request)

        def draft() -> dict[str, Any]:
            now = open_set_up(site.workspace, set_up)
            made = article_facts(
                view, now, max(article - 1, 0), peak=words.get("peak"), typed=_typed(words.get("typed", ""))
            )
            return {"page": render("article_bench", view=view, bench=made)}

        try:
            return JSONResponse(await asyncio.to_thread(draft))
        except StrikeproofError as error:  # the campaign is gone
            return JSONResponse({"wrong": error_markup(error)})


def _typed(text: str) -> dict[str, str]:
    """What is in fields and not saved yet, by their places."""
    try:
        found = json.loads(text)
    except ValueError:
        return {}
    return {str(at): str(each) for at, each in found.items()} if isinstance(found, dict) else {}


def _change(view: View, set_up: str, number: int, words: Mapping[str, str]) -> dict[str, Any]:
    workspace, told, done = view.site.workspace, dict[str, Any](), False
    try:
        now = open_set_up(workspace, set_up)
        made, focus = change_article(view, now, number, words)
    except StrikeproofError as error:
        told = {"wrong": error_markup(error)}
        try:
            now = open_set_up(workspace, set_up)
        except StrikeproofError:  # the campaign is gone
            return told
    else:
        now, done = made.set_up, made.done
        told = {**said_of(made, words), "focus": focus}
    bench = article_facts(view, now, number, peak=words.get("peak"))
    page = render("article_bench", view=view, bench=bench)
    return {**told, "page": page, "anew": not done or not stays_drawn(words)}


def _facts(view: View) -> Mapping[str, Any] | Response:
    asked = view.request.query_params
    word = asked.get("set_up") or set_up_of(view)
    workspace = view.site.workspace
    if not word:
        listed = [each for each in list_set_ups(workspace) if not each.trouble]
        elsewhere = campaigns_elsewhere(workspace)
        if len(listed) == 1 and not elsewhere:
            return RedirectResponse(view.to("/articles", set_up=listed[0].word))
        return {"shelf": {"listed": listed, "elsewhere": elsewhere}}
    set_up = open_saved_set_up(workspace, word)
    articles = set_up.tables.get("article", [])
    number = asked.get("article", "")
    if number.isdecimal() and len(number) < 6 and 1 <= int(number) <= len(articles):
        bench = article_facts(view, set_up, int(number) - 1)
        return {"bench": bench, "stock": stock_choices(), "materials": material_choices()}
    names = [str(each.get("name", f"Article {place}")) for place, each in enumerate(articles, start=1)]
    return {"set_up": set_up, "names": names}
