import numpy as np
import pytest
import statsmodels.api as sm

from strikeproof.campaign.records import ScoreRule
from strikeproof.errors import BadInput
from strikeproof.trace import TracePlan, TraceSettings, examine_trace, simulate_trace
from strikeproof.trace.score import estimate_last_level, rounding_uncertainty


def examined(rule=None, level=None, seed=3, **plan):
    trace = simulate_trace(np.random.default_rng(seed), plan=TracePlan(**plan))
    settings = TraceSettings(score=rule or ScoreRule(), level_reading=level)
    return examine_trace(trace.time, trace.reading, settings=settings), trace.truth


def test_the_last_level_agrees_with_statsmodels_gls():
    rng = np.random.default_rng(8)
    levels = 80 + 0.2 * np.arange(16) + 0.05 * rng.standard_normal(16)
    walk = (np.mean(np.diff(levels, 2) ** 2) - 6 * 1e-4) / 2
    back = np.arange(16.0)[::-1]
    covariance = walk * np.minimum.outer(back, back) + 1e-4 * np.eye(16)
    fit = sm.GLS(levels, np.vander(back, 3, increasing=True), sigma=covariance).fit()
    value, variance = estimate_last_level(levels, 1e-4, lag=0.0)
    assert value == pytest.approx(fit.params[0], rel=1e-9)
    assert variance == pytest.approx(fit.normalized_cov_params[0, 0], rel=1e-6)


def test_a_straight_course_without_noise_is_taken_to_its_end():
    assert estimate_last_level(np.arange(20.0), 0.0, lag=0.5)[0] == pytest.approx(19.5)


def test_rounding_counts_in_full_without_noise_and_not_at_all_in_much():
    assert rounding_uncertainty(1.0, 0.0) == pytest.approx(1 / np.sqrt(12))
    assert rounding_uncertainty(1.0, 1.0) < 1e-6
    assert rounding_uncertainty(0.0, 0.1) == 0.0


@pytest.mark.parametrize("rate", [20.0, 80.0, 10_000.0])
def test_each_rule_gives_its_own_number(rate):
    for rule, wanted in (
        (ScoreRule("end"), lambda t: t.score),
        (ScoreRule("peak"), lambda t: t.level_at(11.0)),
        (ScoreRule("at", at_s=4.0), lambda t: t.level_at(5.0)),
    ):
        facts, truth = examined(rule, sample_rate_hz=rate, noise=0.2)
        assert facts.score == pytest.approx(wanted(truth), abs=max(5 * facts.score_uncertainty, 0.2)), str(
            rule
        )
        assert 0 < facts.score_uncertainty < 1


@pytest.mark.parametrize("rate", [80.0, 10_000.0])
def test_time_to_a_level_is_that_of_the_blow_that_reaches_it(rate):
    for level in (40.0, 80.0, 95.0):
        facts, truth = examined(ScoreRule("time to", level=level), level, sample_rate_hz=rate, noise=0.1)
        true = truth.blow_times[np.argmax(truth.blow_levels >= level)] - truth.start_s
        assert facts.score == pytest.approx(true, abs=4 * facts.score_uncertainty + 0.002)
        assert facts.score_uncertainty < 0.2


def test_a_level_never_reached_gives_no_score_but_a_reason():
    facts, _ = examined(ScoreRule("time to", level=300.0), 300.0)
    assert facts.score is None and facts.score_uncertainty is None
    assert "not reached" in facts.score_reason


def test_a_time_beyond_the_log_gives_no_score_but_a_reason():
    facts, _ = examined(ScoreRule("at", at_s=30.0))
    assert facts.score is None and "log ends" in facts.score_reason


def test_the_level_is_held_when_hammering_ends_early():
    facts, truth = examined(hammer_s=5.0, relaxation_share=0.03)
    assert facts.has("too-short") and "held" in facts.score_reason
    assert facts.score == pytest.approx(truth.score, abs=5 * facts.score_uncertainty + 0.05)


def test_loosening_is_scored_by_the_drop():
    trace = simulate_trace(np.random.default_rng(1), plan=TracePlan(direction="loosen"))
    facts = examine_trace(trace.time, trace.reading, settings=TraceSettings(direction="loosen"))
    assert facts.zero == pytest.approx(102, abs=0.05)
    assert facts.score == pytest.approx(trace.truth.score, abs=5 * facts.score_uncertainty)
    assert not facts.has("backwards")


@pytest.mark.parametrize(
    "wrong",
    [
        {"duration_s": 0.0},
        {"score": ScoreRule("time to", level=3.0)},
        {"score": ScoreRule("at")},
        {"nominal_blow_rate_hz": -1.0},
    ],
)
def test_settings_that_cannot_be_are_refused(wrong):
    with pytest.raises(BadInput):
        TraceSettings(**wrong)
