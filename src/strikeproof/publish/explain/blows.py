"""The reference and the winner side by side: where the energy of a blow goes, and the blow in slow motion."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace

from matplotlib.figure import FigureBase

from strikeproof.language import say
from strikeproof.publish.blow import Story, energy_chart, slow_motion_chart
from strikeproof.publish.drawing import Chart, Rows, Sheet
from strikeproof.publish.explain.why import BlowView, Why
from strikeproof.publish.texts import clip, join_words
from strikeproof.quantity import FloatArray

__all__ = ["blow_charts"]

_TITLE = 26  # pixels for a name above each picture
_ENERGY_KEY = say("Width: energy, in each picture as a share of what its hammer brings in.")


def blow_charts(why: Why) -> tuple[Chart, ...]:
    """Energy and slow motion, when there are two blows to compare."""
    if len(why.blows) < 2:
        return ()
    loads = dict.fromkeys(f"{view.story.clamp_load[0]:.0f}" for view in why.blows)
    whose = say(
        "simulated with {blows_with}, from {list} kN of clamp load",
        blows_with=clip(why.blows_with, 20),
        list=join_words(list(loads)),
    )
    energies = [(view, _energy(view)) for view in why.blows]
    motions = [(view, slow_motion_chart(view.story)) for view in why.blows]
    return (
        _beside(
            "why-energy",
            say("Where the joules of one blow go ({whose})", whose=whose),
            energies,
            _ENERGY_KEY,
            lambda: _energy_numbers(why.blows),
        ),
        _beside(
            "why-blow",
            say("One blow in slow motion ({whose})", whose=whose),
            motions,
            motions[0][1].key,
            lambda: _motion_numbers(why.blows),
        ),
    )


def _energy_numbers(blows: Sequence[BlowView]) -> Rows:
    yield ("article", "part", "energy_j")
    for view in blows:
        for part, value in view.ledger.as_json().items():
            if isinstance(value, float):
                yield (view.article, part.removesuffix("_j"), value)


def _motion_numbers(blows: Sequence[BlowView]) -> Rows:
    """One column for every body and joint that any of the articles has."""
    tables = [(view.article, view.story, _columns(view.story)) for view in blows]
    heads = dict.fromkeys(head for _, _, columns in tables for head in columns)
    yield ("article", "time_ms", *heads)
    for article, story, columns in tables:
        cells = [columns[head].tolist() if head in columns else [""] * story.time.size for head in heads]
        for row in zip(story.time.tolist(), *cells, strict=True):
            yield (article, *row)


def _columns(story: Story) -> dict[str, FloatArray]:
    return {
        "clamp_load_kn": story.clamp_load,
        **{f"angle {body} [deg]": story.angles[:, place] for place, body in enumerate(story.bodies)},
        **{f"torque {place + 1} [N m]": each for place, each in enumerate(story.torques.T)},
    }


def _energy(view: BlowView) -> Chart:
    return energy_chart(view.ledger, view.story.contacts, goes_on=view.goes_on)


def _beside(
    name: str, title: str, pairs: Sequence[tuple[BlowView, Chart]], key: str, rows: Callable[[], Rows]
) -> Chart:
    """Charts beside each other on a wide sheet, below each other on a narrow one."""

    def height(sheet: Sheet) -> int:
        part = _part_of(sheet, len(pairs))
        heights = [chart.height(part) + _TITLE for _view, chart in pairs]
        return sum(heights) if sheet.narrow else max(heights)

    return Chart(
        name,
        "why",
        title,
        " ".join(f"{view.article}: {chart.says}" for view, chart in pairs),
        height,
        _drawing(pairs),
        key=key,
        rows=rows,
    )


def _drawing(pairs: Sequence[tuple[BlowView, Chart]]) -> Callable[[FigureBase, Sheet], None]:
    def draw(figure: FigureBase, sheet: Sheet) -> None:
        part = _part_of(sheet, len(pairs))
        if sheet.narrow:
            shares = [chart.height(part) + _TITLE for _view, chart in pairs]
            fields = figure.subfigures(len(pairs), 1, height_ratios=shares, squeeze=False)[:, 0]
        else:
            fields = figure.subfigures(1, len(pairs), squeeze=False)[0]
        for field, (view, chart) in zip(fields, pairs, strict=True):
            field.suptitle(
                clip(view.article, 30), fontweight="bold", fontsize=part.letters, x=0.01, ha="left"
            )
            chart.draw(field, part)

    return draw


def _part_of(sheet: Sheet, parts: int) -> Sheet:
    """The sheet of one picture; letters a little larger on a narrow one, where the bars' are the smallest."""
    if sheet.narrow:
        return replace(sheet, letters=sheet.letters + 0.3)
    return Sheet("part", sheet.width // parts - 8, sheet.letters * 0.92, sheet.points)
