"""Trace to blows, score and flags against real time and against scipy.signal.find_peaks, on the same traces.

Run with `pytest tests/benchmarks/test_trace_speed.py -m benchmark -s`, on one core: `OMP_NUM_THREADS=1`.
"""

import time
from dataclasses import replace

import numpy as np
import pytest
from tests.detector_study import find_by_prominence, match_blows

from strikeproof.trace import TracePlan, TraceSettings, examine_trace, simulate_trace

pytestmark = pytest.mark.benchmark

PLAN = TracePlan(
    sample_rate_hz=20_000.0, length_s=10.0, hammer_s=8.5, window_s=8.0, noise=0.2, ring_share=0.02
)
ALL_THREE = replace(PLAN, hum=1.0, drift_per_s=0.2, spikes_per_s=2.0)


def best_of(call, repeats=25):
    """Shortest and median processor time of a call, all threads together. [s]"""
    call()
    spent = []
    for _ in range(repeats):
        begin = time.process_time()
        call()
        spent.append(time.process_time() - begin)
    return min(spent), float(np.median(spent))


@pytest.mark.parametrize(("name", "plan"), [("noise alone", PLAN), ("hum, drift, spikes", ALL_THREE)])
def test_a_trace_is_examined_a_thousand_times_faster_than_it_was_recorded(name, plan):
    trace = simulate_trace(np.random.default_rng(6), plan=plan)
    settings = TraceSettings(duration_s=8.0)
    ours, usual = best_of(lambda: examine_trace(trace.time, trace.reading, settings=settings))
    plain, _ = best_of(lambda: find_by_prominence(trace, plan))
    facts = examine_trace(trace.time, trace.reading, settings=settings)
    here = match_blows(facts.blow_times, trace.truth.blow_times)
    there = match_blows(find_by_prominence(trace, plan), trace.truth.blow_times)
    print(
        f"\ntrace, 10 s at 20 kS/s, {name}: {1e3 * ours:.1f} ms (median {1e3 * usual:.1f}), "
        f"{plan.length_s / ours:.0f} x real time; find_peaks alone {1e3 * plain:.1f} ms, "
        f"ratio {plain / ours:.2f}; recall {here.recall:.3f} to {there.recall:.3f}, "
        f"precision {here.precision:.3f} to {there.precision:.3f}, "
        f"timing {1e3 * here.rms_s:.2f} to {1e3 * there.rms_s:.2f} ms rms"
    )
    assert ours < 2.5 * plain  # measured 0.6 and 1.1 times; find_peaks is told what it looks for
    assert here.recall >= there.recall and here.precision >= there.precision
