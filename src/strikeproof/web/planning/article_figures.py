"""What an article comes to: whether it withstands its peak, its figures, and its margins, in words."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Final

from strikeproof.desk.articles.draft import ArticleDraft
from strikeproof.desk.articles.facts import ArticleFacts
from strikeproof.desk.articles.life_words import tell_life, tell_near, tell_static
from strikeproof.errors import StrikeproofError, end_sentence
from strikeproof.quantity import write_number, write_percent
from strikeproof.web.units import Units

__all__ = ["Peak", "figures_of", "read_peak", "state_of"]

_VERDICTS: Final = {"holds": "● holds", "finite life": "▲ finite life", "stop": "■ STOP"}
_MOST_MARGINS: Final = 6
_USUAL_PEAK: Final = 600.0  # N·m, of a half-inch tool's hard blow (estimate); the person names their own


@dataclass(frozen=True, slots=True)
class Peak:
    """The torque of the hardest blow [N·m], the usual one until a person has typed their own.

    `wrong` says why what they typed cannot be used; it is empty otherwise.
    """

    torque: float = _USUAL_PEAK
    own: bool = False
    wrong: str = ""


def read_peak(text: str | None, units: Units) -> Peak:
    """What was typed as the peak torque; None for nothing typed yet."""
    if text is None:
        return Peak()
    try:
        typed = units.read(text, "torque")
    except StrikeproofError as error:
        return Peak(own=True, wrong=end_sentence(f"{error.problem.removeprefix('quantity: ')}; {error.fix}"))
    return Peak(typed, own=True) if typed > 0 else Peak(own=True, wrong="A torque above zero is needed.")


def state_of(draft: ArticleDraft, elsewhere: Sequence[str], peak: Peak, units: Units) -> tuple[str, str]:
    """The one thing to know of it now, and its kind: good, held or stop.

    Parameters
    ----------
    elsewhere
        What is wrong and belongs to no field.
    """
    if count := len(draft.faults):
        more = f" {' '.join(elsewhere)}" if elsewhere else ""
        return f"{count} to fix; the figures are from before the last changes.{more}", "held"
    if draft.facts is None:
        return "Give its parts, its inertia or what was measured, and its figures appear here.", "held"
    return _holds(draft.facts, peak, units)


def _holds(found: ArticleFacts, peak: Peak, units: Units) -> tuple[str, str]:
    """The same of one that can be worked out."""
    if found.stop:
        return found.cautions[0], "stop"
    if peak.wrong:
        return "The peak torque cannot be read: the margins are for the usual one.", "held"
    if not peak.own:
        return (
            f"It can be worked out. Its margins are at a usual {units.write(peak.torque, 'torque', 3)}, not "
            "at what your tools are expected to reach: the plan says that under Bolt and rig. Give your peak "
            "below.",
            "held",
        )
    if near := list(tell_near(found.margins)):
        return near[0], "held"
    if finite := [each for each in found.margins if each.verdict == "finite life"]:
        shortest = min(finite, key=lambda each: each.blows_90 or 0.0)
        return (
            "It withstands this peak in every joint, with a finite life: "
            f"{tell_life(shortest)}. Look for cracks before every run.",
            "held",
        )
    return "It can be worked out, and withstands this peak in every joint.", "good"


def figures_of(found: ArticleFacts, peak: Peak, units: Units, currency: str) -> dict[str, Any]:
    """The figures as the template shows them."""
    made = found.properties
    pairs = [
        ("Mass", units.write(made.mass or None, "mass", 4)),
        ("Polar inertia", f"{write_number(made.polar_inertia * 1e6, 4)} kg·mm²"),
        ("Stiffness", f"{write_number(made.stiffness / 1e3, 3)} kN·m/rad"),
    ]
    if made.length and made.outer_diameter:
        long, across = (units.write(each, "length", 4) for each in (made.length, made.outer_diameter))
        pairs.append(("Size", f"{long} long, {across} across"))
    if made.price is not None:
        pairs.append(("Price", f"{made.price:.2f} {currency}"))
    pairs += [(f"{each.name} alone", f"{write_number(each.frequency, 3)} Hz") for each in made.riders]
    return {
        "pairs": pairs,
        "margins": [
            (
                f"{each.part}, {each.mode}",
                tell_static(each.static, each.static_uncertainty),
                f"{write_number(each.fatigue, 3)} times" if each.fatigue is not None else "–",
                tell_life(each),
                _VERDICTS[each.verdict],
            )
            for each in found.margins[:_MOST_MARGINS]
        ],
        "peak": units.write(peak.torque, "torque", 3),
        "differences": [
            f"Measured {each.quantity}: {write_percent(each.percent)} from computed."
            for each in made.differences
        ],
        "notes": [f"{text[:1].upper()}{text[1:]}." for text in made.notes],
        "parts": [
            (
                each.name,
                units.write(each.mass, "mass", 3),
                f"{write_number(each.polar_inertia * 1e6, 3)} kg·mm²",
                each.material,
            )
            for each in made.parts
        ],
        "cautions": found.cautions,
    }
