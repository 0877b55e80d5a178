"""Rows and sentences of the page's section on why."""

from __future__ import annotations

from strikeproof.explain import EXPLANATIONS
from strikeproof.publish.drawing import Chart
from strikeproof.publish.explain.blows import blow_charts
from strikeproof.publish.explain.inertia import inertia_charts
from strikeproof.publish.explain.left_out import left_out_charts
from strikeproof.publish.explain.splits import split_charts
from strikeproof.publish.explain.weights import weight_charts
from strikeproof.publish.explain.why import Why
from strikeproof.publish.explain.words import say_share, tell_caveats, tell_parameter, tell_sentences
from strikeproof.publish.texts import count

__all__ = ["why_charts", "why_section"]

Row = dict[str, object]

_TESTS_SHOWN = 5


def why_charts(why: Why | None) -> tuple[Chart, ...]:
    """All charts of an explanation."""
    if why is None:
        return ()
    kinds = (weight_charts, left_out_charts, inertia_charts, split_charts, blow_charts)
    return tuple(chart for kind in kinds for chart in kind(why))


def why_section(why: Why | None) -> Row | None:
    """What the template shows, None without an explanation."""
    if why is None:
        return None
    explanation = why.explanation
    return {
        "sentences": tell_sentences(explanation),
        "rivals": [
            {
                "name": EXPLANATIONS[each.name].label,
                "says": each.says,
                "weight": say_share(each.weight),
                "probability": say_share(each.probability),
                "error": f"{each.error_percent:.1f} %",
                "named": each.name == explanation.verdict,
            }
            for each in explanation.rivals
        ],
        "parameters": [tell_parameter(each) for each in explanation.parameters],
        "tests": [
            {
                "setup": f"{each.setup}.",
                "bits": f"{each.bits:.1f}",
                "rivals": f"{each.bits_rivals:.1f}",
                "unknowns": f"{each.bits_parameters:.1f}",
            }
            for each in explanation.next[:_TESTS_SHOWN]
        ],
        "caveats": tell_caveats(explanation),
        "trust": _trust(why),
    }


def _trust(why: Why) -> list[str]:
    """How far the answer can be trusted, in sentences."""
    found = why.explanation.diagnostics
    told = []
    if found.convergence:
        likely = {each.name: each.probability for each in why.explanation.rivals}
        first = max(found.convergence, key=lambda each: likely.get(each.rival, 0.0))
        told.append(
            f"The chains of the likeliest rival with physics, {EXPLANATIONS[first.rival].label}, met: R-hat "
            f"{first.r_hat:.2f}, {first.bulk_size:.0f} effective draws."
        )
    if found.engine_error_percent is not None:
        told.append(
            f"{count(found.simulations, 'simulated run')} stand behind the fits; what stands in for the "
            f"simulator between them is off by {found.engine_error_percent:.1f} % of the score."
        )
    if found.quick:
        told.append("This was a quick answer: a thorough one is surer of itself.")
    return told
