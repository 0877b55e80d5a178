"""How the lines of a blow are separated: a colour and a dash for each body, the same in every picture."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Final

from matplotlib.axes import Axes

from strikeproof.publish.colours import light
from strikeproof.publish.drawing import Sheet

__all__ = ["Stroke", "label_ends", "spread", "strokes_of_bodies", "strokes_of_runs"]

Dashes = tuple[float, ...]


@dataclass(frozen=True, slots=True)
class Stroke:
    """A colour by its role, a dash pattern in line widths (none: solid) and a width in pixels."""

    role: str
    dashes: Dashes
    width: float = 1.8

    def style(self) -> dict[str, Any]:
        """As the plotting library takes it."""
        return {"color": light(self.role), "lw": self.width, "ls": (0, self.dashes) if self.dashes else "-"}


_RUNS: Final = (
    Stroke("accent", (), 2.0),
    Stroke("lower", (5, 1.6)),
    Stroke("higher", (5, 1.4, 1.2, 1.4)),
    Stroke("ink", (1.4, 1.2)),
    Stroke("soft", (9, 2)),
    Stroke("accent", (1.4, 1.2)),
    Stroke("lower", ()),
    Stroke("higher", (9, 2)),
)
_MIDDLE: Final = (
    Stroke("accent", (), 2.4),
    Stroke("accent", (4, 1.2)),
    Stroke("accent", (1.4, 1.2)),
    Stroke("soft", (4, 1.2)),
    Stroke("soft", (1.4, 1.2)),
    Stroke("lower", (1.4, 1.2)),
    Stroke("soft", ()),
    Stroke("lower", (9, 2)),
    Stroke("ink", (1.4, 1.2)),
    Stroke("accent", (9, 2)),
    Stroke("soft", (9, 2)),
)


def strokes_of_runs(count: int) -> list[Stroke]:
    """A stroke for each of several runs."""
    return [_RUNS[place % len(_RUNS)] for place in range(count)]


def strokes_of_bodies(names: Sequence[str]) -> list[Stroke]:
    """A stroke for each body: hammer, anvil, what is between, bolt."""
    ends = {
        "hammer": Stroke("lower", (), 2.0),
        "anvil": Stroke("ink", (5, 1.6)),
        "bolt": Stroke("higher", (5, 1.4, 1.2, 1.4), 2.0),
        "head": Stroke("higher", (5, 1.4, 1.2, 1.4), 2.0),
        "thread": Stroke("higher", (1.4, 1.2), 2.0),
    }
    between = [name for name in names if name not in ends]
    middle = {name: _MIDDLE[place % len(_MIDDLE)] for place, name in enumerate(between)}
    return [(ends | middle)[name] for name in names]


def spread(places: Sequence[float], least: float, low: float, high: float) -> list[float]:
    """Places moved as little as needed so that neighbours lie `least` apart between `low` and `high`.

    Where there is no room for all, they are evenly spaced.
    """
    count = len(places)
    if count * least > high - low:
        least = (high - low) / max(count, 1)
    order = sorted(range(count), key=lambda each: places[each])
    moved = [min(max(places[each], low), high) for each in order]
    for _ in range(200):
        for one in range(count - 1):
            short = least - (moved[one + 1] - moved[one])
            if short > 1e-12:
                moved[one] -= short / 2
                moved[one + 1] += short / 2
        moved = [min(max(place, low), high) for place in moved]
    for one in range(count - 1):
        moved[one + 1] = max(moved[one + 1], moved[one] + least)
    for one in range(count - 1, 0, -1):
        moved[one] = min(moved[one], high - (count - 1 - one) * least)
        moved[one - 1] = min(moved[one - 1], moved[one] - least)
    result = [0.0] * count
    for place, each in zip(moved, order, strict=True):
        result[each] = place
    return result


def label_ends(
    axes: Axes,
    names: Sequence[str],
    ends: Sequence[float],
    strokes: Sequence[Stroke],
    sheet: Sheet,
    high: int,
) -> None:
    """Name each line at its right end, moved apart where ends lie close, with a bit of the line before it.

    `high` is about how many pixels the panel is high; names may have several lines.
    """
    low, top = axes.get_ylim()
    lines = max((name.count("\n") for name in names), default=0) + 1
    line = 1.25 * lines * sheet.letters / high * (top - low)
    places = spread([float(end) for end in ends], line, low + line / 2, top - line / 2)
    across = axes.get_yaxis_transform()
    near, far = (1.03, 1.09) if sheet.narrow else (1.012, 1.045)
    for name, end, place, stroke in zip(names, ends, places, strokes, strict=True):
        seen = min(max(float(end), low), top)  # a line may end outside its panel
        axes.plot(
            [1.0, near], [seen, place], transform=across, clip_on=False, color=light(stroke.role), lw=0.8
        )
        style = {**stroke.style(), "lw": 1.6}
        axes.plot([near, far], [place, place], transform=across, clip_on=False, **style)
        axes.text(
            far + 0.01, place, name, transform=across, va="center", ha="left", fontsize=sheet.letters * 0.92
        )
