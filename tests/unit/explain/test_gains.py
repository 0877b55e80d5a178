import numpy as np
import pytest

from strikeproof.errors import TooFewRuns
from strikeproof.explain import Setting, gather_gains, join_gains
from strikeproof.judge import ScoredRun, compare_runs

AIR = {"air-a": Setting("air-a")}


def runs(blocks: int = 4, seed: int = 1) -> list[ScoredRun]:
    rng = np.random.default_rng(seed)
    found: list[ScoredRun] = []
    for block in range(blocks):
        for name, gain in (("plain", 0.0), ("ring", 0.2), ("long", -0.1), ("plain", 0.0)):
            score = float(300.0 * np.exp(gain + 0.02 * rng.standard_normal()))
            found.append(ScoredRun(f"r{len(found)}", name, "air-a", str(block), len(found), score))
    return found


def test_gains_are_those_of_the_comparison():
    compared = compare_runs(
        runs(), reference="plain", margin_percent=4.0, rng=np.random.default_rng(1), draws=0
    )
    by_name = {each.article: each.gain_percent for each in compared.results}
    for each in gather_gains(runs(), "plain", AIR).gains:
        assert 100.0 * np.expm1(each.log_gain) == pytest.approx(by_name[each.article])
        assert each.runs == 4


def test_gains_share_the_scatter_of_the_reference():
    covariance = gather_gains(runs(), "plain", AIR).covariance
    assert covariance[0, 1] > 0.2 * covariance[0, 0]


def test_scatter_without_repeats_is_assumed_and_said():
    once = gather_gains([*runs(1)[:3]], "plain", AIR)
    assert not once.measured
    assert once.run_scatter == pytest.approx(0.03)


def test_set_aside_runs_do_not_count():
    from dataclasses import replace

    spoiled = [*runs(), replace(runs()[1], run="x", score=1.0, order=99, set_aside=True)]
    assert gather_gains(spoiled, "plain", AIR).gains == gather_gains(runs(), "plain", AIR).gains


def test_a_campaign_without_its_reference_is_refused():
    with pytest.raises(TooFewRuns):
        gather_gains([each for each in runs() if each.article != "plain"], "plain", AIR)


def test_two_durations_join_without_shared_scatter():
    short = gather_gains(runs(seed=2), "plain", {"air-a": Setting("air-a", 3.0)})
    both = join_gains([gather_gains(runs(), "plain", AIR), short])
    assert len(both.gains) == 4
    assert both.covariance[:2, 2:] == pytest.approx(np.zeros((2, 2)))
