"""Which tool, and whether what the articles do holds with each tool, in words."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Final

from strikeproof.judge.questions.tools import Apart, Hidden, Missing, ToolEffects, Tools
from strikeproof.publish.answers.best import best_sentence, best_sign, excluded_sentence
from strikeproof.publish.answers.differences import difference_sentence, difference_sign
from strikeproof.publish.answers.table import AnswerTable
from strikeproof.publish.texts import count, given, join_words
from strikeproof.publish.verdicts import SIGNS, Sign
from strikeproof.quantity import write_number, write_percent

__all__ = [
    "apart_words",
    "effects_notes",
    "effects_said",
    "effects_table",
    "no_effects_said",
    "tools_notes",
    "tools_said",
]

_MOST_SAID: Final = 3
_HIDDEN: Final[Mapping[Hidden, str]] = {
    "order": "All blocks of one tool were made before those of another: what drifted or changed in between "
    "looks like a difference between the tools. Let the tools take turns, block by block.",
    "bolts": "Each tool has bolts of its own: what bolts differ by counts as a difference between the tools.",
}
_MISSING: Final[Mapping[Missing, str]] = {
    "no reference": "the reference did not run with it",
    "few blocks": "two of its blocks with the reference and another article are needed",
    "no other": "no other article ran often enough both with it and with another tool",
    "apart": "its blocks cannot separate the articles",
}
_ROLES: Final[Mapping[str, Sign]] = {
    "differs": SIGNS["higher"],
    "same": SIGNS["same"],
    "cannot tell": SIGNS["cannot tell"],
}


def tools_said(
    tools: Tools, margin_percent: float, with_excluded: Tools | None = None
) -> list[tuple[Sign, str]]:
    """Which tool is the best with the article, then each two of them."""
    best = best_sentence(tools.best, margin_percent, "", kind="tool")
    rests = excluded_sentence(tools.best, () if with_excluded is None else (with_excluded.best,))
    said = [(best_sign(tools.best), best + rests)]
    if tools.best.unknown is not None:
        return said
    return said + [
        (difference_sign(each), difference_sentence(each, margin_percent)) for each in tools.differences.found
    ]


def tools_notes(tools: Tools) -> tuple[str, ...]:
    """What the units are, and what cannot be separated from the tools."""
    found = tools.differences
    taken = (
        "the blocks came in rounds, one of each tool, and are compared round by round"
        if tools.paired
        else "the blocks did not come in rounds of one of each tool, so they are compared as they are"
    )
    freedom = found.degrees_of_freedom
    return (
        f"A tool is what a whole block has, so each block counts once, by the mean of {tools.article} in it; "
        f"{taken}. {count(freedom, 'degree')} of freedom. All of it holds together with "
        f"{100 * found.confidence:.4g} %, for the best and for the pairs each.",
        *(_HIDDEN[each] for each in tools.hidden),
    )


def effects_said(effects: ToolEffects, reference: str) -> list[tuple[Sign, str]]:
    """Whether what the articles do differs between the tools, where most, and which tools this leaves out."""
    said = list(_effects_said(effects, reference))
    if effects.left_out:
        named = join_words([f"{name} ({_MISSING[why]})" for name, why in effects.left_out])
        said.append((SIGNS["cannot tell"], f"Not compared: {named}."))
    return said


def no_effects_said(left_out: Sequence[tuple[str, Missing]]) -> tuple[Sign, str]:
    """That nothing can be said of whether the articles do the same with each tool, and why."""
    named = join_words([f"{name} ({_MISSING[why]})" for name, why in left_out])
    said = f"It is not clear whether what the articles do holds with each tool: {named}."
    return SIGNS["cannot tell"], said


def _effects_said(effects: ToolEffects, reference: str) -> list[tuple[Sign, str]]:
    tools = join_words(effects.tools)
    sign, margin = _ROLES[effects.verdict], given(effects.margin_percent)
    if effects.verdict == "same":
        return [(sign, f"What the articles do over {reference} is the same with {tools} within {margin} %.")]
    if effects.verdict == "cannot tell":
        low = min(each.low_percent for each in effects.found)
        high = max(each.high_percent for each in effects.found)
        reach = f"{write_percent(low).removesuffix(' %')} to {write_percent(high)}"
        what = f"what the articles do over {reference} differs between {tools}"
        return [(sign, f"Cannot tell whether {what}: the intervals reach from {reach}.")]
    differing = sorted(
        (each for each in effects.found if each.verdict in ("higher", "lower")),
        key=lambda each: -abs(each.percent),
    )
    said = [
        (SIGNS[each.verdict], f"{each.article} over {reference} is {apart_words(each)}.")
        for each in differing[:_MOST_SAID]
    ]
    several = len({(each.tool, each.other) for each in effects.found}) > 1
    many = f"{len(differing)} of {len(effects.found)} {'comparisons' if several else 'articles'}"
    return [(said[0][0], f"What the articles do differs between {tools}: {many}."), *said]


def apart_words(each: Apart) -> str:
    """`12.0 % lower (9.1 to 15.0 %) with cordless than with air`, whichever way it goes."""
    low, high, size = each.low_percent, each.high_percent, each.percent
    way = "higher"
    if size < 0:
        low, high, size, way = -high, -low, -size, "lower"
    return f"{size:.1f} % {way} ({low:.1f} to {high:.1f} %) with {each.tool} than with {each.other}"


def effects_table(effects: ToolEffects, reference: str) -> AnswerTable:
    """Each article with each two tools."""
    return AnswerTable(
        f"How the ratio to {reference} differs between tools",
        ("Article", "With", "against", "Verdict", "Difference", "p"),
        tuple(
            (
                SIGNS[each.verdict],
                (
                    (each.article,),
                    (each.tool,),
                    (each.other,),
                    (each.verdict,),
                    (
                        write_percent(each.percent),
                        f"{write_percent(each.low_percent).removesuffix(' %')} to "
                        f"{write_percent(each.high_percent)}",
                    ),
                    ("< 0.001" if each.p < 0.001 else f"{each.p:.3f}",),
                ),
            )
            for each in effects.found
        ),
        verdict=3,
    )


def effects_notes(effects: ToolEffects) -> tuple[str, ...]:
    """What the intervals hold, and the test of all at once."""
    p = "p < 0.001" if effects.p_f < 0.001 else f"p = {effects.p_f:.3f}"
    one, other = effects.freedoms
    many = len(effects.found)
    held = "The interval holds" if many == 1 else f"The intervals of all {many} differences hold together"
    return (
        f"{held} with "
        f"{100 * effects.confidence:.4g} %; the verdict goes by them. All at once: F = "
        f"{write_number(effects.f, 3)} with {one} and {other} degrees of freedom, {p}.",
    )
