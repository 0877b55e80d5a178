"""Which tool, and whether what the articles do holds with each tool, in words."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Final

from strikeproof.judge.questions.tools import Apart, Hidden, Missing, ToolEffects, Tools
from strikeproof.language import retold, say, write_figures
from strikeproof.publish.answers.best import best_sentence, best_sign, excluded_sentence
from strikeproof.publish.answers.differences import difference_sentence, difference_sign
from strikeproof.publish.answers.table import AnswerTable
from strikeproof.publish.texts import given, join_words
from strikeproof.publish.verdicts import SIGNS, Sign
from strikeproof.quantity import write_freedom, write_number, write_percent

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
    "order": say(
        "All blocks of one tool were made before those of another: what drifted or changed in between "
        "looks like a difference between the tools. Let the tools take turns, block by block."
    ),
    "bolts": say(
        "Each tool has bolts of its own: what bolts differ by counts as a difference between the tools."
    ),
}
_MISSING: Final[Mapping[Missing, str]] = {
    "no reference": say("the reference did not run with it"),
    "few blocks": say("two of its blocks with the reference and another article are needed"),
    "no other": say("no other article ran often enough both with it and with another tool"),
    "apart": say("its blocks cannot separate the articles"),
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
        say("the blocks came in rounds, one of each tool, and are compared round by round")
        if tools.paired
        else say("the blocks did not come in rounds of one of each tool, so they are compared as they are")
    )
    freedom = found.degrees_of_freedom
    return (
        say(
            "A tool is what a whole block has, so each block counts once, by the mean of {article} in "
            "it; {taken}. {freedom}. All of it holds together with {confidence} %, for the "
            "best and for the pairs each.",
            article=tools.article,
            taken=taken,
            freedom=write_freedom(freedom),
            confidence=write_figures(f"{100 * found.confidence:.4g}"),
        ),
        *(_HIDDEN[each] for each in tools.hidden),
    )


def effects_said(effects: ToolEffects, reference: str) -> list[tuple[Sign, str]]:
    """Whether what the articles do differs between the tools, where most, and which tools this leaves out."""
    said = list(_effects_said(effects, reference))
    if effects.left_out:
        named = join_words([f"{name} ({retold(_MISSING[why])})" for name, why in effects.left_out])
        said.append((SIGNS["cannot tell"], say("Not compared: {named}.", named=named)))
    return said


def no_effects_said(left_out: Sequence[tuple[str, Missing]]) -> tuple[Sign, str]:
    """That nothing can be said of whether the articles do the same with each tool, and why."""
    named = join_words([f"{name} ({retold(_MISSING[why])})" for name, why in left_out])
    said = say("It is not clear whether what the articles do holds with each tool: {named}.", named=named)
    return SIGNS["cannot tell"], said


def _effects_said(effects: ToolEffects, reference: str) -> list[tuple[Sign, str]]:
    tools = join_words(effects.tools)
    sign, margin = _ROLES[effects.verdict], given(effects.margin_percent)
    if effects.verdict == "same":
        return [
            (
                sign,
                say(
                    "What the articles do over {reference} is the same with {tools} within {margin} %.",
                    reference=reference,
                    tools=tools,
                    margin=margin,
                ),
            )
        ]
    if effects.verdict == "cannot tell":
        low = min(each.low_percent for each in effects.found)
        high = max(each.high_percent for each in effects.found)
        reach = say(
            "{low} to {high}",
            low=write_percent(low).removesuffix(" %"),
            high=write_percent(high),
        )
        what = say(
            "what the articles do over {reference} differs between {tools}", reference=reference, tools=tools
        )
        return [
            (
                sign,
                say("Cannot tell whether {what}: the intervals reach from {reach}.", what=what, reach=reach),
            )
        ]
    differing = sorted(
        (each for each in effects.found if each.verdict in ("higher", "lower")),
        key=lambda each: -abs(each.percent),
    )
    said = [
        (
            SIGNS[each.verdict],
            say(
                "{article} over {reference} is {difference}.",
                article=each.article,
                reference=reference,
                difference=apart_words(each),
            ),
        )
        for each in differing[:_MOST_SAID]
    ]
    several = len({(each.tool, each.other) for each in effects.found}) > 1
    facts = {"differing": len(differing), "found": len(effects.found)}
    many = (
        say("{differing} of {found} comparisons", **facts)
        if several
        else say("{differing} of {found} articles", **facts)
    )
    return [
        (said[0][0], say("What the articles do differs between {tools}: {many}.", tools=tools, many=many)),
        *said,
    ]


def apart_words(each: Apart) -> str:
    """`12.0 % lower (9.1 to 15.0 %) with cordless than with air`, whichever way it goes."""
    low, high, size = each.low_percent, each.high_percent, each.percent
    way = say("higher")
    if size < 0:
        low, high, size, way = -high, -low, -size, say("lower")
    return say(
        "{size} % {way} ({low} to {high} %) with {tool} than with {other}",
        size=write_figures(f"{size:.1f}"),
        way=way,
        low=write_figures(f"{low:.1f}"),
        high=write_figures(f"{high:.1f}"),
        tool=each.tool,
        other=each.other,
    )


def effects_table(effects: ToolEffects, reference: str) -> AnswerTable:
    """Each article with each two tools."""
    return AnswerTable(
        say("How the ratio to {reference} differs between tools", reference=reference),
        (say("Article"), say("With"), say("against"), say("Verdict"), say("Difference"), "p"),
        tuple(
            (
                SIGNS[each.verdict],
                (
                    (each.article,),
                    (each.tool,),
                    (each.other,),
                    (SIGNS[each.verdict].word,),
                    (
                        write_percent(each.percent),
                        say(
                            "{low} to {high}",
                            low=write_percent(each.low_percent).removesuffix(" %"),
                            high=write_percent(each.high_percent),
                        ),
                    ),
                    (write_figures("< 0.001") if each.p < 0.001 else write_figures(f"{each.p:.3f}"),),
                ),
            )
            for each in effects.found
        ),
        verdict=3,
    )


def effects_notes(effects: ToolEffects) -> tuple[str, ...]:
    """What the intervals hold, and the test of all at once."""
    p = write_figures("p < 0.001") if effects.p_f < 0.001 else f"p = {write_figures(f'{effects.p_f:.3f}')}"
    one, other = effects.freedoms
    many = len(effects.found)
    held = (
        say("The interval holds")
        if many == 1
        else say("The intervals of all {many} differences hold together", many=many)
    )
    return (
        say(
            "{held} with {confidence} %; the verdict goes by them. All at once: F = {f} with {one} and "
            "{other} degrees of freedom, {p}.",
            held=held,
            confidence=write_figures(f"{100 * effects.confidence:.4g}"),
            f=write_number(effects.f, 3),
            one=one,
            other=other,
            p=p,
        ),
    )
