"""The answer in plain words."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from strikeproof.explain.records import RivalName, Verdict
from strikeproof.explain.results import NextTest, RivalRow

__all__ = ["SAYS", "say_because", "say_empty"]

SAYS: Mapping[RivalName, str] = {
    "nothing": "nothing about the article matters",
    "mass": "the heavier article gains in proportion to its mass",
    "stiffness": "the article's stiffness does it, inertia held at the reference's",
    "inertia": "the article's inertia does it, stiffness and gaps held at the reference's",
    "chain": "inertia, stiffness and gaps together, every part holding rigidly",
    "chain-bonds": "the whole chain, with rings and fills free to ring and slip on their bonds",
    "curve": "inertia does it along a smooth curve, without the physics of a blow",
}
_SUBJECT: Mapping[RivalName, str] = {
    "nothing": "Nothing about the articles matters as far as these runs can tell",
    "mass": "Mass explains it",
    "stiffness": "Stiffness explains it",
    "inertia": "Inertia explains it",
    "chain": "Inertia, stiffness and gaps together explain it",
    "chain-bonds": "The whole chain explains it, and how rings and fills hold matters",
    "curve": "It follows inertia, but not along the curve that the physics of a blow allows",
}
_SHORT: Mapping[RivalName, str] = {
    "nothing": "the guess that nothing matters",
    "mass": "mass alone",
    "stiffness": "stiffness alone",
    "inertia": "inertia alone",
    "chain": "the rigid chain",
    "chain-bonds": "the chain with bonds that give",
    "curve": "a plain curve in inertia",
}


def say_because(
    verdict: Verdict,
    rivals: Sequence[RivalRow],
    missing: Sequence[str],
    surprises: Sequence[str],
    unlearned: Sequence[str],
    following: Sequence[NextTest],
) -> tuple[str, ...]:
    """Sentences, the answer first, then why, then what is not known and what would settle it."""
    ranked = sorted(rivals, key=lambda each: -each.probability)
    lines = [*_answer(verdict, ranked)]
    lines += [f"It is held back: {each}." for each in missing]
    lines += list(surprises)
    if unlearned:
        lines.append(
            f"These runs say nothing of {_list(unlearned)}: they stayed at what was believed before."
        )
    if following:
        best = following[0]
        lines.append(f"Most would be learned next from {best.setup}: {best.bits:.1f} bit expected.")
    return tuple(lines)


def _answer(verdict: Verdict, ranked: Sequence[RivalRow]) -> list[str]:
    if verdict == "cannot tell":
        close = [each for each in ranked if each.probability > 0.05] or list(ranked[:1])
        told = _list([f"{_SHORT[each.name]} (left-out error {each.error_percent:.1f} %)" for each in close])
        if len(close) == 1:
            return [f"Cannot tell: {told} does best, which is not enough to name it."]
        return [f"Cannot tell: {told} explain these runs about equally well."]
    winner = next(each for each in ranked if each.name == verdict)
    lines = [
        f"{_SUBJECT[verdict]}: articles left out of the fit are foretold within "
        f"{winner.error_percent:.1f} % on average."
    ]
    others = [each for each in ranked if each.name != verdict]
    worse = [each for each in others if each.error_percent > 1.5 * winner.error_percent]
    if worse:
        misses = _list([f"{_SHORT[each.name]} by {each.error_percent:.1f} %" for each in worse])
        lines.append(f"Its rivals miss by more: {misses}.")
    like = [each for each in others if each not in worse]
    if like:
        lines.append(
            f"{_list([_SHORT[each.name] for each in like]).capitalize()} would foretell about as well, "
            f"but the runs make {'it' if len(like) == 1 else 'them'} less likely "
            f"({_list([_percent(each.probability) for each in like])} "
            f"against {_percent(winner.probability)})."
        )
    return lines


def _percent(share: float) -> str:
    return "under 1 %" if share < 0.01 else "over 99 %" if share > 0.99 else f"{100.0 * share:.0f} %"


def say_empty(missing: Sequence[str]) -> tuple[str, ...]:
    """What can be said when nothing can be fitted."""
    return ("Cannot tell: no rival can be set against another yet.", *(f"{each}." for each in missing))


def _list(words: Sequence[str]) -> str:
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} and {words[-1]}" if words else ""
