"""Page and charts of a bundle against those that come out, and the files that nothing was set against."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator
from pathlib import Path
from typing import Final, Literal, TypeAlias

from strikeproof.campaign.text import read_file
from strikeproof.desk.publishing.bundle.form import ABOUT, CAMPAIGN, CHARTS, PAGE, SUMS, About, versions
from strikeproof.errors import BadFile
from strikeproof.publish.gallery import draw_svg_charts
from strikeproof.publish.page import write_page
from strikeproof.publish.report import Report

__all__ = ["PageAnswer", "compare_charts", "compare_page", "depends_alike", "list_not_compared"]

PageAnswer: TypeAlias = Literal["same", "same but why", "differs", "not compared"]

_MOST: Final = 1 << 28
_WHY: Final = (
    re.compile(r'<li><a href="#why">.*?</li>\n', re.DOTALL),
    re.compile(r'<section id="why">.*?</section>\n', re.DOTALL),
)
_ALIKE: Final = ("strikeproof", "scores", "numpy", "matplotlib")
"""On these versions page and charts depend to the last byte."""


def depends_alike(about: About) -> bool:
    """Whether page and charts of the bundle were made by the versions that are here."""
    now = versions()
    return all(about.versions.get(name) == now[name] for name in _ALIKE)


def compare_page(folder: Path, report: Report, about: About) -> PageAnswer:
    """The page against the one that comes out, but for its explanation, which is not computed again.

    A page with an explanation where the bundle says that it has none differs, and the other way round.
    """
    if not depends_alike(about):
        return "not compared"
    try:
        stated = read_file(folder / PAGE, _MOST).decode("utf-8", "replace")
    except BadFile:
        return "differs"
    explained = all(part.search(stated) for part in _WHY)
    if about.explained is not None and explained != about.explained:
        return "differs"
    if explained:
        for part in _WHY:
            stated = part.sub("", stated, count=1)
    if stated != write_page(report):
        return "differs"
    return "same but why" if explained else "same"


def compare_charts(folder: Path, report: Report, about: About) -> dict[str, bool]:
    """By place in the bundle, whether each chart as SVG is the one that comes out; none by other versions."""
    if not depends_alike(about):
        return {}
    charts = draw_svg_charts(report)
    return {f"{CHARTS}/{name}": _holds(folder / CHARTS / name, text) for name, text in charts.items()}


def _holds(path: Path, text: str) -> bool:
    try:
        return read_file(path, _MOST) == text.encode()
    except BadFile:
        return False


def list_not_compared(folder: Path, compared: set[str]) -> Iterator[tuple[str, int]]:
    """Files that nothing computed was set against: each at the top, and folders with how many are in them."""
    places = (path.relative_to(folder).as_posix() for path in folder.rglob("*") if path.is_file())
    left = (
        place
        for place in places
        if place not in compared and place not in (ABOUT, SUMS) and not place.startswith(f"{CAMPAIGN}/")
    )
    yield from sorted(Counter(re.sub(r"/.*", "/", place) for place in left).items())
