"""Every number that a brief may set a limit to: how it is read, judged, relaxed, said and asked for.

The only list of such limits there is. To add one is an entry here and its field of `Brief`.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from types import MappingProxyType
from typing import Any, Final, cast

from strikeproof.design.records import Brief, Objective
from strikeproof.parts import ArticleProperties
from strikeproof.parts.fields import Range

__all__ = ["LIMITS", "LimitKind", "Reached", "find_excess", "relax"]


@dataclass(frozen=True, slots=True, eq=False)
class Reached:
    """What an article comes to, or the least body of one; None where it is not known.

    Parameters
    ----------
    properties
        What follows from its parts.
    static, fatigue
        Smallest margins at the peaks that it must withstand.
    gain
        Log gain that counts.
    """

    properties: ArticleProperties | None = None
    static: float | None = None
    fatigue: float | None = None
    gain: float | None = None


@dataclass(frozen=True, slots=True)
class LimitKind:
    """One limit of a brief.

    Parameters
    ----------
    key, range
        Its key of `[brief]`, and what its number may be there.
    field
        Of `Brief`, in SI.
    reach
        What an article comes to, in SI; None where that is not known.
    words, says
        In a sentence; what there is beside what is asked, of two numbers in SI.
    refused
        What articles that break it are counted as.
    label, meaning, left_out
        In the form and in docs/design.md; the last is what holds where it is not given.
    digits
        Of the number in the file, when it is moved so that something keeps it.
    most
        Whether the article's number may not be above it; else not below it.
    unknown
        Of `judging.REASONS`, what one counts as whose number nobody knows; empty where that is no breach.
    otherwise
        What helps where it is not moved.
    least
        To less than that it is never moved, nor taken as less when an article is judged.
    margin
        Whether it guards against failure, so that a person is asked before it is lowered.
    weight
        How many times over a change of it counts beside that of another limit.
    money
        Whether it counts in the currency of the campaign.
    objective
        The only objective by which it is judged; None for all.
    offset
        Added to both numbers before they are compared by their ratio.
    """

    key: str
    range: Range
    field: str
    reach: Callable[[Reached], float | None]
    words: str
    says: Callable[[float, float], str]
    refused: str
    label: str
    meaning: str
    left_out: str
    digits: int
    most: bool = True
    unknown: str = ""
    otherwise: str = ""
    least: float = -math.inf
    margin: bool = False
    weight: int = 1
    money: bool = False
    objective: Objective | None = None
    offset: float = 0.0

    @property
    def default(self) -> float | None:
        """What holds where a brief does not give it, in SI."""
        default: Any = Brief.__dataclass_fields__[self.field].default
        return cast("float | None", default)

    def asked(self, brief: Brief) -> float | None:
        """What a brief asks, in SI; None where there is no such limit."""
        value: float | None = getattr(brief, self.field)
        return value

    def written(self, brief: Brief) -> float | None:
        """The same as its file has it."""
        value = self.asked(brief)
        return None if value is None else round(value / self.range.unit, 9)

    def excess(self, brief: Brief, reached: Reached) -> float:
        """How far it is broken, as the log of a ratio: 0 where it is met, infinite where not known."""
        asked = self.asked(brief)
        if asked is None or self.objective not in (None, brief.objective):
            return 0.0
        value, asked = self.reach(reached), max(asked, self.least)
        if value is None:
            return math.inf if self.unknown and reached.properties is not None else 0.0
        far = _log(value + self.offset) - _log(asked + self.offset)
        return max(far if self.most else -far, 0.0)

    def enough(self, reached: Reached) -> float | None:
        """The number in the file that lets an article through, on its safe side; None where none may."""
        value = self.reach(reached)
        moved = None if value is None else self.round_off(value)
        if moved is None or moved < self.least or not self.range.low <= moved <= self.range.high:
            return None  # a brief could not ask it
        return moved

    def round_off(self, value: float) -> float:
        """A number in SI as the file would have it, on its safe side."""
        steps = value / self.range.unit * 10.0**self.digits
        # What has just these digits stays: 2.28 is 227.99999999999997 hundredths.
        near = math.ceil(steps - 1e-9) if self.most else math.floor(steps + 1e-9)
        return near / 10.0**self.digits

    def tell(self, brief: Brief, reached: Reached) -> str:
        """What an article comes to, and what there is."""
        value, asked = self.reach(reached), self.asked(brief)
        return f"has no {self.unknown}" if value is None or asked is None else self.says(value, asked)


def _log(value: float) -> float:
    return math.log(max(value, 1e-9))


def _property(name: str) -> Callable[[Reached], float | None]:
    return lambda reached: None if reached.properties is None else getattr(reached.properties, name)


def _gain(reached: Reached) -> float | None:
    return None if reached.gain is None else math.expm1(reached.gain)


_STRONGER: Final = "take stronger stock, a wider pocket or a gentler tool"

_IN_ORDER: Final = (
    LimitKind(
        "largest_mass_kg",
        Range(0.001, 500),
        "largest_mass",
        _property("mass"),
        "the largest mass",
        lambda value, asked: f"has {value:.3f} kg where {asked:g} kg are allowed",
        "too heavy",
        "Largest mass",
        "of the whole article",
        "no limit",
        3,
    ),
    LimitKind(
        "budget",
        Range(0, 1e9),
        "budget",
        _property("price"),
        "the budget",
        lambda value, asked: f"costs {value:.2f} where {asked:g} are allowed",
        "over the budget",
        "Budget",
        "for material, cuts, welds and fits, in the currency of prices.csv",
        "no limit",
        2,
        unknown="price",
        otherwise="give what is at hand a price in prices.csv",
        money=True,
    ),
    LimitKind(
        "largest_inertia_kg_m2",
        Range(1e-7, 100),
        "largest_inertia",
        _property("polar_inertia"),
        "the largest inertia",
        lambda value, asked: f"has {value:.3g} kg·m² where {asked:g} kg·m² are allowed",
        "beyond the inertia allowed",
        "Largest polar inertia",
        "beyond some inertia gains break off, and the runs do not show where; without a campaign there is "
        "no limit",
        "a tenth beyond the largest that was run",
        6,
    ),
    LimitKind(
        "least_margin",
        Range(1, 100),  # what gives at its peak has no margin
        "least_static",
        lambda reached: reached.static,
        "the least margin",
        lambda value, asked: f"withstands {value:.3g} times the peak torque where {asked:g} times are asked",
        "margin against yield or slipping too small",
        "Least margin against yield",
        "times the peak torque with the strongest tool, each place at the peak of its own joint; 1 or more",
        "1.5",
        2,
        most=False,
        otherwise=_STRONGER,
        least=1.0,  # what gives at its peak is a stop, and never a way out
        margin=True,
        weight=10,
    ),
    LimitKind(
        "least_fatigue_margin",
        Range(0, 100),
        "least_fatigue",
        lambda reached: reached.fatigue,
        "the least fatigue margin",
        lambda value, asked: (
            f"fatigue limit {value:.3g} times the peak torque where {asked:g} times are asked"
        ),
        "margin against fatigue too small",
        "Least margin of long life",
        "against the fatigue limit, an estimate for half of such places, at the same peak; "
        "above 1 a place may still crack late",
        "not asked",
        2,
        most=False,
        otherwise=_STRONGER,
        least=0.01,
        margin=True,
    ),
    LimitKind(
        "least_gain_percent",
        Range(0, 1000, 0.01),
        "least_gain",
        _gain,
        "the least gain",
        lambda value, asked: f"gains {100 * value:.3g} % where {100 * asked:g} % are asked",
        "gains too little",
        "Least gain",
        "that the lightest must reach",
        "0",
        1,
        most=False,
        objective="lightest",
        offset=1.0,
    ),
)

LIMITS: Final[Mapping[str, LimitKind]] = MappingProxyType({each.key: each for each in _IN_ORDER})
"""By key, in the order in which the refused are counted."""


def find_excess(brief: Brief, reached: Reached) -> dict[str, float]:
    """How far an article breaks limits, by key; `unknown` of a limit where its number is not known."""
    far = {kind: kind.excess(brief, reached) for kind in _IN_ORDER}
    return {
        kind.unknown if kind.unknown and math.isinf(each) else kind.key: each
        for kind, each in far.items()
        if each > 0
    }


def relax(brief: Brief, changes: Mapping[str, float]) -> Brief:
    """The brief with limits moved to numbers that are written under their keys of the file."""
    moved = {LIMITS[key].field: value * LIMITS[key].range.unit for key, value in changes.items()}
    return replace(brief, **moved)  # type: ignore[arg-type]  # every field of a limit is a number
