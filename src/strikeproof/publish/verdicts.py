"""Verdicts and the state of the rig in plain sentences, each verdict with a shape of its own."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Final, Literal

from strikeproof.judge.control import say_unjudged
from strikeproof.judge.records import ArticleResult, Comparison, ControlSignal, RigControl, Verdict
from strikeproof.judge.verdict import VERDICT_WORDS
from strikeproof.language import retold, say, say_many, write_figures
from strikeproof.publish.texts import given, join_words
from strikeproof.quantity import write_number, write_percent

__all__ = [
    "COUNTED",
    "NO_SCATTER",
    "SIGNS",
    "TOO_FEW",
    "Sign",
    "alarms",
    "gain_at",
    "gain_words",
    "late_words",
    "range_words",
    "rig_sentences",
    "sign_of",
    "verdict_sentence",
]


@dataclass(frozen=True, slots=True)
class Sign:
    """How a verdict looks without colour, and its words; files and JSON hold its code, the key of `SIGNS`.

    Parameters
    ----------
    word
        The verdict as a person reads it.
    role
        Of its colour: "higher" is what a person hopes for, "lower" the opposite.
    marker, path, hollow
        Its shape on a chart, and in a square from −5 to 5 on the page; whether that is empty.
    """

    word: str
    role: Literal["higher", "lower", "same", "unknown"]
    marker: str
    hollow: bool
    path: str


_UP, _DOWN = "M0-5 5 4H-5Z", "M0 5 5-4H-5Z"
SIGNS: Final[Mapping[Verdict, Sign]] = {
    "higher": Sign(VERDICT_WORDS["higher"], "higher", "^", False, _UP),
    "sooner": Sign(VERDICT_WORDS["sooner"], "higher", "^", False, _UP),
    "lower": Sign(VERDICT_WORDS["lower"], "lower", "v", False, _DOWN),
    "later": Sign(VERDICT_WORDS["later"], "lower", "v", False, _DOWN),
    "same": Sign(VERDICT_WORDS["same"], "same", "s", False, "M-4-4H4V4H-4Z"),
    "cannot tell": Sign(VERDICT_WORDS["cannot tell"], "unknown", "D", True, "M0-4.5 4.5 0 0 4.5-4.5 0Z"),
    "reference": Sign(VERDICT_WORDS["reference"], "same", "|", False, "M-1-5H1V5H-1Z"),
}
"""Every verdict by its code, the clearest first; judge/verdict.py gives them."""

COUNTED: Final[Mapping[Verdict, Callable[..., str]]] = {
    "higher": lambda many, **known: say_many(
        "{count} higher than {reference}", "{count} higher than {reference}", many, **known
    ),
    "sooner": lambda many, **known: say_many(
        "{count} sooner than {reference}", "{count} sooner than {reference}", many, **known
    ),
    "lower": lambda many, **known: say_many(
        "{count} lower than {reference}", "{count} lower than {reference}", many, **known
    ),
    "later": lambda many, **known: say_many(
        "{count} later than {reference}", "{count} later than {reference}", many, **known
    ),
    "same": lambda many, **known: say_many(
        "{count} the same within {margin} %", "{count} the same within {margin} %", many, **known
    ),
    "cannot tell": lambda many, **known: say_many(
        "{count} not settled yet", "{count} not settled yet", many, **known
    ),
}
"""A number of articles with a verdict, in words; `reference` and `margin` are filled in."""


def sign_of(result: ArticleResult) -> Sign:
    """The sign of a result's verdict."""
    return SIGNS[result.verdict]


def gain_words(result: ArticleResult) -> str:
    """`+12.3 % (+8.1 to +16.7 %)`, or a dash."""
    if result.verdict == "reference":
        return "–"
    if result.gain_percent is None:
        return "–" if result.low_percent is result.high_percent else range_words(result)
    return f"{write_percent(result.gain_percent)} ({range_words(result)})"


TOO_FEW: Final = say("no interval: too few runs")
NO_SCATTER: Final = say("no interval: the runs repeat to the last digit")


def range_words(result: ArticleResult) -> str:
    """`+8.1 to +16.7 %`, the one end there is, or why there is no interval."""
    low, high = result.low_percent, result.high_percent
    if (low is None and high is None) or (result.gain_percent is not None and None in (low, high)):
        return NO_SCATTER if result.repeats else TOO_FEW
    if low is None:
        return say("at most {high}", high=write_percent(high))
    if high is None:
        return say("at least {low}", low=write_percent(low))
    return say("{low} to {high}", low=_bare(low), high=write_percent(high))


def gain_at(result: ArticleResult) -> float | None:
    """Where a result is drawn: at its gain, or at the one end of its interval that is known. [%]"""
    known = (result.gain_percent, result.low_percent, result.high_percent)
    return next((each for each in known if each is not None), None)


def late_words(result: ArticleResult, what: str = say("not reached")) -> str:
    """`2 of 3 not reached in 10 s`; empty where every run reached the level, or the score is no time."""
    if not result.not_reached or result.watched_s is None:
        return ""
    return say(
        "{not_reached} of {runs} {what} in {watched_s} s",
        not_reached=result.not_reached,
        runs=result.runs,
        what=what,
        watched_s=write_figures(f"{result.watched_s:.3g}"),
    )


def _bare(percent: float) -> str:
    return write_percent(percent).removesuffix(" %")


def verdict_sentence(result: ArticleResult, comparison: Comparison) -> str:
    """What a result says, for someone who does not read tables."""
    said = _verdict_sentence(result, comparison)
    late = late_words(result, say("runs did not reach the level"))
    return f"{said} {late}." if late else said


def _verdict_sentence(result: ArticleResult, comparison: Comparison) -> str:
    name, other, sign = result.article, comparison.reference, sign_of(result)
    if sign.role in ("higher", "lower"):
        if result.gain_percent is None:
            least = abs((result.low_percent if result.high_percent is None else result.high_percent) or 0.0)
            return say(
                "{name} gets there {word} than {other} by at least {least} % with {tool}.",
                name=name,
                word=sign.word,
                other=other,
                least=write_figures(f"{least:.1f}"),
                tool=result.tool,
            )
        size, low, high = _sizes(result)
        facts = {"name": name, "word": sign.word, "other": other, "tool": result.tool}
        facts |= {"size": size, "low": low, "high": high}
        if _is_time(result):
            return say(
                "{name} gets there {word} than {other} by {size} % ({low} to {high} %) with {tool}.", **facts
            )
        return say("{name} is {word} than {other} by {size} % ({low} to {high} %) with {tool}.", **facts)
    if result.verdict == "same":
        return say(
            "{name} does the same as {other} within the margin of {margin_percent} % with {tool}: {gain}.",
            name=name,
            other=other,
            margin_percent=given(comparison.margin_percent),
            tool=result.tool,
            gain=gain_words(result),
        )
    if result.gain_percent is None and result.low_percent is result.high_percent:
        return say(
            "{name} with {tool}: the runs give no comparison with {other}.",
            name=name,
            tool=result.tool,
            other=other,
        )
    why = (
        say(
            "The interval is clear of 0, but the second opinion does not confirm it (p = "
            "{p_randomisation}). ",
            p_randomisation=write_number(result.p_randomisation, 2),
        )
        if result.unconfirmed
        else ""
    )
    return say(
        "{name} with {tool}: cannot tell yet whether it differs from {other}. Seen so far: {gain}. "
        "{why}{more}",
        name=name,
        tool=result.tool,
        other=other,
        gain=gain_words(result),
        why=why,
        more=_more(result),
    )


def _is_time(result: ArticleResult) -> bool:
    return result.verdict in ("sooner", "later")


def _sizes(result: ArticleResult) -> tuple[str, str, str]:
    """Size of a difference and its ends as positive numbers, the smaller end first."""
    ends = [result.low_percent or 0.0, result.high_percent or 0.0]
    down = sign_of(result).role == "lower"
    low, high = (-ends[1], -ends[0]) if down else (ends[0], ends[1])
    size = abs(result.gain_percent or 0.0)
    figures = (f"{size:.1f}", f"{low:.1f}".replace("-", "−"), f"{high:.1f}")
    return (write_figures(figures[0]), write_figures(figures[1]), write_figures(figures[2]))


def _more(result: ArticleResult) -> str:
    if result.more_runs is None:
        return say("The runs so far cannot say how many more are needed for a verdict.")
    many = say("At least") if result.more_runs >= 1000 else say("About")
    return say(
        "{many} {runs} of it, and as many of the reference, would reach a verdict four times in five, if "
        "the difference is what it now seems.",
        many=many,
        runs=say_many("{count} more run", "{count} more runs", result.more_runs),
    )


def rig_sentences(rig: RigControl) -> tuple[str, ...]:
    """What the reference runs say about the rig: its control, then its drift."""
    return (_control_sentence(rig), _drift_sentence(rig))


def alarms(comparison: Comparison) -> tuple[str, ...]:
    """What must be said before any result: each tool with which the rig was out of control."""
    return tuple(_control_sentence(rig) for rig in comparison.controls if rig.state == "not in control")


def _control_sentence(rig: RigControl) -> str:
    whose = say("with {tool}", tool=rig.tool) if rig.tool else say("over all tools")
    counted = sum(not point.set_aside for point in rig.points)
    if rig.state == "cannot be judged":
        return say(
            "It cannot be judged whether the rig was in control {whose}: {why}.",
            whose=whose,
            why=say_unjudged(rig),
        )
    if rig.state == "in control":
        return say(
            "The rig was in control {whose}: {runs} stayed inside the limits.",
            whose=whose,
            runs=say_many("{count} reference run", "{count} reference runs", counted),
        )
    return say("The rig was not in control {whose}: {broken}.", whose=whose, broken=_broken(rig))


def _broken(rig: RigControl) -> str:
    return join_words([_signal(signal) for signal in rig.signals]) or say("no rule named")


def _signal(signal: ControlSignal) -> str:
    """The words of a signal; of many runs it names three and counts the rest."""
    named = list(signal.runs)
    if len(named) > 4:
        named = [*named[:3], say("{named} more", named=len(named) - 3)]
    return retold(signal.text).replace(", ".join(signal.runs), join_words(named)).rstrip(".")


def _drift_sentence(rig: RigControl) -> str:
    drift, spread = rig.drift_percent_per_run, rig.drift_uncertainty
    if drift is None:
        return say("Too few reference runs to see a drift.")
    if spread is None:
        return say("Drift {drift} a run, its uncertainty unknown.", drift=write_percent(drift, decimals=3))
    size = say(
        "{drift} a run (standard uncertainty {spread} %)",
        drift=write_percent(drift, decimals=3),
        spread=write_number(spread, 2),
    )
    if abs(drift) <= 2 * spread:
        return say("No drift that stands out from the scatter: {size}.", size=size)
    return say(
        "The readings drifted by {size}; blocks have levels of their own, so the gains are hardly affected.",
        size=size,
    )
