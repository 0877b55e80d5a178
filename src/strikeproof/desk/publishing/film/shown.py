"""A film in the browser: clips lie in the workspace, films are made in it and saved from there."""

from __future__ import annotations

import hashlib
import re
from collections.abc import Callable
from math import isfinite
from pathlib import Path
from typing import Final

from strikeproof.desk.publishing.film.clips import CLIPS, FILMS, clip_names
from strikeproof.desk.publishing.film.making import FilmWishes, make_film
from strikeproof.desk.publishing.film.syncing import Mark
from strikeproof.desk.publishing.views import FilmView
from strikeproof.desk.workspace.opening import open_campaign
from strikeproof.desk.workspace.places import folder_word
from strikeproof.errors import BadInput, NotFound

__all__ = ["film_to_make"]

Progress = Callable[..., None]
_MOST_NAME: Final = 60


def film_to_make(
    workspace: Path,
    name: str | None,
    runs: tuple[str, ...],
    clip: str,
    wishes: tuple[str, str, str, str],
    progress: Progress | None = None,
) -> FilmView:
    """Make a film over a clip of the workspace; one that was made with the same wishes is replaced.

    Parameters
    ----------
    runs
        Names, one to four.
    clip
        Name of a file among the workspace's clips.
    wishes
        Format, shorter side in pixels, look, and the moment of the first blow in the clip, as typed.

    Raises
    ------
    StrikeproofError
        As `make_film`, or if a number is none.
    """
    if clip not in (there := clip_names(workspace)):
        raise NotFound("clip", clip, there)
    campaign = open_campaign(workspace, name)[2].name
    shape, size, look, offset = wishes
    marks = (Mark(_number(offset, "the first blow in the clip")),) if offset.strip() else ()
    words, format_word = (
        re.sub(r"[^a-z0-9]+", "-", text.lower())[:_MOST_NAME].strip("-")
        for text in (" ".join((folder_word(campaign), *runs)), shape)
    )
    # Names that are cut, or differ in letters that are left out, differ by what they stand for.
    mark = hashlib.sha256(repr((campaign, tuple(runs), clip, wishes)).encode()).hexdigest()[:6]
    out = workspace / FILMS / f"{words}-{mark}-{format_word}.mp4"
    out.parent.mkdir(parents=True, exist_ok=True)
    made = make_film(
        workspace,
        runs,
        out,
        FilmWishes(shape, int(_number(size, "size")), None, look, marks=marks),
        clips=(workspace / CLIPS / clip,),
        campaign=campaign,
        replace_it=True,
        progress=progress,
    )
    return FilmView(out.name, made.captions.name, made.size / 1e6, made.length_s, made.notes)


def _number(text: str, what: str) -> float:
    try:
        found = float(text.strip().replace(",", "."))
        if isfinite(found):
            return found
    except ValueError:
        pass
    raise BadInput(f"{text!r} for {what}", where="film", allowed="a number")
