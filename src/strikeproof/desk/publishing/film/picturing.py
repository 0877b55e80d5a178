"""Make a title picture from a person's photo and the comparison of a campaign."""

from __future__ import annotations

import warnings
from dataclasses import dataclass
from fractions import Fraction
from io import BytesIO
from pathlib import Path
from typing import Any, Final

import numpy as np

from strikeproof.campaign.bounds import uncounted
from strikeproof.campaign.gate import read_bounded
from strikeproof.desk.comparing.compare import compare_campaign
from strikeproof.desk.publishing.film.placing import (
    place_text,
    refuse_inputs,
    refuse_other_texts,
    writing_to,
)
from strikeproof.desk.publishing.film.telling import tell_limits
from strikeproof.desk.publishing.report import build_report
from strikeproof.desk.workspace.opening import is_simulated, open_campaign
from strikeproof.errors import BadInput, NotFound, StoreError
from strikeproof.judge.records import ArticleResult
from strikeproof.publish.film.chart_still import ChartTitle, describe_chart_still, draw_chart_still
from strikeproof.publish.film.looks import LOOKS
from strikeproof.publish.film.plates import Pixels
from strikeproof.publish.film.shapes import find_shape
from strikeproof.publish.film.still import MOST_ROWS, StillRow, Title, describe_still, draw_still
from strikeproof.publish.gallery import find_charts
from strikeproof.publish.verdicts import gain_words, sign_of

__all__ = ["StillOutcome", "StillWishes", "chart_names", "make_still"]

_MOST_PIXELS: Final = 200_000_000
_KINDS: Final = ("JPEG", "PNG", "WEBP")


@dataclass(frozen=True, slots=True)
class StillWishes:
    """What a person wants; without `articles` all of the tool's, without `tool` the first one.

    `chart` is the name of a chart of the report to show in place of the gains.
    """

    format: str = "16:9"
    size: int = 1080
    look: str = "dark"
    articles: tuple[str, ...] = ()
    tool: str | None = None
    title: str = ""
    chart: str = ""


@dataclass(frozen=True, slots=True)
class StillOutcome:
    """A picture that was made, and the text beside it that describes it."""

    place: Path
    description: Path
    size: int
    says: str


def make_still(
    workspace: Path,
    photo: Path,
    out: Path,
    wishes: StillWishes,
    *,
    campaign: str | None = None,
    replace_it: bool = False,
) -> StillOutcome:
    """Make the picture as PNG.

    Raises
    ------
    BadInput
        If the photo cannot be read as one, or format, size, look or name is none that is made.
    StoreError
        If a file is at `out`, or it cannot be written.
    StrikeproofError
        If there is no such campaign, or nothing to compare in it.
    """
    shape = find_shape(wishes.format, wishes.size, Fraction(1))
    if wishes.look not in LOOKS:
        raise BadInput(f"look {wishes.look!r}", where="still", allowed=", ".join(LOOKS), key="look")
    if out.suffix.lower() != ".png" or out.is_dir():
        raise BadInput(repr(out.name), where="still", allowed="a file whose name ends in .png", key="out")
    description = out.with_suffix(".txt")
    for each in (out, description):
        if each.exists() and not replace_it:
            raise StoreError(f"{each}: is there already", "give another name, or add --replace")
    refuse_inputs((out, description), (photo,), where="still")
    size = shape.width, shape.height
    if wishes.chart:
        of_chart = _chart_title(workspace, wishes, campaign)
        picture = draw_chart_still(of_chart, read_bounded(photo, _read_photo, photo, size), shape)
        says = describe_chart_still(of_chart)
    else:
        title = _title(workspace, wishes, campaign)
        picture = draw_still(title, read_bounded(photo, _read_photo, photo, size), shape, LOOKS[wishes.look])
        says = describe_still(title)
    content = _packed(picture)
    refuse_other_texts({description: says})
    with writing_to(out):
        out.parent.mkdir(parents=True, exist_ok=True)
        for place, what in ((out, content), (description, says)):
            place_text(place, what, replace_it=replace_it)
    return StillOutcome(out, description, len(content), says.strip())


def chart_names(workspace: Path, campaign: str | None) -> tuple[tuple[str, str], ...]:
    """Name and title of each chart that a title picture can show.

    Raises
    ------
    StrikeproofError
        If there is no such campaign, or nothing to compare in it.
    """
    report, _outcome = build_report(*open_campaign(workspace, campaign), command="")
    return tuple((each.name, each.title) for each in find_charts(report))


def _chart_title(workspace: Path, wishes: StillWishes, campaign: str | None) -> ChartTitle:
    if wishes.articles or wishes.tool:
        raise BadInput(
            "a chart of the report shows what it shows there",
            where="still",
            allowed="--chart without --article and --tool",
            key="chart",
        )
    report, outcome = build_report(*open_campaign(workspace, campaign), command="")
    charts = {each.name: each for each in find_charts(report)}
    if wishes.chart not in charts:
        raise NotFound("chart", wishes.chart, tuple(charts))
    chart = charts[wishes.chart]
    heading = wishes.title or report.campaign.name
    every = {(each.article, each.tool) for each in outcome.comparison.results}
    sure = f"Intervals hold together with {100 * outcome.comparison.interval_confidence:.3g} %."
    return ChartTitle(heading, chart, (sure, *tell_limits(outcome, every)), report.simulated)


def _title(workspace: Path, wishes: StillWishes, campaign: str | None) -> Title:
    outcome = compare_campaign(workspace, campaign)
    comparison, name = outcome.comparison, outcome.judged.campaign.name
    tools = list(dict.fromkeys(each.tool for each in comparison.results))
    tool = wishes.tool or tools[0]
    if tool not in tools:
        raise NotFound("tool", tool, tools)
    there = {each.article: each for each in comparison.results if each.tool == tool}
    for each in wishes.articles:
        if each not in there:
            raise NotFound("article", each, tuple(there))
    wanted = tuple(dict.fromkeys(wishes.articles)) or tuple(
        name for name, each in there.items() if each.verdict != "reference"
    )
    if not 1 <= len(wanted) <= MOST_ROWS:
        raise BadInput(
            f"{len(wanted)} articles",
            where="still",
            allowed=f"1 to {MOST_ROWS}, --article again for each",
            key="article",
        )
    results = [there[each] for each in wanted]
    caveats = tell_limits(outcome, {(each, tool) for each in (comparison.reference, *wanted)})
    level = f"{100 * comparison.interval_confidence:.3g} %"
    return Title(
        heading=wishes.title or name,
        over=f"Gain over {comparison.reference} with {tool}, {level} interval",
        rows=tuple(_row(each) for each in results),
        caveats=caveats,
        simulated=is_simulated(workspace, name),
    )


def _row(result: ArticleResult) -> StillRow:
    sign = sign_of(result)
    return StillRow(
        article=result.article,
        says=gain_words(result),
        gain=result.gain_percent,
        low=result.low_percent,
        high=result.high_percent,
        word=str(sign.word),
        role=sign.role,
        path=sign.path,
        hollow=sign.hollow,
    )


def _read_photo(path: Path, size: tuple[int, int]) -> Pixels:
    """The photo upright, filling a size, as (height, width, 3)."""
    with uncounted():
        from PIL import Image, ImageOps, UnidentifiedImageError

    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            with Image.open(BytesIO(path.read_bytes()), formats=_KINDS) as picture:
                if picture.width * picture.height > _MOST_PIXELS:
                    raise ValueError("too many pixels")
                picture.draft("RGB", size)
                upright: Any = ImageOps.exif_transpose(picture)
                return np.asarray(ImageOps.fit(upright.convert("RGB"), size))
    except (OSError, ValueError, SyntaxError, UnidentifiedImageError) as cause:
        raise BadInput(
            f"{path.name} cannot be read as a photo ({str(cause)[:80] or type(cause).__name__})",
            where="still",
            allowed="JPEG, PNG or WebP, up to 200 million pixels",
            fix="save it as one of these",
        ) from cause


def _packed(picture: Pixels) -> bytes:
    from PIL import Image

    out = BytesIO()
    Image.fromarray(picture).save(out, "PNG", optimize=False, compress_level=6)
    return out.getvalue()
