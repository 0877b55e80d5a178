"""The reference and the winner side by side: where the energy of a blow goes, and the blow in slow motion."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace

from matplotlib.figure import FigureBase

from strikeproof.publish.blow import energy_chart, slow_motion_chart
from strikeproof.publish.drawing import Chart, Sheet
from strikeproof.publish.explain.why import BlowView, Why
from strikeproof.publish.texts import clip, join_words

__all__ = ["blow_charts"]

_TITLE = 26  # pixels for a name above each picture
_ENERGY_KEY = "Width: energy, in each picture as a share of what its hammer brings in."


def blow_charts(why: Why) -> tuple[Chart, ...]:
    """Energy and slow motion, when there are two blows to compare."""
    if len(why.blows) < 2:
        return ()
    loads = dict.fromkeys(f"{view.story.clamp_load[0]:.0f}" for view in why.blows)
    whose = f"simulated with {clip(why.blows_with, 20)}, from {join_words(list(loads))} kN of clamp load"
    energies = [(view, _energy(view)) for view in why.blows]
    motions = [(view, slow_motion_chart(view.story)) for view in why.blows]
    return (
        _beside("why-energy", f"Where the joules of one blow go ({whose})", energies, _ENERGY_KEY),
        _beside("why-blow", f"One blow in slow motion ({whose})", motions, motions[0][1].key),
    )


def _energy(view: BlowView) -> Chart:
    return energy_chart(view.ledger, view.story.contacts, goes_on=view.goes_on)


def _beside(name: str, title: str, pairs: Sequence[tuple[BlowView, Chart]], key: str) -> Chart:
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
