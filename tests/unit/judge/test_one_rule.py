"""A verdict and the warnings beside it come from one rule: none is decided that a warning calls not shown."""

import numpy as np
import pytest
from tests.unit.judge.campaigns import runs_of
from tests.validity import Truth, simulate_campaign

from strikeproof.judge.comparison import compare_runs
from strikeproof.judge.looks import Looks
from strikeproof.judge.verdict import Margin, give_verdict

DECIDED = {"higher", "lower", "sooner", "later"}
BORDERLINE = [
    Truth(gains=(0.0, 2.5, 4.0), blocks=(3, 5)),
    Truth(gains=(3.0, -3.0), blocks=(4, 6), missing=0.4),
]


def compared(runs, **settings):
    given = {"reference": "plain", "margin_percent": 1.0, "rng": np.random.default_rng(1), "draws": 198}
    return compare_runs(runs, **(given | settings))


@pytest.fixture(scope="module")
def borderline():
    """Campaigns whose differences are near what can be shown, so that the two tests disagree now and then."""
    rng = np.random.default_rng(11)
    return [compared(simulate_campaign(truth, rng)) for truth in BORDERLINE for _ in range(12)]


def disagreements(result):
    return [text for text in result.warnings if text.startswith("two tests of")]


def test_no_decided_verdict_stands_beside_a_warning_that_gives_none(borderline):
    for result in borderline:
        for row in result.results:
            doubted = any(f"{row.article} with {row.tool}:" in text for text in disagreements(result))
            assert not (doubted and row.verdict in DECIDED | {"same"})


def test_a_difference_is_decided_exactly_where_interval_and_second_opinion_show_it(borderline):
    margin = Margin(-1.0, 1.0)
    rows = [row for result in borderline for row in result.results if row.p_randomisation is not None]
    for row in rows:
        alone = give_verdict(row.low_percent, row.high_percent, margin)
        if row.runs > 1:
            assert row.unconfirmed == (alone in DECIDED and row.p_randomisation >= 0.05)
            assert row.verdict == ("cannot tell" if row.unconfirmed else alone)
    assert any(row.unconfirmed for row in rows) and any(row.verdict in DECIDED for row in rows)


def test_an_unconfirmed_difference_is_named_once_with_both_p(borderline):
    for result in borderline:
        unconfirmed = [row for row in result.results if row.unconfirmed]
        said = [text for text in disagreements(result) if "the randomisation test does not" in text]
        assert len(said) == len(unconfirmed)
        assert all("so no verdict is given" in text for text in said)


def test_an_unconfirmed_difference_asks_for_more_runs(borderline):
    rows = [row for result in borderline for row in result.results if row.unconfirmed]
    assert all(row.more_runs >= 1 for row in rows)


def test_an_exclusion_that_decides_is_said_of_decided_verdicts_only(borderline):
    for result in borderline:
        named = [text for text in result.warnings if text.startswith("the verdict on")]
        for row in result.results:
            said = any(text.startswith(f"the verdict on {row.article} with {row.tool} ") for text in named)
            assert not said or row.verdict in DECIDED | {"same"}


def test_a_look_too_strict_for_the_shuffles_has_no_second_opinion_and_says_so():
    text = "\n".join(
        ["ref=100 a=130 b=101 ref=101", "a=131 ref=99 ref=100 b=99", "b=100 ref=101 a=129 ref=98"]
    )
    result = compared(runs_of(text), reference="ref", draws=4999, looks=Looks(5, 3, 15))
    row = next(row for row in result.results if row.article == "a")
    assert (row.p_randomisation, row.unconfirmed) == (None, False)
    assert any("shuffles are too few for the level of this look" in text for text in result.warnings)


@pytest.mark.parametrize("timed", [False, True])
@pytest.mark.parametrize(("low", "high"), [(0.5, 8.0), (-8.0, -0.5), (-8.0, 8.0)])
def test_what_is_not_confirmed_is_never_decided(low, high, timed):
    assert give_verdict(low, high, Margin(-1.0, 1.0), timed=timed, confirmed=False) == "cannot tell"


def test_same_needs_no_second_opinion():
    assert give_verdict(0.1, 0.9, Margin(-1.0, 1.0), confirmed=False) == "same"
