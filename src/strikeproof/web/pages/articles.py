"""Articles: one of them edited with its half-section and figures beside it, live."""

from __future__ import annotations

import copy
from collections.abc import Mapping, Sequence
from pathlib import Path

from nicegui import background_tasks
from starlette.responses import RedirectResponse, Response

from strikeproof.desk.setting_up.editor import open_saved_set_up
from strikeproof.desk.setting_up.shelf import SetUpGlance, list_set_ups, loaded_from_elsewhere
from strikeproof.web.elements import button, empty_state, link, simulated_mark, tag
from strikeproof.web.frame import View, page
from strikeproof.web.pages.plan import set_up_of, use_planning_look
from strikeproof.web.planning.article_bench import ArticleBench
from strikeproof.web.planning.editor import Editor
from strikeproof.web.planning.elsewhere import show_elsewhere
from strikeproof.web.planning.live_panel import LivePanel
from strikeproof.web.planning.part_form import draw_article_form
from strikeproof.web.site import Site

__all__ = ["register"]


def register(site: Site) -> None:
    """Make the page's route."""

    @page(site, "/articles", "Articles")
    async def articles(view: View, set_up: str = "", article: int = 0) -> Response | None:
        use_planning_look()
        set_up = set_up or set_up_of(view)
        if not set_up:
            listed = [each for each in list_set_ups(view.site.workspace) if not each.trouble]
            elsewhere = loaded_from_elsewhere(view.site.workspace)
            if len(listed) != 1 or elsewhere:
                _choose(view, listed, elsewhere)
                return None
            return RedirectResponse(view.to("/articles", set_up=listed[0].word))
        editor = Editor(view, open_saved_set_up(site.workspace, set_up))
        articles = editor.set_up.tables.get("article", [])
        if not 1 <= article <= len(articles):
            _list(editor)
        else:
            _bench(editor, article - 1)
        return None


def _choose(view: View, listed: Sequence[SetUpGlance], elsewhere: Mapping[str, Path]) -> None:
    if not listed and not elsewhere:
        box = empty_state(
            "No article yet", "Articles belong to a campaign. Start one, then describe what it compares."
        )
        with box:
            link("Start a campaign", view.to("/plan"), "button primary")
        return
    tag("p", "Articles of which campaign?", "quiet")
    with tag("div", classes="cards"):
        for each in listed:
            with tag("article", classes="card"):
                tag("h2", each.name)
                if each.simulated:
                    simulated_mark()
                tag("p", f"{each.articles} articles")
                link(
                    "Show them",
                    view.to("/articles", set_up=each.word),
                    "button",
                    aria_label=f"Articles of {each.name}",
                )
        show_elsewhere(view, elsewhere)


def _list(editor: Editor) -> None:
    tag("p", f"of {editor.set_up.name}", "big")
    listed = editor.set_up.tables.get("article", [])
    with tag("ul", classes="entries"):
        for number, each in enumerate(listed, start=1):
            with tag("li", classes="entry"):
                name = str(each.get("name", f"Article {number}"))
                link(name, editor.view.to("/articles", set_up=editor.word, article=number), "big-link")
    link("Add or compare articles", editor.to("articles"), "button primary")


def _bench(editor: Editor, number: int) -> None:
    bench = ArticleBench(editor, number)
    with tag("div", classes="bar plan-bar"):
        title = tag("p", "", "big")
        undo = button("Undo", editor.step_back, "button small", data_do="undo")
        redo = button("Redo", editor.step_on, "button small", data_do="redo")
        link("All its articles", editor.to("articles"), "button small")
    editor.trouble = tag("div")
    with tag("div", classes="bench"):
        bench.form = tag("div", classes="bench-form")
        with tag("div", classes="bench-live", role="region", aria_label="Its figures"):
            bench.panel = LivePanel(editor.view.units, editor.set_up.currency, bench.judge)
    bench.draw_form = lambda: draw_article_form(bench)

    def tell() -> None:
        found = editor.set_up
        for element, count in ((undo, found.can_undo), (redo, found.can_redo)):
            element.props["disabled"] = not count
            element.update()
        listed = found.tables.get("article", [])
        title._text = str(listed[number].get("name", "")) if number < len(listed) else "deleted"
        title.update()

    async def anew() -> None:
        listed = editor.set_up.tables.get("article", [])
        if number < len(listed):
            bench.table = copy.deepcopy(listed[number])
            bench.redraw()
            bench.judge()

    editor.rebuild = lambda: background_tasks.create(anew(), name="draw the article again")
    editor.watchers.append(tell)
    tell()
    bench.redraw()
    bench.judge()
