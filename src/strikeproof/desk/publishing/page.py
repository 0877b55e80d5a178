"""The published page of a campaign in the browser."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Final

from strikeproof.desk.explaining.explain import explain_workspace
from strikeproof.desk.publishing.report import build_report, commands_again, tell_why
from strikeproof.desk.workspace.opening import open_campaign
from strikeproof.errors import NotFound
from strikeproof.language import speaking
from strikeproof.publish.blow import film_page, set_scene
from strikeproof.publish.page import write_page
from strikeproof.publish.report import Report

__all__ = ["FILMED", "film_to_show", "page_to_show"]

Progress = Callable[[int, int], None]

FILMED: Final = ("reference", "winner")
"""Whose blow can be watched."""


def page_to_show(
    workspace: Path,
    name: str | None,
    language: str = "en",
    comma: bool = False,
    progress: Progress | None = None,
) -> str:
    """The page as one self-contained document in a language, by its code.

    `comma` says that the CSV files in it have a decimal comma.

    Raises
    ------
    StrikeproofError
        If there is nothing to report on.
    """
    with speaking(language, decimal_comma=comma):
        return write_page(_report(workspace, name, progress), progress)


def film_to_show(workspace: Path, name: str | None, whose: str, *, quick: bool) -> str:
    """One blow in slow motion, as a document that runs by itself.

    Raises
    ------
    NotFound
        If the explanation has no such blow.
    """
    why = tell_why(explain_workspace(workspace, name, quick=quick))
    if whose not in FILMED or len(why.blows) < len(FILMED):
        raise NotFound("film", whose, FILMED if why.blows else ())
    view = why.blows[FILMED.index(whose)]
    said = f"{view.article}, simulated with {why.blows_with}"
    return film_page(set_scene(view.story, said), set_scene(view.story, said, narrow=True))


def _report(workspace: Path, name: str | None, progress: Progress | None) -> Report:
    if progress is not None:
        progress(0, 1)
    store, key, campaign = open_campaign(workspace, name)
    command = commands_again(workspace, campaign, "page.html")
    return build_report(store, key, campaign, command, progress)[0]
