"""Weak tools, heavy articles, stuck bolts: a slow rise is found, and what only looks like one is not."""

import numpy as np
import pytest
from tests.slow_rises import NO_RISES, is_found, no_rise, slow_rise

from strikeproof.campaign.records import ScoreRule
from strikeproof.trace import TraceSettings, examine_trace
from strikeproof.trace.rise import find_onset, find_rise
from strikeproof.trace.rise_fit import least_rise

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


@pytest.mark.parametrize("quiet", [1.0, 2.0])
@pytest.mark.parametrize("rate", [10, 20, 50])
def test_rises_of_ten_deviations_are_found_with_little_zero(rate, quiet):
    rng = np.random.default_rng(40)
    rises = (slow_rise(rng, rate, rng.choice([-10, 10]), quiet_s=quiet) for _ in range(20))
    assert np.mean([is_found(*each) for each in rises]) == 1


DOUBTED = ("ends", "t³", "step", "wandering", "mains hum, 50")


@pytest.mark.parametrize("rate", [10, 20, 200])
@pytest.mark.parametrize("kind", [kind for kind in NO_RISES if any(word in kind for word in DOUBTED)])
def test_what_may_be_no_rise_is_flagged(rate, kind):
    rng = np.random.default_rng(41)
    assert np.mean([is_found(*no_rise(rng, rate, kind), warned=False) for _ in range(12)]) <= 1 / 12


@pytest.mark.parametrize("rate", [10, 20, 200])
def test_a_plain_rise_is_not_called_drift(rate):
    rng = np.random.default_rng(42)
    for height in (60, -60, 170):
        assert is_found(*slow_rise(rng, rate, height), warned=False)


@pytest.mark.parametrize(("length", "rate"), [(14.0, 10.0), (12.0, 20.0), (10.5, 50.0)])
def test_the_least_rise_is_what_the_best_test_finds(length, rate):
    """Of a known ramp beside any parabola the matched filter is most powerful (Lehmann & Romano, *Testing
    Statistical Hypotheses*, 3rd ed., ch. 7, from memory): 2 % of drifts above its bound, 95 % of rises."""
    rng = np.random.default_rng(43)
    least = least_rise(length, 1 / rate, 10.0)
    time = np.arange(round(length * rate)) / rate
    ramp = np.clip((time - (length - 10) / 2) / 10, 0, 1)
    filtered = ramp - np.polyval(np.polyfit(time, ramp, 2), time)
    noise = rng.standard_normal((4000, time.size)) @ filtered
    bound = np.quantile(noise, 0.98)
    drifted = noise + (3 - 2 * time + 0.7 * time**2) @ filtered
    assert np.mean(drifted > bound) == pytest.approx(0.02, abs=0.002)
    assert np.mean(noise + least * ramp @ filtered > bound) == pytest.approx(0.95, abs=0.02)


def test_a_log_that_cannot_show_a_small_rise_says_so():
    rng = np.random.default_rng(44)
    for length, warned in ((11.0, True), (14.0, False)):
        noise = rng.standard_normal(round(10 * length))
        facts = examine_trace(np.arange(noise.size) / 10, noise, settings=TraceSettings())
        assert facts.has("no-hammering") and facts.has("short-zero") == warned


@pytest.mark.parametrize("rate", [20, 200, 2000])
@pytest.mark.parametrize(
    "kind",
    [kind for kind in NO_RISES if not any(word in kind for word in ("wandering", "t³", "ends", "step"))],
)
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


@pytest.mark.parametrize(("rate", "noise"), [(10, 0.3), (20, 0.3), (10, 0.05), (50, 0.3)])
def test_the_time_to_a_level_is_as_sure_as_stated_at_low_rates(rate, noise):
    """A fast rise clears the noise a sample late: 100 (1 - exp(-t/6)) reaches 50 after 6 ln 2 seconds."""
    rng = np.random.default_rng(37)
    settings = TraceSettings(score=ScoreRule("time to", level=50, level_unit="kN"), level_reading=50.0)
    errors, stated = [], []
    for _ in range(60):
        time, start = np.arange(15 * rate) / rate, 3 + rng.uniform(0, 0.3)
        level = -100 * np.expm1(-np.clip(time - start, 0, 10) / 6) + noise * rng.standard_normal(time.size)
        facts = examine_trace(time, level, settings=settings)
        errors.append(facts.score - 6 * np.log(2))
        stated.append(facts.score_uncertainty)
    assert np.mean(np.abs(errors) < 2 * np.asarray(stated)) >= 0.9
    assert abs(np.mean(errors)) < 0.04 and np.mean(stated) < 0.07


@pytest.mark.parametrize("rate", [10, 20])
def test_the_end_of_a_window_between_two_samples_is_as_sure_as_stated(rate):
    rng = np.random.default_rng(38)
    pulls = []
    for _ in range(60):
        time, start = np.arange(15 * rate) / rate, 3 + rng.uniform(0, 0.3)
        level = -100 * np.expm1(-np.clip(time - start, 0, 10) / 6) + 0.05 * rng.standard_normal(time.size)
        facts = examine_trace(time, level, settings=TraceSettings())
        pulls.append((facts.score + 100 * np.expm1(-10 / 6)) / facts.score_uncertainty)
    assert np.sqrt(np.mean(np.square(pulls))) < 1.2


@pytest.mark.parametrize("rate", [10, 20, 100, 1000])
@pytest.mark.parametrize(("count", "length"), [(2, 0.5), (3, 0.5), (3, 0.3), (2, 0.7)])
def test_knocks_that_fall_back_to_the_zero_are_no_hammering(rate, count, length):
    rng = np.random.default_rng(39)
    time = np.arange(15 * rate) / rate
    for _ in range(8):
        starts = 2 + np.cumsum(rng.uniform(1.1, 10 / count, count)) - 1.1
        reading = 0.2 * rng.standard_normal(time.size)
        for start in starts:
            reading[(time >= start) & (time < start + length)] += 10
        facts = examine_trace(time, reading, settings=TraceSettings())
        assert facts.score is None, starts
        assert "no-hammering" in {flag.kind for flag in facts.flags}
