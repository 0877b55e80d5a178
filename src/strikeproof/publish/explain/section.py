"""Rows and sentences of the page's section on why."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any, Final

from matplotlib.axes import Axes
from matplotlib.figure import FigureBase

from strikeproof.explain import EXPLANATIONS, ArticleRow, RivalRow, Split
from strikeproof.language import listed, retold, say, say_many, write_figures
from strikeproof.publish.colours import light
from strikeproof.publish.drawing import Chart, Rows, Sheet, finish_axes
from strikeproof.publish.explain.blows import blow_charts
from strikeproof.publish.explain.inertia import inertia_charts
from strikeproof.publish.explain.left_out import article_numbers, left_out_charts
from strikeproof.publish.explain.why import Why
from strikeproof.publish.explain.words import say_share, tell_caveats, tell_parameter, tell_sentences
from strikeproof.publish.panels import draw_panels, legend_above, name_row, panels_height
from strikeproof.publish.texts import clip
from strikeproof.quantity import write_percent

__all__ = ["why_charts", "why_section"]

Row = dict[str, object]

_TESTS_SHOWN = 5


def why_charts(why: Why | None) -> tuple[Chart, ...]:
    """All charts of an explanation."""
    if why is None:
        return ()
    kinds = (_weight_charts, left_out_charts, inertia_charts, _split_charts, blow_charts)
    return tuple(chart for kind in kinds for chart in kind(why))


def why_section(why: Why | None) -> Row | None:
    """What the template shows, None without an explanation."""
    if why is None:
        return None
    explanation = why.explanation
    return {
        "sentences": tell_sentences(explanation),
        "rivals": [
            {
                "name": EXPLANATIONS[each.name].label,
                "says": EXPLANATIONS[each.name].says,
                "weight": say_share(each.weight),
                "probability": say_share(each.probability),
                "error": write_figures(f"{each.error_percent:.1f} %"),
                "named": each.name == explanation.verdict,
            }
            for each in explanation.rivals
        ],
        "parameters": [tell_parameter(each) for each in explanation.parameters],
        "tests": [
            {
                "setup": say("{test}.", test=each.setup),
                "bits": write_figures(f"{each.bits:.1f}"),
                "rivals": write_figures(f"{each.bits_rivals:.1f}"),
                "unknowns": write_figures(f"{each.bits_parameters:.1f}"),
            }
            for each in explanation.next[:_TESTS_SHOWN]
        ],
        "caveats": tell_caveats(explanation),
        "trust": _trust(why),
    }


def _trust(why: Why) -> list[str]:
    """How far the answer can be trusted, in sentences."""
    found = why.explanation.diagnostics
    told = []
    if found.convergence:
        likely = {each.name: each.probability for each in why.explanation.rivals}
        first = max(found.convergence, key=lambda each: likely.get(each.rival, 0.0))
        told.append(
            say(
                "Sampling of the likeliest explanation with physics, {label}, converged: R-hat {r_hat}, "
                "{middle_size} effective draws.",
                label=EXPLANATIONS[first.rival].label,
                r_hat=write_figures(f"{first.r_hat:.2f}"),
                middle_size=write_figures(f"{first.middle_size:.0f}"),
            )
        )
    if found.engine_error_percent is not None:
        told.append(
            say(
                "{runs} are the basis of the fits; the formula used between them instead of the "
                "simulator is off by {engine_error_percent} % of the score.",
                runs=say_many("{count} simulated run", "{count} simulated runs", found.simulations),
                engine_error_percent=write_figures(f"{found.engine_error_percent:.1f}"),
            )
        )
    if found.quick:
        told.append(say("This was a quick answer: a thorough one is more certain."))
    return told


_PARTS: Final = {
    "inertia": say("inertia"),
    "stiffness": say("stiffness"),
    "gap": say("gap"),
    "bond": say("bond"),
}
_FACES: Final[dict[str, dict[str, Any]]] = {
    "inertia": {"facecolor": light("accent"), "edgecolor": light("accent")},
    "stiffness": {"facecolor": light("paper"), "edgecolor": light("higher"), "hatch": "////"},
    "gap": {"facecolor": light("unknown"), "edgecolor": light("unknown")},
    "bond": {"facecolor": light("paper"), "edgecolor": light("lower"), "hatch": "\\\\\\\\"},
}


def _split_charts(why: Why) -> tuple[Chart, ...]:
    """The one chart, when gains were split."""
    panels = [(tool, rows) for tool in why.tools if (rows := [r for r in why.rows(tool) if r.split])]
    if not panels:
        return ()

    def height(sheet: Sheet) -> int:
        return panels_height(sheet, [len(rows) for _, rows in panels], 84 if sheet.narrow else 64)

    def draw(figure: FigureBase, sheet: Sheet) -> None:
        def draw_row(cell: Axes, place: int, row: ArticleRow) -> None:
            _draw_row(cell, sheet, place, row)

        across = say("part of the gain over {reference} (%)", reference=clip(why.reference, 18))
        cells = draw_panels(figure, sheet, panels, across, draw_row, above=0.85)
        legend_above(figure, sheet, cells[0], 3 if sheet.narrow else 5)

    says = "; ".join(
        say("{article} with {tool}: {parts}", article=row.article, tool=row.tool, parts=_parts(row.split))
        for _, rows in panels
        for row in rows
    )
    return (
        Chart(
            "why-split",
            "why",
            say("What each property adds"),
            says,
            height,
            draw,
            key=say(
                "Parts of the simulated gain that add up to it, each averaged over all orders of change."
            ),
            rows=lambda: article_numbers(why),
        ),
    )


def _parts(split: Split | None) -> str:
    assert split is not None
    return listed([f"{_PARTS[name]} {write_percent(value)}" for name, value in asdict(split).items()])


def _draw_row(cell: Axes, sheet: Sheet, place: int, row: ArticleRow) -> None:
    assert row.split is not None
    cell.margins(x=0.04)
    _draw_bars(cell, place, row.split, 0.34 if sheet.narrow else 0.5)
    name_row(cell, sheet, place, clip(row.article, 20), write_percent(row.split.total), above=0.24)


def _draw_bars(cell: Axes, place: int, split: Split, high: float) -> None:
    """Parts above zero to the right, below it to the left, and a diamond at their sum."""
    ends = {True: 0.0, False: 0.0}
    first = place == 0
    for name, value in asdict(split).items():
        side = value >= 0.0
        label = retold(_PARTS[name]) if first else "_nolegend_"
        cell.barh(place, value, left=ends[side], height=high, linewidth=1.0, label=label, **_FACES[name])
        ends[side] += value
    face: dict[str, Any] = {"ms": 7, "mfc": light("paper"), "mec": light("ink"), "mew": 1.4}
    cell.plot([split.total], [place], "D", zorder=3, label=say("in all") if first else "_nolegend_", **face)


_FIGURES = ("weight", "probability", "error_percent", "log_density", "log_density_error")


def _weight_charts(why: Why) -> tuple[Chart, ...]:
    """The one chart, when explanations were judged."""
    if not why.explanation.rivals:
        return ()

    def height(sheet: Sheet) -> int:
        return (38 if sheet.narrow else 28) * len(why.explanation.rivals) + 74

    def draw(figure: FigureBase, sheet: Sheet) -> None:
        _draw(figure, sheet, why)

    says = "; ".join(
        say(
            "{label}: weight {weight} %, probability {probability} %, misses left-out articles by "
            "{error_percent} %",
            label=EXPLANATIONS[each.name].label,
            weight=write_figures(f"{100 * each.weight:.0f}"),
            probability=write_figures(f"{100 * each.probability:.0f}"),
            error_percent=write_figures(f"{each.error_percent:.1f}"),
        )
        for each in why.explanation.rivals
    )
    return (
        Chart(
            "why-weights",
            "why",
            say("The explanations: weight of each"),
            says,
            height,
            draw,
            key=say("Bar: share in the mixture that predicts left-out articles best. Diamond: probability."),
            rows=lambda: _numbers(why),
        ),
    )


def _numbers(why: Why) -> Rows:
    yield ("explanation", *_FIGURES)
    for each in why.explanation.rivals:
        yield (each.name, *(getattr(each, name) for name in _FIGURES))


def _draw(figure: FigureBase, sheet: Sheet, why: Why) -> None:
    rows = why.explanation.rivals
    cell = figure.subplots()
    top = max(range(len(rows)), key=lambda place: rows[place].weight)
    for place, row in enumerate(rows):
        face = light("accent") if row.name == why.explanation.verdict else light("unknown")
        _draw_weights_of(cell, sheet, place, row, face=face, first=place == top)
    cell.set_xlim(-2.0, 102.0)
    cell.set_ylim(len(rows) - 0.4, -0.85 if sheet.narrow else -0.6)
    cell.set_yticks([] if sheet.narrow else range(len(rows)))
    if not sheet.narrow:
        cell.set_yticklabels([retold(EXPLANATIONS[row.name].label) for row in rows])
    cell.grid(visible=False, axis="y")
    finish_axes(cell, x=say("share (%)"))
    legend_above(figure, sheet, cell, 2)


def _draw_weights_of(cell: Axes, sheet: Sheet, place: int, row: RivalRow, *, face: str, first: bool) -> None:
    """Weight as a bar, probability as a diamond; the first one names both in the legend."""
    names = (say("weight"), say("probability")) if first else ("_nolegend_",) * 2
    cell.barh(place, 100 * row.weight, height=0.34 if sheet.narrow else 0.5, color=face, label=names[0])
    diamond: dict[str, Any] = {"ms": 8, "mfc": light("paper"), "mec": light("ink"), "mew": 1.4}
    cell.plot([100 * row.probability], [place], "D", clip_on=False, zorder=3, label=names[1], **diamond)
    said, across = (
        say("misses by {error_percent} %", error_percent=write_figures(f"{row.error_percent:.1f}")),
        cell.get_yaxis_transform(),
    )
    if sheet.narrow:
        text = f"{EXPLANATIONS[row.name].label}: {said}"
        cell.text(0.0, place - 0.24, text, transform=across, va="bottom", ha="left", fontsize=sheet.letters)
    else:
        cell.text(1.03, place, said, transform=across, va="center", ha="left")
