"""The files of a design: for every proposal an article file, drawings, lists and a sheet for the workshop."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Final

import strikeproof
from strikeproof.campaign.toml_document import write_document
from strikeproof.campaign.whole_file import write_whole
from strikeproof.desk.articles.life_words import count_blows
from strikeproof.desk.designing.design import PRICE_NOTE, DesignOutcome
from strikeproof.desk.designing.proposal import Proposal
from strikeproof.errors import StoreError
from strikeproof.parts import Margin
from strikeproof.plain_json import to_json
from strikeproof.publish.article_drawing import write_drawing
from strikeproof.publish.texts import file_word
from strikeproof.publish.workshop import (
    Rows,
    Title,
    WorkshopJob,
    at_full_size,
    cut_rows,
    draw_workshop_sheet,
    part_rows,
    require_cad,
    tell_steps,
    weld_rows,
    write_csv,
    write_step,
    write_workshop_page,
)
from strikeproof.quantity import write_number, write_percent

__all__ = ["require_outlet", "write_design"]

_HEAD: Final = """\
# {name}: found by `strikeproof design` for the brief {brief!r}{origin}.
# Predict it: strikeproof predict {file} -w WORKSPACE. Run it: append this file to campaign.toml.
# An estimate from dimensions; prove it behind a guard before use.

"""


def require_outlet(folder: Path, *, step: bool = False) -> None:
    """That nothing of an earlier search lies where this one's files go, and that they can be made.

    Raises
    ------
    StoreError
        If the folder holds something.
    BadInput
        If solid models are asked for and the extra `cad` is not installed.
    """
    if step:
        require_cad()
    if folder.exists() and (not folder.is_dir() or any(folder.iterdir())):
        raise StoreError(f"{folder}: is not empty", "name another folder with -o, or delete it")


def write_design(outcome: DesignOutcome, folder: Path, *, step: bool = False) -> tuple[Path, ...]:
    """Write everything into a folder; returns the sheets for the workshop.

    Parameters
    ----------
    step
        Solid models too, by the optional extra `cad`.

    Raises
    ------
    BadInput
        If solid models are asked for and the extra is not installed.
    StoreError
        If the folder holds something already, or cannot be written.
    """
    require_outlet(folder, step=step)
    try:
        folder.mkdir(parents=True, exist_ok=True)
        sheets = [
            _write_proposal(outcome, each, folder / f"{number:02d}-{file_word(each.name)}", step=step)
            for number, each in enumerate(outcome.proposals, start=1)
        ]
        write_whole(
            folder / "proposals.json", json.dumps(to_json(outcome), ensure_ascii=False, indent=1) + "\n"
        )
        write_whole(folder / "proposals.csv", write_csv(outcome.lines()))
    except OSError as cause:
        raise StoreError(f"{folder}: cannot be written: {cause.strerror}", "choose another place") from cause
    return tuple(sheets)


def _write_proposal(outcome: DesignOutcome, each: Proposal, folder: Path, *, step: bool) -> Path:
    folder.mkdir()
    article, properties, raw = each.described.article, each.properties, each.raw
    write_whole(folder / "article.toml", _article_text(outcome, each))
    title = Title(
        each.found.words, outcome.brief.name, outcome.price_words(properties.price), _made_by(outcome)
    )
    sheet, scale = draw_workshop_sheet(article, properties, title, each.described.materials, raw)
    for ending in ("svg", "pdf"):
        write_drawing(sheet, folder / f"drawing.{ending}")
    write_drawing(at_full_size(sheet, scale), folder / "drawing.dxf")
    parts, cuts, welds = (
        part_rows(article, properties, raw, outcome.currency),
        cut_rows(article, raw),
        weld_rows(article, properties),
    )
    for name, rows in (("parts", parts), ("cuts", cuts), ("welds", welds)):
        write_whole(folder / f"{name}.csv", write_csv(rows))
    if step:
        write_step(article, folder / "solid.step", each.described.materials)
    page = folder / "sheet.html"
    write_whole(page, write_workshop_page(_job(outcome, each, parts, cuts, welds), sheet))
    return page


def _article_text(outcome: DesignOutcome, each: Proposal) -> str:
    campaign = outcome.belief.campaign
    origin = "" if campaign is None else f" by campaign {campaign.name!r}"
    text = write_document(each.file)
    head = _HEAD.format(name=each.name, brief=outcome.brief.name, origin=origin, file="article.toml")
    return head + text[text.index("[[article]]") :]


def _made_by(outcome: DesignOutcome) -> str:
    return f"strikeproof {strikeproof.__version__}, seed {outcome.seed}"


def _job(outcome: DesignOutcome, each: Proposal, parts: Rows, cuts: Rows, welds: Rows) -> WorkshopJob:
    campaign = outcome.belief.campaign
    behind = (
        "no campaign, only what is usual for such tools" if campaign is None else f"campaign {campaign.name}"
    )
    return WorkshopJob(
        name=each.name,
        words=each.found.words,
        made_for=f"For the brief {outcome.brief.name}. Behind the figures: {behind}.",
        simulated=outcome.simulated,
        facts=list(_facts(outcome, each)),
        stops=each.stops,
        gains=_gain_rows(outcome, each),
        why=each.why(),
        margins=_margin_rows(each.margins),
        parts=parts,
        cuts=cuts,
        welds=welds,
        price_note=PRICE_NOTE,
        steps=tell_steps(each.described.article, each.properties, each.raw),
        cautions=[text for text in each.cautions if text not in each.stops],
        closest=None if each.nearest is None else each.nearest.words,
        made_by=_made_by(outcome),
    )


def _facts(outcome: DesignOutcome, each: Proposal) -> Iterator[tuple[str, str]]:
    known = each.properties
    yield f"Gain over {outcome.belief.reference}, with {each.counted.setting.tool}", each.counted.words
    yield "Mass", f"{write_number(known.mass, 3)} kg"
    yield "Price", outcome.price_words(known.price)
    outside, length = (known.outer_diameter or 0.0) * 1e3, (known.length or 0.0) * 1e3
    yield "Outside × length", f"{write_number(outside, 3)} × {write_number(length, 3)} mm"
    yield "Polar inertia", f"{write_number(known.polar_inertia * 1e6, 3)} kg·mm²"
    yield "Peak torque at the bolt may reach", f"{write_number(each.peak, 3)} N·m"


def _gain_rows(outcome: DesignOutcome, each: Proposal) -> Rows:
    rows: Rows = [("tool", "gain", "90 % interval", "of one run", "peak torque N·m", "may reach N·m")]
    for told in each.tools:
        rows.append(
            (
                f"{told.setting.tool}, {told.setting.duration:g} s",
                write_percent(told.gain_percent),
                _between(told.low, told.high),
                _between(told.low_run, told.high_run),
                write_number(told.peak_torque, 3),
                write_number(told.peak_high, 3),
            )
        )
    return rows


def _between(low: float | None, high: float | None) -> str:
    return "–" if low is None or high is None else f"{write_percent(low)} to {write_percent(high)}"


def _margin_rows(margins: tuple[Margin, ...]) -> Rows:
    rows: Rows = [
        (
            "place",
            "mode",
            "peak in its joint N·m",
            "static limit, times",
            "fatigue limit, times",
            "blows at 90 %",
            "blows at 50 %",
            "verdict",
        )
    ]
    for each in margins:
        fatigue = "–" if each.fatigue is None else write_number(each.fatigue, 3)
        peak, static = write_number(each.peak, 3), write_number(each.static, 3)
        both = each.blows_90, each.blows_50
        lives = ("–" if life is None else count_blows(life, each.mode) for life in both)
        rows.append((each.part, each.mode, peak, static, fatigue, *lives, each.verdict))
    return rows
