"""All pairs of several means against the studentised range.

Upper 5 % points as H. L. Harter printed them (Ann. Math. Statist. 31 (1960) 1122, and Pearson and Hartley,
*Biometrika Tables for Statisticians*, vol. 1, table 29), from memory.
"""

import numpy as np
import pytest
from scipy.stats import studentized_range

from strikeproof.judge.questions.joint import joint_of

TABLE = {
    (2, 10): 3.151,
    (3, 10): 3.877,
    (4, 10): 4.327,
    (5, 10): 4.654,
    (10, 10): 5.599,
    (3, 20): 3.578,
    (4, 20): 3.958,
    (5, 20): 4.232,
    (10, 20): 5.008,
    (3, 60): 3.399,
    (10, 60): 4.646,
}


def all_pairs(means):
    """Covariance of the differences of so many equally sure means."""
    rows = np.eye(means)
    pairs = np.asarray([rows[i] - rows[j] for i in range(means) for j in range(i)])
    return pairs @ pairs.T


@pytest.mark.parametrize("means", [3, 4, 5, 10])
def test_upper_points_of_the_table(means):
    joint = joint_of(all_pairs(means))
    for (of, free), printed in TABLE.items():
        if of == means:
            point = np.sqrt(2.0) * joint.critical_value(0.95, free)
            assert point == pytest.approx(printed, rel=1e-3)


@pytest.mark.parametrize(("means", "free", "error"), [(3, 5, 2e-5), (8, 12, 1e-4), (30, 20, 1e-3)])
def test_levels_of_scipy(means, free, error):
    """Whoever goes by our bound is wrong as often as SciPy says, all but the error of either."""
    bound = joint_of(all_pairs(means)).critical_value(0.95, free)
    assert studentized_range.sf(np.sqrt(2.0) * bound, means, free) == pytest.approx(0.05, abs=error)


def test_small_p_is_sure_too():
    """Far out the direction hardly matters, so that a p of one in a million is no guess."""
    joint = joint_of(all_pairs(5))
    theirs = studentized_range.sf(9.0, 5, 60)
    assert joint.p_beyond(9.0 / np.sqrt(2.0), 60) == pytest.approx(theirs, rel=0.02)
