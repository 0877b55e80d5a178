"""What a score changes by from run to run, in words."""

from __future__ import annotations

from collections.abc import Sequence

from strikeproof.judge.questions.ageing import WANTED_PERCENT, Ageing
from strikeproof.language import say, say_many, write_figures
from strikeproof.publish.texts import given
from strikeproof.publish.verdicts import SIGNS, Sign
from strikeproof.quantity import write_percent

__all__ = ["ageing_notes", "ageing_said"]


def ageing_said(found: Sequence[Ageing], article: str) -> tuple[tuple[Sign, str], ...]:
    """How the score of one article changes from run to run, a sentence or two a tool."""
    return tuple((SIGNS[each.verdict], _said(each, article)) for each in found)


def ageing_notes(found: Sequence[Ageing], article: str) -> tuple[str, ...]:
    """What the units are, and what runs of one article cannot tell apart."""
    return (
        say(
            "Each block counts once. The interval holds with {confidence} % for each tool.",
            confidence=write_figures(f"{100 * found[0].confidence:.4g}"),
        ),
        say(
            "The tool, {article} itself, bolts and grease, the rig and its calibration may each have "
            "changed: runs of {article} alone cannot tell these apart. What changes with one tool only "
            "is not the rig's.",
            article=article,
        ),
    )


def _said(found: Ageing, article: str) -> str:
    where = say("With {tool}", tool=found.tool)
    if found.percent is None or found.low_percent is None or found.high_percent is None:
        return say(
            "{where}: cannot tell whether {article} changes with the runs: {blocks} with it, and three "
            "that scatter are needed.",
            where=where,
            article=article,
            blocks=say_many("{count} block", "{count} blocks", found.blocks),
        )
    seen = say(
        "{percent} a run ({low} to {high})",
        percent=write_percent(found.percent, decimals=3),
        low=_bare(found.low_percent),
        high=write_percent(found.high_percent, decimals=3),
    )
    over = say(
        "over {blocks}, runs {first} to {last}",
        blocks=say_many("{count} block", "{count} blocks", found.blocks),
        first=found.first,
        last=found.last,
    )
    if found.verdict == "cannot tell":
        cannot = say(
            "{where}: cannot tell whether {article} changes with the runs", where=where, article=article
        )
        return say(
            "{cannot}. Seen {over}: {seen}. {power}", cannot=cannot, over=over, seen=seen, power=_power(found)
        )
    how = say("rises") if found.percent > 0.0 else say("falls")
    return say(
        "{where} the score of {article} {how} with the runs: {seen}, {over}.",
        where=where,
        article=article,
        how=how,
        seen=seen,
        over=over,
    )


def _bare(percent: float) -> str:
    return write_percent(percent, decimals=3).removesuffix(" %")


def _power(found: Ageing) -> str:
    assert found.found_percent is not None
    size = write_percent(found.found_percent, sign=False, decimals=2)
    said = say("These blocks would show {size} a run four times in five", size=size)
    wanted = say("{wanted} % a run", wanted=given(WANTED_PERCENT))
    if found.blocks_wanted is None:
        return say("{said}; not even 500 blocks would show {wanted} so often.", said=said, wanted=wanted)
    return say(
        "{said}; {blocks} spaced like these would show {wanted} so often.",
        said=said,
        blocks=say_many("{count} block", "{count} blocks", found.blocks_wanted),
        wanted=wanted,
    )
