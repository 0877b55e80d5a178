"""Whether what was found holds elsewhere, in words."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Final, Literal, TypeAlias

import numpy as np

from strikeproof.judge.elsewhere.answer import Elsewhere, Held, OnBench
from strikeproof.judge.elsewhere.consistency import Loop
from strikeproof.judge.elsewhere.network import FEWEST_BENCHES, Level
from strikeproof.publish.answers.panel import Panel
from strikeproof.publish.answers.table import AnswerTable
from strikeproof.publish.texts import count, given, join_words
from strikeproof.publish.verdicts import SIGNS, Sign
from strikeproof.quantity import write_number, write_percent

__all__ = ["Beside", "LeftOut", "ReferencePrecision", "WhyLeftOut", "elsewhere_panel", "why_left_out"]

WhyLeftOut: TypeAlias = Literal[
    "refused", "file", "nothing", "tool", "question", "scale", "not calibrated", "apart"
]
ALPHA: Final = 0.05
SMALL: Final = 0.01
"""Standard deviation below which nothing is said of it. [percent]"""
_NONE: Final = "–"
_WHY: Final[Mapping[WhyLeftOut, str]] = {
    "refused": "its runs cannot be asked",
    "file": "the file cannot be used",
    "nothing": "it has no article that two of its runs compare with its reference",
    "tool": "it ran with another tool",
    "question": "its score, direction or length of a run is another one",
    "scale": "the scale of its scores does not start at zero, so that a ratio means nothing elsewhere",
    "not calibrated": "it is not calibrated",
    "apart": "no chain of articles joins it to the others",
}
_LEVELS: Final[Mapping[Level, str]] = {
    "bench": "from bench to bench",
    "calibration": "from calibration to calibration of one bench",
    "campaign": "from one campaign or tool to the next of one calibration",
}


@dataclass(frozen=True, slots=True)
class LeftOut:
    """A source that is not in the network, why, and the problem in words."""

    name: str
    why: WhyLeftOut
    detail: str


@dataclass(frozen=True, slots=True)
class ReferencePrecision:
    """Repeatability and reproducibility of the reference's own scores, as standard deviations in percent."""

    tool: str
    kind: str
    repeatability_percent: float
    reproducibility_percent: float
    benches: int


@dataclass(frozen=True, slots=True)
class Beside:
    """What is said beside an answer: sources that are left out, those whose scale is not known, those that
    are simulated, and how well the reference's own scores repeat."""

    left: tuple[LeftOut, ...]
    bare: tuple[str, ...]
    simulated: tuple[str, ...]
    precision: tuple[ReferencePrecision, ...]


def why_left_out(left: Sequence[LeftOut]) -> str:
    """Those that are not in the network, each with the reason."""
    return "; ".join(f"{each.name}: {each.detail or _WHY[each.why]}" for each in left[:6])


def elsewhere_panel(found: Elsewhere, beside: Beside) -> Panel:
    """Each article over all benches, what the next bench would find, and who disagrees."""
    said = [(SIGNS[each.verdict], _sentence(each, found)) for each in found.articles]
    tables = [_articles(found)]
    if found.benches:
        tables.append(_benches(found))
    if found.loops:
        tables.append(_loops(found))
    return Panel(
        "elsewhere",
        "Does it hold elsewhere",
        (*said, *_disagreement(found)),
        tuple(tables),
        tuple(_notes(found, beside)),
    )


def _sentence(each: Held, found: Elsewhere) -> str:
    over = f"over {count(each.benches, 'bench', 'benches')}"
    way = "" if each.direct else ", by way of other articles only"
    alike = "" if found.freedom else ", if benches do not differ"
    seen = f"{write_percent(each.percent)} ({_ends(each.low_percent, each.high_percent)}{alike})"
    sign = SIGNS[each.verdict]
    if sign.role in ("higher", "lower"):
        how = "gets there" if found.timed else "is"
        text = f"{each.article} {how} {sign.word} than {found.reference} {over}{way}: {seen}."
    elif each.verdict == "same":
        margin = given(found.margin_percent)
        text = f"{each.article} does the same as {found.reference} within {margin} % {over}{way}: {seen}."
    else:
        text = f"Cannot tell between {each.article} and {found.reference} {over}{way}. Seen: {seen}."
    if each.next_low_percent is None or each.next_high_percent is None:
        return text
    return f"{text} One more bench would find {_ends(each.next_low_percent, each.next_high_percent)}."


def _disagreement(found: Elsewhere) -> Iterator[tuple[Sign, str]]:
    """What is inconsistent, by name."""
    unknown = SIGNS["cannot tell"]
    for loop in found.loops:
        if loop.p_all < ALPHA:
            yield (
                unknown,
                f"The sources disagree on {loop.first} against {loop.second}: {_ratio(loop.direct)} where "
                f"both ran, {_ratio(loop.indirect)} by way of others (p = {write_number(loop.p_all, 2)}, all "
                "loops together). Look for what differs between them before you trust either.",
            )
    if found.designs is not None and found.designs.p < ALPHA:
        yield (
            unknown,
            "Sources with other sets of articles find other ratios (design-by-treatment test, "
            f"p = {write_number(found.designs.p, 2)}).",
        )
    for each in found.benches:
        if each.score is not None and abs(each.score) > 1.0:
            yield (
                unknown,
                f"{each.bench} finds {write_percent(each.percent)} for {each.article}, further from the "
                f"other benches than both uncertainties explain (E_n = {each.score:.1f}).",
            )


def _ends(low: float, high: float) -> str:
    return f"{write_percent(low).removesuffix(' %')} to {write_percent(high)}"


def _ratio(log_ratio: float) -> str:
    return write_percent(100.0 * float(np.expm1(log_ratio)))


def _articles(found: Elsewhere) -> AnswerTable:
    rows = tuple(
        (
            SIGNS[each.verdict],
            (
                (each.article,),
                (SIGNS[each.verdict].word,),
                (write_percent(each.percent), _ends(each.low_percent, each.high_percent)),
                (
                    _NONE
                    if each.next_low_percent is None or each.next_high_percent is None
                    else _ends(each.next_low_percent, each.next_high_percent),
                ),
                (f"{each.benches}",),
                (f"{each.direct}",),
            ),
        )
        for each in found.articles
    )
    heads = (
        "Article",
        "Verdict",
        f"Against {found.reference}",
        "One more bench",
        "Benches",
        "Sources with both",
    )
    return AnswerTable(f"Over all benches, against {found.reference}", heads, rows, 1)


def _benches(found: Elsewhere) -> AnswerTable:
    rows = tuple((_odd(each), _bench_cells(each)) for each in found.benches)
    return AnswerTable(
        f"Each bench alone, against {found.reference}", ("Article", "Bench", "It finds", "E_n"), rows, 1
    )


def _odd(each: OnBench) -> Sign:
    return SIGNS["cannot tell" if each.score is not None and abs(each.score) > 1.0 else "same"]


def _bench_cells(each: OnBench) -> tuple[tuple[str, ...], ...]:
    return (
        (each.article,),
        (each.bench,),
        (write_percent(each.percent), _ends(each.low_percent, each.high_percent)),
        (_NONE if each.score is None else f"{each.score:.2f}".replace("-", "−"),),
    )


def _loops(found: Elsewhere) -> AnswerTable:
    rows = tuple((_agrees(each), _loop_cells(each)) for each in found.loops)
    heads = ("Article", "against", "Where both ran", "By way of others", "p of this loop", "p of all")
    return AnswerTable("Direct and indirect, loop by loop", heads, rows, 1)


def _agrees(each: Loop) -> Sign:
    return SIGNS["cannot tell" if each.p_all < ALPHA else "same"]


def _loop_cells(each: Loop) -> tuple[tuple[str, ...], ...]:
    texts = (each.first, each.second, _ratio(each.direct), _ratio(each.indirect))
    return tuple((text,) for text in (*texts, write_number(each.p, 2), write_number(each.p_all, 2)))


def _notes(found: Elsewhere, beside: Beside) -> Iterator[str]:
    if beside.simulated:
        yield f"Simulated, so no measurement: {join_words(beside.simulated)}."
    yield (
        f"Intervals of all articles hold together with {100 * found.confidence:.4g} %. “One more bench” is "
        "where the ratio would lie on a bench that is not in this list, with 95 % for each article, if it "
        "made very many runs."
    )
    parts = [
        f"{write_number(size, 2)} % {_LEVELS[level]}" for level, size in found.spread_percent if size > SMALL
    ]
    if not found.freedom:
        yield (
            "Cannot tell: no ratio was measured by two sources, so the spread between benches is not known. "
            "The intervals hold only if benches do not differ."
        )
    elif parts:
        yield f"A ratio differs by {join_words(parts)} (standard deviations, by restricted likelihood)."
    elif found.spread_percent:
        yield (
            "The sources differ by no more than their runs scatter. With few benches that does not show that "
            "benches agree."
        )
    if all(each.benches < FEWEST_BENCHES for each in found.articles):
        yield f"Fewer than {FEWEST_BENCHES} benches say nothing of the next one."
    if found.untested:
        pairs = join_words([f"{first} against {second}" for first, second in found.untested])
        yield (
            "Not tested, as no ratio is left that says how much benches differ: whether the direct "
            f"comparison and the one by way of others agree for {pairs}."
        )
    if not found.loops:
        if not found.untested:
            yield (
                "Consistency cannot be tested: no two articles were compared both directly and by way of "
                "others."
            )
    elif found.designs is None:
        yield (
            "No test of all designs at once: every source has the same articles, or no set of articles "
            "is there twice."
        )
    for each in beside.precision:
        tool = f" with {each.tool}" if each.tool else ""
        yield (
            f"The {each.kind} that {found.reference} reaches{tool} repeats to "
            f"{write_number(each.repeatability_percent, 2)} % on one bench and to "
            f"{write_number(each.reproducibility_percent, 2)} % on any of {each.benches} benches (standard "
            "deviations, ISO 5725-2)."
        )
    if beside.bare:
        yield (
            f"Not calibrated: {join_words(beside.bare)}. Such a ratio holds elsewhere only where the reading "
            "is in proportion to the load and 0 without load; nothing in the data shows that."
        )
    yield (
        "Articles of the same name are taken for the same. Ratios of torque and of clamp load are taken for "
        "each other, which holds as long as friction is the same for all articles of a source."
    )
    for one in beside.left:
        detail = f" ({one.detail})" if one.detail else ""
        yield f"Left out: {one.name}, as {_WHY[one.why]}{detail}."
