"""Everything the page says about why: the explanation, its curves, and two blows to compare."""

from __future__ import annotations

from dataclasses import dataclass

from strikeproof.drivetrain import Ledger
from strikeproof.explain import ArticleRow, Explanation, RivalName
from strikeproof.publish.blow import Story
from strikeproof.quantity import FloatArray

__all__ = ["BlowView", "InertiaCurve", "Why"]


@dataclass(frozen=True, slots=True, eq=False)
class InertiaCurve:
    """Gain against inertia with all else the reference's, by one explanation, with one tool.

    Attributes
    ----------
    inertia, middle, low, high : (n,)
        Inertia [kg·m²]; median and 90 % band of the gain. [%]
    """

    tool: str
    rival: RivalName
    inertia: FloatArray
    middle: FloatArray
    low: FloatArray
    high: FloatArray


@dataclass(frozen=True, slots=True, eq=False)
class BlowView:
    """A simulated blow of one article; `goes_on`: the hammer still turned forward at its end."""

    article: str
    story: Story
    ledger: Ledger
    goes_on: bool


@dataclass(frozen=True, slots=True, eq=False)
class Why:
    """An explanation ready to be published.

    Attributes
    ----------
    curves
        One for each tool; empty where nothing could be fitted.
    blows
        Of the reference and of the winner, at the same clamp load; empty where there is no chain.
    blows_with
        The tool of the blows.
    """

    explanation: Explanation
    curves: tuple[InertiaCurve, ...] = ()
    blows: tuple[BlowView, ...] = ()
    blows_with: str = ""

    @property
    def reference(self) -> str:
        """The article all others are compared with."""
        return self.explanation.evidence.reference

    @property
    def tools(self) -> tuple[str, ...]:
        """The tools with an article to show, in order."""
        return tuple(dict.fromkeys(each.tool for each in self.explanation.articles))

    def rows(self, tool: str) -> list[ArticleRow]:
        """The articles of a tool, the largest measured gain first."""
        own = [each for each in self.explanation.articles if each.tool == tool]
        return sorted(own, key=lambda each: -each.measured_percent)

    def inertia(self, article: str) -> float | None:
        """Inertia of an article that was used. [kg·m²]"""
        known = {each.name: each.model for each in self.explanation.evidence.articles}
        model = known.get(article)
        return None if model is None else model.polar_inertia
