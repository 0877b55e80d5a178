"""One proposal with all that is beside it: expected gains, why, margins, the nearest article built."""

from __future__ import annotations

import math
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import asdict, dataclass
from typing import Any, Final

import numpy as np

from strikeproof.design.limits import LIMITS
from strikeproof.design.records import Brief, Found
from strikeproof.desk.articles.article import ArticleFacts as Described
from strikeproof.desk.articles.article import describe_article
from strikeproof.desk.articles.known import know_described
from strikeproof.desk.articles.life_words import LIFE_UNSURE, tell_life, tell_near
from strikeproof.desk.explaining.belief import Belief
from strikeproof.desk.explaining.predict import (
    Expected,
    PredictOutcome,
    expect_found,
    expect_predicted,
    predict_described,
)
from strikeproof.desk.safety.cautions import LESS_MARGIN, Stop
from strikeproof.errors import StrikeproofError
from strikeproof.explain import Split, split_gain_of
from strikeproof.parts import Article, ArticleProperties, Margin, Material, Part, find_stock, least_margins
from strikeproof.publish.workshop import Raw, RawBook
from strikeproof.quantity import write_number, write_percent

__all__ = ["Nearest", "Proposal", "article_file", "find_raw", "propose"]

_UNSURE: Final = "this rests on no campaign: gains and peaks are what is usual for tools of the class."


@dataclass(frozen=True, slots=True)
class Nearest:
    """The article already built that is most like a proposal, and how many times its own the proposal has.

    Parameters
    ----------
    far
        Root of the summed squares of the three logarithms.
    """

    name: str
    inertia: float
    stiffness: float
    mass: float
    far: float

    @property
    def words(self) -> str:
        """In a sentence."""
        if self.far < 0.05:
            return f"It is almost {self.name}, which is built already."
        return (
            f"Of what is built, {self.name} is nearest: this one has {self.inertia:.2g} times its inertia, "
            f"{self.stiffness:.2g} times its stiffness and {self.mass:.2g} times its mass."
        )


@dataclass(frozen=True, slots=True, eq=False)
class Proposal:
    """An article that keeps the brief, worked out for a person.

    Parameters
    ----------
    file
        What its article file holds.
    tools
        What is expected with each tool.
    counted
        Of these, the one that the brief is judged by.
    peak
        What the strongest tool may reach at the bolt's head. [N·m]
    margins
        Each at what the strongest tool may reach in its own joint, smallest first.
    split
        Parts of the counted gain; None without a fitted chain.
    raw
        Where each part comes from.
    """

    found: Found
    file: Mapping[str, Any]
    described: Described
    tools: tuple[Expected, ...]
    counted: Expected
    peak: float
    margins: tuple[Margin, ...]
    split: Split | None
    nearest: Nearest | None
    raw: RawBook
    cautions: tuple[str, ...]

    @property
    def name(self) -> str:
        """As its file calls it."""
        return self.found.name

    @property
    def properties(self) -> ArticleProperties:
        """What follows from its parts."""
        return self.described.properties

    @property
    def stops(self) -> tuple[str, ...]:
        """Why it must not be run."""
        return tuple(each for each in self.cautions if isinstance(each, Stop))

    def why(self) -> tuple[str, ...]:
        """What makes the gain, in sentences."""
        if self.split is None:
            return ()
        parts = sorted(asdict(self.split).items(), key=lambda each: -abs(each[1]))
        told = ", ".join(f"{name} {write_percent(value)}" for name, value in parts if abs(value) >= 0.05)
        first = parts[0][0]
        tool = self.counted.setting.tool
        return (f"With {tool} it works by its {first} most of all: of the simulated gain, {told}.",)

    def as_json(self) -> dict[str, Any]:
        """As the command line prints it."""
        known = self.properties
        return {
            "name": self.name,
            "words": self.found.words,
            "gain_percent": self.counted.gain_percent,
            "low": self.counted.low,
            "high": self.counted.high,
            "tool": self.counted.setting.tool,
            "mass_kg": known.mass,
            "price": known.price,
            "outer_diameter_m": known.outer_diameter,
            "length_m": known.length,
            "polar_inertia_kg_m2": known.polar_inertia,
            "stiffness_n_m_per_rad": known.stiffness,
            "peak_torque_n_m": self.peak,
            "margins": self.margins,
            "stop": bool(self.stops),
            "tools": self.tools,
            "split": self.split,
            "nearest_built": self.nearest,
            "cautions": self.cautions,
            "article": self.file["article"][0],
        }


def article_file(found: Found, brief: Brief) -> dict[str, Any]:
    """What its article file holds: the article with its price, and materials that only the brief knows."""
    table = {"name": found.name, **{key: each for key, each in found.table.items() if key != "name"}}
    if found.properties.price is not None:
        table["price"] = round(found.properties.price, 2)
    table["note"] = found.words
    used = {part.get("material") for part in table.get("part", ())}
    own = {name: _material_table(each) for name, each in brief.materials.items() if name in used}
    return {"article": [table], **({"material": own} if own else {})}


def _material_table(material: Material) -> dict[str, Any]:
    return {
        "density_kg_m3": material.density,
        "shear_modulus_gpa": material.shear_modulus / 1e9,
        "elastic_modulus_gpa": material.elastic_modulus / 1e9,
        "yield_mpa": material.yield_strength / 1e6,
        "tensile_mpa": material.tensile_strength / 1e6,
        "endurance_mpa": material.endurance / 1e6,
        "source": material.source,
        "hardenable": material.hardenable,
    }


def propose(found: Found, brief: Brief, belief: Belief, seed: int, place: int) -> Proposal:
    """Work a found article out through the same path as an article file given to `predict`.

    Raises
    ------
    StrikeproofError
        If the article cannot be predicted.
    """
    file = article_file(found, brief)
    described = describe_article(file)
    tools, predicted = _expect(found, described, belief)
    counted = _counted(tools, brief, belief)
    peak = max((each.peak_high for each in tools if each.peak_high is not None), default=found.peak)
    margins = least_margins([each.margins for each in tools if each.margins] or [found.margins])
    return Proposal(
        found,
        file,
        described,
        tools,
        counted,
        peak,
        margins,
        _split(described, belief, counted, np.random.default_rng([seed, 3, place])),
        _nearest(described.properties, brief, belief),
        find_raw(brief, file["article"][0], described.article, found.stock),
        (*_cautions(described, tools, margins, predicted), *_thin(margins)),
    )


def _expect(
    found: Found, described: Described, belief: Belief
) -> tuple[tuple[Expected, ...], PredictOutcome | None]:
    if belief.outcome is None:
        return expect_found(found, belief.settings), None
    predicted = predict_described(belief.outcome, described)
    told = [each for each in predicted.tools if each.prediction.setting in belief.settings]
    return tuple(expect_predicted(each) for each in told), predicted


def _counted(tools: Sequence[Expected], brief: Brief, belief: Belief) -> Expected:
    """With the strongest tool, or with the one that gains least where all count."""
    if brief.objective == "best over tools":
        return min(tools, key=lambda each: each.gain_percent)
    strongest = belief.settings[belief.strongest].tool
    return next(each for each in tools if each.setting.tool == strongest)


def _split(described: Described, belief: Belief, counted: Expected, rng: np.random.Generator) -> Split | None:
    if belief.outcome is None:
        return None
    facts = know_described(described).facts
    return split_gain_of(belief.outcome.explanation, facts, rng=rng, setting=counted.setting)


def _nearest(own: ArticleProperties, brief: Brief, belief: Belief) -> Nearest | None:
    """By distance in the logarithms of inertia, stiffness and mass."""
    return min(
        (_apart(name, own, known) for name, known in _built(brief, belief)),
        key=lambda each: each.far,
        default=None,
    )


def _built(brief: Brief, belief: Belief) -> Iterator[tuple[str, ArticleProperties]]:
    known = {} if belief.outcome is None else belief.outcome.gathered.articles
    for name, table in brief.built.items():
        properties = known[name].properties if name in known else _described(table)
        if properties is not None and properties.mass > 0.0:
            yield name, properties


def _described(table: Mapping[str, Any]) -> ArticleProperties | None:
    try:
        return describe_article({"article": dict(table)}).properties
    except StrikeproofError:  # what nobody can work out is near to nothing
        return None


def _apart(name: str, own: ArticleProperties, other: ArticleProperties) -> Nearest:
    ratios = (
        own.polar_inertia / other.polar_inertia,
        own.stiffness / other.stiffness,
        own.mass / other.mass,
    )
    return Nearest(name, *ratios, math.sqrt(sum(math.log(each) ** 2 for each in ratios)))


def _cautions(
    described: Described,
    tools: Sequence[Expected],
    margins: Sequence[Margin],
    predicted: PredictOutcome | None,
) -> Iterator[str]:
    """A predicted overstress first."""
    if predicted is not None:
        yield from predicted.cautions
        return
    for margin in margins:
        if margin.verdict == "stop":
            yield Stop(
                f"STOP: {margin.part} ({margin.mode}) fails at {margin.holds_to:.4g} N·m, and blows may "
                f"reach {margin.peak:.4g} N·m there. Do not run it."
            )
    yield from tell_near(margins)
    finite = [margin for margin in margins if margin.verdict == "finite life"]
    for margin in finite:
        life = f"{tell_life(margin)}, if every blow is as hard"
        yield f"{margin.part} ({margin.mode}) has a finite life: {life}."
    if finite:
        yield LIFE_UNSURE
    if tools:
        yield f"Unsure: {_UNSURE}"
    yield from (text for text in described.cautions if not isinstance(text, Stop))


def _thin(margins: Sequence[Margin]) -> Iterator[str]:
    """The weakest place, where a brief let it come nearer to its limit than is usual."""
    usual = LIMITS["least_margin"].default or 0.0
    for each in margins[:1]:
        if 1.0 <= each.static < usual:
            yield (
                f"{each.part} ({each.mode}) withstands only {write_number(each.static, 3)} times its "
                f"predicted peak, where {usual:g} times is usual. {LESS_MARGIN}"
            )


_WHOLE = ("nut", "old nut", "long nut", "washer", "drive square")


def find_raw(
    brief: Brief, table: Mapping[str, Any], article: Article, stock: Collection[str]
) -> dict[str, Raw]:
    """By part: bought as a base, an item as it is sold, a part on another one, or sawn from stock.

    Parameters
    ----------
    stock
        What the search cuts the article from: of several bars that would do, the one that is among it.
    """
    bought = {
        name: base.name
        for base in brief.bases
        for name in _shared_parts(base.table.get("part", ()), table.get("part", ()))
    }
    return {part.name: _raw(brief, article, part, (bought, stock)) for part in article.parts}


def _shared_parts(base: Any, parts: Any) -> set[str]:
    """Names of the parts that are just those of a base, when all of the base is there."""
    plain = [_bare(each) for each in parts]
    own = [_bare(each) for each in base]
    if not own or any(each not in plain for each in own):
        return set()
    return {str(each.get("name")) for each in parts if _bare(each) in own}


def _bare(part: Mapping[str, Any]) -> dict[str, Any]:
    return {key: value for key, value in part.items() if key not in ("name", "price")}


def _raw(brief: Brief, article: Article, part: Part, known: tuple[Mapping[str, str], Collection[str]]) -> Raw:
    bought, stock = known
    if part.name in bought:
        return Raw("bought", bought[part.name])
    if part.stock is not None:
        return Raw("item" if part.family in _WHOLE and part.bond.kind != "loose" else "sawn", part.stock)
    carrier = next((each for each in article.parts if each.name == part.carrier), None)
    if carrier is not None and part.bond.kind == "rigid" and part.material == carrier.material:
        return Raw("with", carrier.name)
    return Raw("sawn", _bar(brief, part, _outside(article, part), stock))


def _outside(article: Article, part: Part) -> float:
    """Of the piece that a part is turned from: what is left on it may be wider. [m]"""
    on_it = [
        each.outer.size
        for each in article.parts
        if each.carrier == part.name and each.bond.kind == "rigid" and each.material == part.material
    ]
    return max([part.outer.size, part.outer_end, *on_it])


def _bar(brief: Brief, part: Part, outside: float, stock: Collection[str]) -> str:
    """The bar on offer that a part can be turned from: one that is named, else the thinnest."""
    offered = [(find_stock(each.item), each) for each in brief.offers]
    bars = [
        item
        for item, offer in offered
        if item.family == "bar"
        and (offer.material or item.material) == part.material
        and item.outer.size >= outside - 1e-6
    ]
    best = min(bars, key=lambda item: (item.name not in stock, item.outer.size), default=None)
    return best.name if best else f"bar {outside * 1e3:g} mm"
