"""Robust mean, E_n, repeatability and reproducibility.

Algorithm A: ISO 5725-5:1998, the example of creosote in oil. Precision:
ASTM E691, table 1, glucose in serum, material A, whose formulas are those of ISO 5725-2. Both from memory.
"""

import numpy as np
import pytest
from scipy.stats import f_oneway

from strikeproof.errors import TooFewRuns
from strikeproof.judge.elsewhere.sources import deviation_of_quartiles, deviation_of_range
from strikeproof.judge.elsewhere.travelling import agreement_score, find_precision, robust_mean

GLUCOSE = np.array(
    [
        [41.03, 41.45, 41.37], [41.17, 42.00, 41.15], [41.01, 40.68, 42.66], [39.37, 42.37, 42.63],
        [41.88, 41.19, 41.32], [43.28, 40.50, 42.28], [41.08, 41.27, 39.02], [43.36, 42.65, 41.72],
    ]
)  # fmt: skip


def test_creosote():
    """ISO 5725-5:1998, clause 6: means of nine laboratories, robust mean 20.412."""
    means = np.array([24.140, 20.155, 19.500, 20.300, 20.705, 17.570, 20.100, 20.940, 21.185])
    found = robust_mean(means)
    assert found.mean == pytest.approx(20.412, abs=5e-4)
    assert found.uncertainty == pytest.approx(1.25 * found.deviation / 3)
    cut = np.clip(means, found.mean - 1.5 * found.deviation, found.mean + 1.5 * found.deviation)
    assert found.deviation == pytest.approx(1.134 * cut.std(ddof=1))


@pytest.mark.parametrize(("runs", "constant"), [(2, 1.128), (5, 2.326), (10, 3.078), (25, 3.931)])
def test_a_range_says_the_deviation(runs: int, constant: float):
    """Shewhart's d2, ISO 7870-2: the approximation for any number of runs lies within 5 % of it."""
    assert deviation_of_range(1.0, runs) == pytest.approx(1.0 / constant, rel=0.05)


def test_quartiles_say_the_deviation():
    """Of very many runs, those of the bell curve: 1.349 deviations apart."""
    assert deviation_of_quartiles(1.349, 100_000) == pytest.approx(1.0, rel=1e-3)


def test_equal_values_and_one_value():
    assert robust_mean(np.full(4, 2.0)).deviation == 0.0
    with pytest.raises(TooFewRuns):
        robust_mean(np.array([1.0]))


def test_glucose_in_serum():
    """Material A: mean 41.5183, s_r 1.0632, s_R 1.0632, since laboratories differ no more than runs do."""
    found = find_precision(GLUCOSE.mean(axis=1), GLUCOSE.var(axis=1, ddof=1), [3] * 8)
    assert found.mean == pytest.approx(41.5183, abs=5e-5)
    assert (found.repeatability, found.reproducibility) == pytest.approx((1.0632, 1.0632), abs=5e-5)


def test_unequal_counts_are_the_analysis_of_variance():
    """Against SciPy's one-way analysis: the mean squares stand in the ratio F."""
    groups = [GLUCOSE[0], GLUCOSE[1, :2], GLUCOSE[7] + 4.0, GLUCOSE[3]]
    counts = [len(each) for each in groups]
    means, spread = (
        np.array([f(each) for each in groups]) for f in (np.mean, lambda each: np.var(each, ddof=1))
    )
    found = find_precision(means, spread, counts)
    total = sum(counts)
    usual = (total - sum(n * n for n in counts) / total) / 3
    ratio = (found.repeatability**2 + usual * found.between**2) / found.repeatability**2
    assert ratio == pytest.approx(f_oneway(*groups).statistic)


def test_the_score_of_a_bench():
    """ISO 13528, 9.7: (x - X) / sqrt(U_x² + U_X²), with U = 2 u."""
    assert agreement_score(10.6, 0.2, 10.0, 0.15) == pytest.approx(0.6 / np.hypot(0.4, 0.3))
