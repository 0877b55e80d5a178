"""J. Cohen, *Statistical Power Analysis for the Behavioral Sciences*, 1988, table 2.4.1: n of each group.

Two-sided 5 %, effect d in standard deviations. Cohen rounds to the nearest whole number where the smallest n
that reaches the power is the next one up (393.4 is printed 393), hence the tolerance of one.
"""

import numpy as np
import pytest

from strikeproof.judge.repeats import power_of_repeats, repeats_for

TABLE = [
    (0.2, 0.80, 393),
    (0.5, 0.80, 64),
    (0.8, 0.80, 26),
    (0.2, 0.90, 526),
    (0.5, 0.90, 85),
    (0.8, 0.90, 34),
]


@pytest.mark.parametrize(("effect", "power", "count"), TABLE)
def test_runs_for_one_comparison(effect, power, count):
    # a gain of exp(d sigma) is d standard deviations on the log scale
    sigma = 0.02
    gain, repeatability = 100 * np.expm1(effect * sigma), 100 * np.sqrt(np.expm1(sigma**2))
    found = repeats_for(gain, repeatability, 1, power=power, reference_runs=1, blocked=False)
    assert count <= found <= count + 1


@pytest.mark.parametrize(("effect", "power", "count"), TABLE)
def test_power_around_the_printed_count(effect, power, count):
    at = [
        power_of_repeats(n, effect, 0.05, degrees_of_freedom=2 * n - 2, reference_runs=1)
        for n in (count - 1, count + 1)
    ]
    assert at[0] < power <= at[1]
