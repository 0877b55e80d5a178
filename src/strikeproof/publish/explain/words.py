"""An explanation in words for people: names without underscores, numbers in units of their size."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from strikeproof.explain import UNLEARNED, Explanation, ParameterRow
from strikeproof.language import retold, say
from strikeproof.publish.texts import sentence
from strikeproof.quantity import write_number

__all__ = ["Told", "say_share", "speak", "tell_caveats", "tell_parameter", "tell_sentences", "word_for"]

Told = Mapping[str, str]

# How a unit is shown, and what its numbers are multiplied by.
_SHOWN = {
    "kg·m²": ("kg·mm²", 1e6),
    "N·m/rad": ("kN·m/rad", 1e-3),
    "N/m": ("kN/mm", 1e-6),
    "times declared": (say("times as declared"), 1.0),
}

_UNKNOWNS = {
    "hammer_inertia": say("hammer inertia"),
    "blow_speed": say("blow speed"),
    "anvil_stiffness": say("anvil stiffness"),
    "anvil_inertia": say("anvil inertia"),
    "jaw_damping": say("jaw damping"),
    "hexagon_stiffness": say("hexagon stiffness"),
    "gap": say("gap"),
    "fit_damping": say("fit damping"),
    "friction": say("friction"),
    "clamp_stiffness": say("clamp stiffness"),
    "bond_stiffness": say("bond stiffness"),
    "bond_slip": say("slip torque of bonds"),
}


def word_for(label: str) -> str:
    """`hammer_inertia of air_a` as `hammer inertia of air_a`: the tool's own name stays as it is."""
    name, of, tool = label.partition(" of ")
    said = _UNKNOWNS.get(name, name.replace("_", " "))
    return say("{unknown} of {tool}", unknown=said, tool=tool) if of else said


def tell_sentences(explanation: Explanation) -> tuple[str, ...]:
    """The sentences of the answer with every unknown in words."""
    labels = sorted((each.name for each in explanation.parameters), key=len, reverse=True)
    return tuple(speak(_in_words(text, labels), explanation) for text in explanation.because)


def tell_caveats(explanation: Explanation) -> tuple[str, ...]:
    """What is beside the answer."""
    return tuple(speak(each, explanation) for each in explanation.diagnostics.caveats)


def speak(text: str, explanation: Explanation) -> str:
    """A sentence with its full stop and a capital, unless it begins with a name, which stays as it is."""
    names = tuple(each.name for each in explanation.evidence.articles) + explanation.diagnostics.left_aside
    return sentence(text) if not text.startswith(names) else text if text.endswith(".") else f"{text}."


def _in_words(text: str, labels: Sequence[str]) -> str:
    text = retold(text)
    for label in labels:
        text = text.replace(label, retold(word_for(label)))
    return text


def say_share(share: float) -> str:
    """A probability or a weight; neither is ever wholly nothing or all."""
    if share < 0.01:
        return say("under 1 %")
    return say("over 99 %") if share > 0.99 else f"{100.0 * share:.0f} %"


def tell_parameter(row: ParameterRow) -> Told:
    """An unknown with its unit: what is believed now, what was before, how much was learned."""
    unit, factor = _SHOWN.get(row.unit, (row.unit, 1.0))
    now, low, high, first, last = (
        write_number(factor * each, 3)
        for each in (row.median, row.low, row.high, row.prior_low, row.prior_high)
    )
    return {
        "name": word_for(row.name),
        "unit": unit,
        "now": now,
        "range": say("{low} to {high}", low=low, high=high),
        "before": say("{first} to {last}", first=first, last=last),
        "learned": say("nothing") if row.learned < UNLEARNED else f"{100.0 * row.learned:.0f} %",
    }
