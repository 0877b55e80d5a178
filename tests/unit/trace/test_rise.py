"""Weak tools, heavy articles, stuck bolts: a slow rise is found, and what only looks like one is not."""

import numpy as np
import pytest
from tests.slow_rises import NO_RISES, is_found, no_rise, slow_rise

from strikeproof.campaign.records import ScoreRule
from strikeproof.trace import TraceSettings, examine_trace
from strikeproof.trace.rise import find_onset, find_rise

UNSEEN = {"rate-too-low", "blows-faint"}


@pytest.mark.parametrize("noise", [0.03, 0.3, 1.5])
@pytest.mark.parametrize("rise", [51.0, -51.0])
@pytest.mark.parametrize("rate", [10, 20, 50, 100, 200, 500, 1000, 2000, 5000, 20_000])
def test_a_steady_rise_or_fall_has_a_score_at_every_rate(rate, rise, noise):
    rng = np.random.default_rng(31)
    time, reading = slow_rise(rng, rate, rise, noise=noise)
    settings = TraceSettings(direction="tighten" if rise > 0 else "loosen")
    facts = examine_trace(time, reading + 180, settings=settings)
    assert facts.score is not None, facts.flags
    assert abs(facts.score - 51) < 4 * facts.score_uncertainty < 12 * noise + 2
    assert facts.start_s == pytest.approx(2.0, abs=8 * noise / 5.1 / np.sqrt(min(rate, 400)) + 1 / rate)
    assert {flag.kind for flag in facts.flags} <= UNSEEN and facts.flags


@pytest.mark.parametrize("rate", [20, 50, 200, 1000, 20_000])
def test_rises_of_a_dozen_deviations_are_found(rate):
    rng = np.random.default_rng(32)
    assert np.mean([is_found(*slow_rise(rng, rate, rng.choice([-14, 14]))) for _ in range(8)]) == 1


@pytest.mark.parametrize("rate", [20, 200, 2000])
@pytest.mark.parametrize("kind", [kind for kind in NO_RISES if "wandering" not in kind and "t³" not in kind])
def test_what_is_no_rise_is_no_hammering(rate, kind):
    rng = np.random.default_rng(33)
    assert np.mean([is_found(*no_rise(rng, rate, kind)) for _ in range(6)]) <= 1 / 3
    if "drift" not in kind:
        assert not is_found(*no_rise(rng, rate, kind))


def test_the_start_of_a_slow_rise_enters_the_uncertainty_of_its_score():
    """Coverage over many runs: the errors are as large as stated."""
    rng = np.random.default_rng(34)
    pulls = {"end": [], "time to": []}
    for _ in range(30):
        time, reading = slow_rise(rng, 50, 51.0, noise=0.5, quiet_s=2 + rng.random())
        for rule, truth in (
            (ScoreRule(), 51.0),
            (ScoreRule("time to", level=20, level_unit="kN"), 10 * 20 / 51),
        ):
            settings = TraceSettings(score=rule, level_reading=20.0)
            facts = examine_trace(time, reading, settings=settings)
            pulls[rule.kind].append((facts.score - truth) / facts.score_uncertainty)
    assert all(0.5 < np.sqrt(np.mean(np.square(each))) < 1.4 for each in pulls.values()), pulls


def test_a_knock_before_a_slow_rise_is_not_its_start():
    rng = np.random.default_rng(35)
    time, reading = slow_rise(rng, 200, 60.0, quiet_s=3.0)
    reading[(time > 1.0) & (time < 1.2)] += 80
    assert find_rise(reading, 1 / 200).first / 200 == pytest.approx(3.0, abs=0.5)


def test_an_onset_is_sharp_for_a_leap_and_followed_back_for_a_slope():
    rng = np.random.default_rng(36)
    leap, slope = rng.standard_normal((2, 2000))
    leap[1000:] += 100
    slope[1000:] += 0.1 * np.arange(1000)
    sharp, slow = find_onset(leap, 990, 100.0, 0.0), find_onset(slope, 900, 100.0, 0.0)
    assert (sharp.at, sharp.leaps) == (999.5, True) and sharp.uncertainty < 0.5
    assert not slow.leaps and abs(slow.at - 1000) < 4 * slow.uncertainty < 60
