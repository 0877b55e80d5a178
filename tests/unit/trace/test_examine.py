import numpy as np
import pytest

from strikeproof.campaign.flags import FLAGS
from strikeproof.campaign.records import ScoreRule
from strikeproof.trace import TracePlan, TraceSettings, examine_trace, simulate_trace
from strikeproof.trace.flags import odd_intervals, top_counts
from strikeproof.trace.hammering import begins_hammering

TIME_TO = ScoreRule("time to", level=10.0, level_unit="kN")


def simulate(seed=5, **plan):
    return simulate_trace(np.random.default_rng(seed), plan=TracePlan(ring_share=0.02, **plan))


def examine(seed=5, settings=None, **plan):
    trace = simulate(seed, **plan)
    return examine_trace(trace.time, trace.reading, settings=settings or TraceSettings())


def kinds(facts):
    return {flag.kind for flag in facts.flags}


def test_a_clean_run_gives_all_its_facts_and_no_flag():
    trace = simulate()
    facts = examine_trace(trace.time, trace.reading, settings=TraceSettings(nominal_blow_rate_hz=25))
    truth = trace.truth
    assert facts.flags == ()
    assert facts.zero == pytest.approx(2.0, abs=0.01) and facts.zero_after is None
    assert facts.start_s == pytest.approx(1.0, abs=0.002)
    assert facts.end_s == pytest.approx(truth.end_s, abs=0.002)
    assert facts.duration_s == facts.end_s - facts.start_s
    assert facts.blow_times.size == facts.blow_steps.size == facts.blow_levels.size == truth.blow_times.size
    assert facts.blow_levels == pytest.approx(truth.blow_levels, abs=0.3)
    assert np.cumsum(facts.blow_steps) == pytest.approx(facts.blow_levels)
    assert facts.blow_rate_hz == pytest.approx(25, rel=0.02)
    assert facts.blow_rate_cv == pytest.approx(0.03, rel=0.3)
    assert facts.sample_rate_hz == pytest.approx(10_000)
    assert facts.growth_time[0] == facts.growth_level[0] == 0.0
    assert facts.growth_time[-1] <= 10.0 and facts.growth_time.size <= 401


def test_the_growth_curve_is_there_without_blows_too():
    trace = simulate(sample_rate_hz=80.0)
    facts = examine_trace(trace.time, trace.reading, settings=TraceSettings())
    assert kinds(facts) == {"rate-too-low"}
    assert facts.blow_times.size == 0 and facts.blow_rate_hz is None
    true = [trace.truth.level_at(1.0 + t) for t in facts.growth_time[5:]]
    assert facts.growth_level[5:] == pytest.approx(true, abs=2.5)
    assert facts.growth_time.size <= 401
    assert facts.score == pytest.approx(trace.truth.score, abs=4 * facts.score_uncertainty)


@pytest.mark.parametrize(
    ("wanted", "plan"),
    [
        ("clipped", {"clip_level": 80.0}),
        ("clipped", {"clip_level": 80.0, "resolution": 0.5}),
        ("clipped", {"clip_level": 80.0, "sample_rate_hz": 80.0}),
        ("dropout", {"dropouts": ((4.0, 0.1),)}),
        ("dropout", {"dropouts": ((4.0, 0.1),), "dropout_reading": 0.0}),
        ("zero-moved", {"zero_shift": 3.0, "release_after_s": 0.3, "length_s": 13.0}),
        ("too-short", {"hammer_s": 6.0}),
        ("too-short", {"length_s": 8.0}),
        ("late-start", {"start_s": 5.0}),
        ("double-blows", {"double_share": 0.1}),
        ("missed-blows", {"missed_share": 0.1}),
        ("rate-too-low", {"sample_rate_hz": 50.0}),
        ("no-hammering", {"hammer_s": -1.0}),
        ("no-zero", {"start_s": 0.0}),
        ("backwards", {"polarity": -1}),
        ("spikes", {"spikes_per_s": 3.0}),
        ("blows-faint", {"noise": 4.0}),
    ],
)
def test_each_fault_raises_its_flag_and_no_other(wanted, plan):
    facts = examine(**plan)
    assert kinds(facts) - {"rate-too-low", "blows-faint"} | {wanted} == {wanted}, facts.flags
    assert wanted in kinds(facts), facts.flags
    assert kinds(facts) <= FLAGS.keys()


def test_a_rate_away_from_the_usual_is_flagged():
    assert kinds(examine(settings=TraceSettings(nominal_blow_rate_hz=32))) == {"rate-off"}


def test_a_reading_at_full_scale_is_clipped():
    facts = examine(clip_level=101.0, settings=TraceSettings(full_scale=101.0))
    assert facts.has("clipped") and "is at its limit" in facts.score_reason


@pytest.mark.parametrize("resolution", [0.1, 0.5, 2.0])
@pytest.mark.parametrize("rate", [10.0, 80.0, 10_000.0])
def test_a_coarse_converter_is_neither_clipped_nor_frozen(resolution, rate):
    facts = examine(resolution=resolution, sample_rate_hz=rate, noise=0.05)
    assert kinds(facts) <= {"rate-too-low", "blows-faint"}, facts.flags
    assert facts.score_uncertainty >= 0.4 * resolution * (resolution > 0.2)


def test_wired_backwards_gives_the_same_levels_and_score():
    right, wrong = examine(), examine(polarity=-1)
    assert wrong.score == pytest.approx(right.score, abs=0.1)
    assert wrong.blow_times == pytest.approx(right.blow_times, abs=0.002)
    assert wrong.zero == pytest.approx(right.zero, abs=0.02)


def test_a_standing_load_before_the_start_is_the_zero():
    facts = examine(zero=-350.0)
    assert facts.zero == pytest.approx(-350, abs=0.01)
    assert facts.flags == ()


def test_blows_hidden_in_a_gap_are_not_invented():
    facts = examine(dropouts=((4.0, 0.3),))
    assert not np.any((facts.blow_times > 4.0) & (facts.blow_times < 4.3))
    assert not facts.has("missed-blows")


def test_disordered_times_are_flagged_and_change_nothing():
    trace = simulate(sample_rate_hz=1000.0)
    time, reading = trace.time.copy(), trace.reading.copy()
    swap = np.arange(2000, 4000, 50)
    for column in (time, reading):
        column[swap], column[swap + 1] = column[swap + 1].copy(), column[swap].copy()
    facts = examine_trace(time, reading, settings=TraceSettings())
    plain = examine_trace(trace.time, trace.reading, settings=TraceSettings())
    assert kinds(facts) == kinds(plain) | {"time-order"}
    assert facts.score == pytest.approx(plain.score)


@pytest.mark.parametrize("size", [0, 1, 2, 7, 20, 200])
def test_short_or_empty_logs_give_facts_without_a_score(size):
    facts = examine_trace(np.arange(size) / 100, np.zeros(size), settings=TraceSettings())
    assert facts.score is None and facts.score_reason
    assert kinds(facts) <= {"no-hammering", "no-zero"} and facts.flags


def test_a_log_without_any_value_gives_facts_without_a_score():
    facts = examine_trace(np.arange(500) / 100, np.full(500, np.nan), settings=TraceSettings())
    assert kinds(facts) == {"dropout", "no-hammering"}


@pytest.mark.parametrize("rate", [10.0, 25.0, 333.3, 4800.0, 50_000.0])
def test_odd_sample_rates_are_taken(rate):
    trace = simulate(sample_rate_hz=rate)
    facts = examine_trace(trace.time + 1.7e9, trace.reading, settings=TraceSettings())
    assert facts.score == pytest.approx(trace.truth.score, abs=4 * facts.score_uncertainty)


def test_intervals_are_judged_by_their_neighbours():
    times = np.cumsum(np.r_[np.full(20, 0.04), 0.012, 0.028, np.full(10, 0.04), 0.09, np.full(20, 0.05)])
    double, hole = odd_intervals(times)
    assert np.flatnonzero(double).tolist() == [19]
    assert np.flatnonzero(hole).tolist() == [31]


def test_tops_are_counted_alike_compiled_and_plain():
    reading = np.array([1, 2, 5, 5, 5, 4.5, 5, 9, 1])
    left_out = np.arange(9) == 7
    for kernel in (top_counts, top_counts.py_func):
        assert kernel(reading, left_out, 1.0, 0.25) == (5.0, 4, 1, 3, 2)


def ugly_log(rng):
    """Any length and rate; noise, walks, steps, holes, shuffled times, or a run full of faults."""
    size, rate = int(rng.choice([1, 8, 17, 100, 500, 3000])), 10 ** rng.uniform(0, 4.7)
    time, reading = np.arange(size) / rate, rng.standard_normal(size)
    match rng.integers(6):
        case 0:
            reading = np.cumsum(reading)
        case 1:
            reading = np.where(time > time.mean(), 1e12, 0) * (1 + 1e-3 * reading)
        case 2:
            reading[rng.random(size) < 0.3] = rng.choice([np.nan, np.inf])
        case 3:
            time = rng.random(size) * size / rate
        case 4 if size > 8:
            trace = simulate_trace(
                rng,
                plan=TracePlan(
                    sample_rate_hz=rate,
                    length_s=size / rate,
                    start_s=rng.uniform(0, size / rate),
                    hammer_s=rng.uniform(-1, 2) * size / rate,
                    noise=10 ** rng.uniform(-6, 1),
                    double_share=0.2,
                    missed_share=0.2,
                    resolution=rng.choice([0, 0.1, 5.0]),
                    dropouts=((rng.uniform(0, size / rate), rng.uniform(0, size / rate)),),
                ),
            )
            time, reading = trace.time, trace.reading
    return time, reading


@pytest.mark.parametrize("rule", [ScoreRule(), ScoreRule("peak"), ScoreRule("at", at_s=1.0), TIME_TO])
def test_any_log_gives_facts_that_hold_together(rule):
    rng = np.random.default_rng(17)
    scored = 0
    for _ in range(120):
        settings = TraceSettings(score=rule, level_reading=rule.level, duration_s=rng.choice([0.5, 3.0]))
        facts = examine_trace(*ugly_log(rng), settings=settings)
        assert (facts.score is None) == (facts.score_uncertainty is None)
        assert np.all(np.isfinite(facts.growth_level)) and np.all(np.diff(facts.blow_times) > 0)
        assert kinds(facts) <= FLAGS.keys()
        if facts.score is not None:
            scored += 1
            assert np.isfinite(facts.score) and np.isfinite(facts.score_uncertainty)
    assert scored >= 5


@pytest.mark.parametrize("begins", [0.0, 30.0])
@pytest.mark.parametrize("sign", [1.0, -1.0])
def test_hammering_from_the_first_sample_on_is_not_called_none(begins: float, sign: float) -> None:
    rng = np.random.default_rng(3)
    time = np.arange(0.0, 10.0, 0.002)
    level = begins + 79.0 * (np.floor(20.0 * time) / 200.0) ** 0.7 + rng.normal(0.0, 0.05, time.size)
    facts = examine_trace(time, sign * level, settings=TraceSettings(duration_s=10.0))
    assert (kinds(facts), facts.score) == ({"no-zero"}, None)


@pytest.mark.parametrize("kind", ["drift", "walk", "hum", "knocks"])
def test_what_is_no_hammering_does_not_begin_with_it(kind: str) -> None:
    rng = np.random.default_rng(4)
    time = np.arange(0.0, 10.0, 0.002)
    noise = rng.normal(0.0, 0.05, time.size)
    level = {
        "drift": 10.0 * time + noise,
        "walk": np.cumsum(noise),
        "hum": np.sin(2 * np.pi * 50.0 * time) + noise,
        "knocks": 40.0 * (np.floor(time / 0.5) % 2 == 0) * (time % 0.5 < 0.004) + noise,
    }[kind]
    assert not begins_hammering(level)


@pytest.mark.parametrize(("hammer_s", "is_flat"), [(1.3, True), (3.0, False)])
def test_a_level_that_stays_for_most_of_the_window_is_flagged_where_no_blows_are_seen(
    hammer_s: float, is_flat: bool
) -> None:
    """Three blows a second are below what any train is looked for at, so no end of the hammering is seen."""
    plan = TracePlan(
        length_s=8.0, start_s=2.5, hammer_s=hammer_s, window_s=3.0, blow_rate_hz=3.16, growth_blows=4.0
    )
    trace = simulate_trace(np.random.default_rng(0), plan=plan)
    facts = examine_trace(trace.time, trace.reading, settings=TraceSettings(duration_s=3.0))
    assert facts.has("flat") == is_flat
    assert all("of 3 s" in flag.detail for flag in facts.flags if flag.kind == "flat")
