"""Whether an article fits where the bolt is, where it touches, and what would mend it."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Any

from strikeproof.design.envelope import Touch, find_touches, swept_bodies
from strikeproof.design.mends import Mend, find_mends
from strikeproof.design.records import Envelope
from strikeproof.desk.articles.article import describe_article
from strikeproof.desk.designing.brief import load_envelope
from strikeproof.parts import Article
from strikeproof.parts.layout import place
from strikeproof.parts.materials import MaterialBook

__all__ = ["FitFacts", "check_fit", "judge_fit"]

_SEAT = (
    "The bolt end is taken to sit on the seat of the bolt's head: one that rides on the head or on a washer "
    "stands higher and needs that much more free length."
)
_TOOL = (
    "The tool is not looked at: see that its nose and the hand that holds it have room above {top:.4g} mm."
)
_INSIDE = (
    "The drive end stands {under:.4g} mm below the mouth of the pocket: the tool's nose must go in that far."
)
_TURN = (
    "Turn it round once by hand with the tool cut off from its supply before the first blow; keep hands out "
    "of the gap, wear eye, ear and hand protection, and prove a new article behind a guard."
)
_DEFER = "Local codes, the makers' instructions and licensed practice come first."


@dataclass(frozen=True, slots=True)
class FitFacts:
    """An article in an envelope, in SI; `as_json` and `lines` put units to it.

    Parameters
    ----------
    name
        Of the article.
    length, swept
        From the seat to its drive end; the widest circle it sweeps. [m]
    touches, mends
        Where it goes beyond the envelope, worst first, and what would be enough.
    cautions
        What is not looked at, and what belongs before use.
    """

    name: str
    length: float
    swept: float
    touches: tuple[Touch, ...]
    mends: tuple[Mend, ...]
    cautions: tuple[str, ...]

    @property
    def fits(self) -> bool:
        """Whether it touches nothing."""
        return not self.touches

    @property
    def exit_code(self) -> int:
        """0 when it fits, 1 when it touches."""
        return 0 if self.fits else 1

    def as_json(self) -> dict[str, Any]:
        """The facts with their units in the keys; heights are above the seat."""
        return {
            "article": self.name,
            "fits": self.fits,
            "length_m": self.length,
            "swept_diameter_m": self.swept,
            "touches": [
                {
                    "part": touch.part,
                    "limit": touch.limit,
                    "from_m": touch.low,
                    "to_m": touch.high,
                    "excess_m": touch.excess,
                    "allowed_m": touch.allowed,
                    "step_to_depth_m": touch.depth if touch.limit == "pocket" else None,
                    "words": tell_touch(touch),
                }
                for touch in self.touches
            ],
            "mends": [
                {"part": mend.part, "key": mend.key, "value_m": mend.value, "words": mend.words}
                for mend in self.mends
            ],
            "cautions": list(self.cautions),
        }

    def lines(self) -> list[tuple[str, ...]]:
        """What to print, row by row."""
        head = "fits" if self.fits else "touches"
        size = f"{self.length * 1e3:.4g} mm long, sweeps {self.swept * 1e3:.4g} mm"
        rows: list[tuple[str, ...]] = [(self.name, head, size)]
        rows += [(touch.part, touch.limit, tell_touch(touch)) for touch in self.touches]
        return rows + [("", "mend", mend.words) for mend in self.mends]


def tell_touch(touch: Touch) -> str:
    """One touch in words."""
    over = f"{touch.excess * 1e3:.3g} mm"
    where = f"from {touch.low * 1e3:.4g} to {touch.high * 1e3:.4g} mm above the seat"
    most = f"{touch.allowed * 1e3:.4g} mm would do"
    if touch.limit == "pocket":
        step = f"the step to {touch.depth * 1e3:.4g} mm of depth"
        return f"too wide by {over} on the radius {where}: {step}; {most}"
    if touch.limit == "wall":
        return f"too wide by {over} on the radius {where}: the nearest wall; {most}"
    if touch.limit == "seat":
        return f"reaches {over} below the seat"
    return f"too long by {over}; {most}"


def check_fit(article: Path, envelope: Path, *, name: str | None = None) -> FitFacts:
    """An article of one file in the envelope of another.

    Parameters
    ----------
    name
        Which article, where the file has several.

    Raises
    ------
    BadFile, BadInput, NotFound
        If a file, a value in it, or a name cannot be used, or the article has no dimensions.
    """
    facts = describe_article(article, name=name)
    return judge_fit(facts.article, load_envelope(envelope), facts.materials)


def judge_fit(article: Article, limits: Envelope, materials: MaterialBook | None) -> FitFacts:
    """An article in an envelope.

    Raises
    ------
    BadInput
        If the article has no dimensions.
    """
    touches = find_touches(article, limits, materials)
    bodies = swept_bodies(place(article, materials))
    length = max(body.high for body in bodies)
    swept = 2 * max(body.reach(body.low, body.high) for body in bodies)
    mends = find_mends(article, limits, materials)
    return FitFacts(article.name, length, swept, touches, mends, _cautions(limits, length))


def _cautions(envelope: Envelope, length: float) -> tuple[str, ...]:
    under = envelope.depth - length
    inside = (_INSIDE.format(under=under * 1e3),) if under > 0 else ()
    return (_SEAT, _TOOL.format(top=length * 1e3), *inside, _TURN, _DEFER)
