import numpy as np
import pytest

from strikeproof.errors import BadInput
from strikeproof.trace import TracePlan, simulate_trace
from strikeproof.trace.simulated import add_fronts


def simulate(**plan):
    return simulate_trace(np.random.default_rng(7), plan=TracePlan(**plan))


@pytest.mark.parametrize("rate", [10.0, 80.0, 1000.0, 50_000.0])
def test_every_sample_rate_gives_a_quiet_start_and_the_true_end(rate):
    trace = simulate(sample_rate_hz=rate, length_s=6, hammer_s=4.5, window_s=4, noise=0.0)
    assert trace.time.size == round(6 * rate) == trace.reading.size
    assert np.all(trace.reading[trace.time < 0.9] == pytest.approx(2.0))
    late = trace.reading[trace.time > trace.truth.end_s + 0.3]
    assert late == pytest.approx(2.0 + trace.truth.blow_levels[-1], abs=0.2)


def test_levels_follow_the_square_root_of_the_stored_energy():
    truth = simulate(step_scatter=0.0, growth_blows=50).truth
    blows = np.arange(1, truth.blow_times.size + 1)
    assert truth.blow_levels == pytest.approx(100 * np.sqrt(1 - np.exp(-blows / 50)))


def test_a_slow_rise_goes_on_with_the_logarithm_of_the_blows():
    plain, slow = simulate(step_scatter=0.0).truth, simulate(step_scatter=0.0, slow_rise_share=0.1).truth
    added = slow.blow_levels - plain.blow_levels
    assert added == pytest.approx(10 * np.log1p(np.arange(1, added.size + 1) / 60))


def test_blows_come_at_the_planned_rate_and_scatter():
    gaps = np.diff(
        simulate(blow_rate_hz=30, interval_scatter=0.04, length_s=60, hammer_s=55).truth.blow_times
    )
    assert 1 / gaps.mean() == pytest.approx(30, rel=0.01)
    assert gaps.std() / gaps.mean() == pytest.approx(0.04, rel=0.1)


def test_missed_and_double_blows_are_counted():
    truth = simulate(double_share=0.1, missed_share=0.1).truth
    gaps = np.diff(truth.blow_times) * 25
    assert truth.doubles > 5 and (gaps < 0.5).sum() == truth.doubles
    assert truth.missed > 5 and (gaps > 1.6).sum() >= truth.missed / 2


def test_the_score_is_the_level_at_the_end_of_the_window():
    truth = simulate(window_s=5.0).truth
    assert truth.score == truth.level_at(6.0) < truth.level_at(11.0)


def test_relaxation_lowers_the_held_level():
    trace = simulate(hammer_s=3, relaxation_share=0.04, relaxation_s=0.5, noise=0.0)
    assert trace.reading[-1] == pytest.approx(2 + 0.96 * trace.truth.blow_levels[-1], rel=1e-3)
    assert trace.truth.score == pytest.approx(0.96 * trace.truth.blow_levels[-1], rel=1e-3)


def test_loosening_falls_from_the_preload_to_what_is_left():
    trace = simulate(direction="loosen", noise=0.0)
    assert trace.reading[0] == pytest.approx(102)
    assert trace.reading[-1] == pytest.approx(102 - trace.truth.blow_levels[-1], abs=0.1)
    assert trace.truth.blow_levels.max() <= 100


def test_faults_go_in_as_planned():
    trace = simulate(
        clip_level=80.0, resolution=0.5, dropouts=((3.0, 0.1),), spikes_per_s=5, drift_per_s=0.1, hum=1.0
    )
    seen = trace.reading[np.isfinite(trace.reading)]
    assert seen.max() == 80.0
    assert np.all(np.mod(seen, 0.5) == 0)
    assert np.isnan(trace.reading).sum() == 1000


def test_one_seed_gives_one_trace():
    assert np.array_equal(simulate().reading, simulate().reading)


def test_a_front_is_the_same_compiled_and_plain():
    given = (0.001, np.array([0.01, 0.02]), np.array([2.0, 1.0]), np.array([0.5, 0.2]), 200.0, 0.004, 0.0005)
    compiled, plain = np.linspace(0, 1, 60), np.linspace(0, 1, 60)
    add_fronts(compiled, *given)
    add_fronts.py_func(plain, *given)
    assert compiled == pytest.approx(plain, rel=1e-12)
    assert compiled[:10] == pytest.approx(np.linspace(0, 1, 60)[:10])


@pytest.mark.parametrize("wrong", [{"sample_rate_hz": 0.1}, {"blow_rate_hz": 0.0}, {"length_s": 0.0}])
def test_an_impossible_plan_is_refused(wrong):
    with pytest.raises(BadInput):
        TracePlan(**wrong)
