"""One rule from the figures of the explanations to the sentence."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from strikeproof.explain.deciding import Decision, decide
from strikeproof.explain.results import RivalRow
from strikeproof.explain.sentences import say_because

INERTIA = RivalRow("inertia", 0.995, 20.0, 0.0, 1.2, 0.97, "")
CHAIN = RivalRow("chain", 0.005, 19.0, 1.0, 1.4, 0.03, "")
MASS = RivalRow("mass", 0.0, 5.0, 4.0, 6.0, 0.0, "")


def decided(*rivals: RivalRow, fit_p: float = 0.5, blocked: bool = False) -> Decision:
    return decide(rivals, fit_p, blocked=blocked)


def said(decision: Decision, *rivals: RivalRow) -> str:
    return say_because(decision, rivals, (), (), (), ())[0]


def test_one_that_all_measures_favour_is_named() -> None:
    found = decided(CHAIN, INERTIA, MASS)
    assert (found.verdict, found.reason) == ("inertia", "named")
    lines = say_because(found, (CHAIN, INERTIA, MASS), (), (), (), ())
    assert lines[0].startswith("Inertia explains it")
    assert "The rigid chain would predict about as well" in lines[2]


def test_measures_that_disagree_name_nothing_and_say_why() -> None:
    """Most probable, yet with a weight under 1 % and a larger left-out error than one with over 99 %."""
    likely = replace(INERTIA, weight=0.004, error_percent=2.3, log_density=18.5, log_density_error=1.0)
    heavy = replace(CHAIN, weight=0.996, error_percent=1.4, log_density=20.0, log_density_error=0.0)
    found = decided(likely, heavy, MASS)
    assert (found.verdict, found.reason) == ("cannot tell", "measures disagree")
    text = said(found, likely, heavy, MASS)
    assert text == (
        "Cannot tell: the two measures disagree. By all runs together inertia alone is the most probable "
        "(97 %), but the rigid chain predicts articles left out of the fit better: within 1.4 % on average "
        "against 2.3 %, with a weight of over 99 % against under 1 %."
    )
    assert "as well" not in " ".join(say_because(found, (likely, heavy, MASS), (), (), (), ()))


@pytest.mark.parametrize(
    ("weight", "error"),
    [(0.6, 2.3), (0.5, 2.3), (0.498, 2.3), (0.004, 1.4), (0.004, 1.44)],
    ids=["more weight", "alike weight", "weight shown alike", "alike", "shown alike"],
)
def test_measures_that_do_not_contradict_each_other_name_it(weight: float, error: float) -> None:
    likely = replace(INERTIA, weight=weight, error_percent=error, log_density=18.5, log_density_error=1.0)
    heavy = replace(CHAIN, weight=1.0 - weight, error_percent=1.4, log_density=20.0, log_density_error=0.0)
    assert decided(likely, heavy).verdict == "inertia"


def test_one_other_that_weighs_more_and_errs_less_is_enough() -> None:
    """The heaviest of all errs more, but another has eleven times the weight and half the error."""
    likely = RivalRow("inertia", 0.04, 20.0, 0.0, 2.0, 0.90, "")
    heaviest = RivalRow("chain", 0.50, 20.0, 0.0, 2.5, 0.06, "")
    other = RivalRow("mass", 0.46, 20.0, 0.0, 1.0, 0.04, "")
    found = decided(likely, heaviest, other)
    assert (found.verdict, found.reason) == ("cannot tell", "measures disagree")
    assert found.foremost is other
    assert "within 1.0 % on average against 2.0 %, with a weight of 46 % against 4 %" in said(
        found, likely, heaviest, other
    )


@pytest.mark.parametrize("weight", [0.004, 0.049, 0.051, 0.058, 0.2, 0.45])
def test_no_share_of_the_weight_makes_up_for_a_better_one(weight: float) -> None:
    """The answer has no cliff: only where the order of weights turns does it turn."""
    likely = RivalRow("inertia", weight, 20.0, 0.0, 3.9, 0.98, "")
    better = RivalRow("chain", 0.85 - weight if weight < 0.4 else 0.5, 20.0, 0.0, 1.5, 0.02, "")
    assert decided(likely, better).reason == "measures disagree"


def test_one_that_predicts_clearly_worse_is_not_named_and_the_better_one_is_said() -> None:
    likely = replace(INERTIA, weight=0.3, log_density=10.0, log_density_error=2.0, error_percent=2.0)
    heavy = replace(CHAIN, weight=0.7, log_density=20.0, log_density_error=0.0)
    found = decided(likely, heavy)
    assert (found.verdict, found.reason) == ("cannot tell", "predicts worse")
    text = said(found, likely, heavy)
    assert text.endswith("left out of the fit better: the logarithm of their density is 10.0 higher.")


def test_what_is_held_back_refuted_or_open_says_so() -> None:
    assert decided(INERTIA, CHAIN, blocked=True).reason == "held back"
    assert decided(INERTIA, CHAIN, fit_p=0.001).reason == "refuted"
    open_one = replace(INERTIA, probability=0.6), replace(CHAIN, probability=0.4)
    found = decided(*open_one)
    assert found.reason == "not decisive"
    assert said(found, *open_one) == (
        "Cannot tell: by all runs together no explanation reaches a probability of 80 %, at which one is "
        "named. Inertia alone (probability 60 %, left-out error 1.2 %, weight over 99 %) and the rigid "
        "chain (probability 40 %, left-out error 1.4 %, weight under 1 %)."
    )


@pytest.mark.parametrize(
    ("how", "end"),
    [
        ({"blocked": True}, "."),
        ({"fit_p": 0.001}, ", but these runs do not look like what it predicts of them."),
    ],
    ids=["held back", "refuted"],
)
def test_the_most_probable_is_not_called_the_best(how: dict[str, Any], end: str) -> None:
    """Another has more weight: the sentence names its criterion and shows the others."""
    likely = replace(CHAIN, probability=0.83, weight=0.34, error_percent=3.0)
    heavy = replace(INERTIA, probability=0.17, weight=0.66, error_percent=3.0)
    assert said(decided(likely, heavy, **how), likely, heavy) == (
        "Cannot tell: by all runs together the most probable is the rigid chain "
        f"(probability 83 %, left-out error 3.0 %, weight 34 %){end}"
    )
