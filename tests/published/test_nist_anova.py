"""One-way layouts of NIST: StRD SiRstv and AtmWtAg (shipped with SciPy), e-Handbook 7.4.3.3 and 1.3.5.3.

The certified values are those in the files and at itl.nist.gov/div898/strd and /handbook. Values enter as the
logarithm of a score, so that the comparison works on the very numbers printed.
"""

from pathlib import Path

import numpy as np
import pytest
import scipy.stats
from scipy.special import fdtrc, stdtr

from strikeproof.judge.intervals import judge_runs
from strikeproof.judge.model import fit_scores
from strikeproof.judge.records import ScoredRun
from strikeproof.judge.scatter import find_own_scatter

FILES = Path(scipy.stats.__file__).parent / "tests" / "data" / "nist_anova"


def as_runs(groups):
    flat = [(name, value) for name, values in groups.items() for value in values]
    return [
        ScoredRun(f"{i}", name, "t", "1", 0, float(np.exp(value))) for i, (name, value) in enumerate(flat)
    ]


def read_groups(name, shift):
    rows = np.loadtxt(FILES / f"{name}.dat", skiprows=60)
    return {f"{int(group)}": rows[rows[:, 0] == group, 1] - shift for group in np.unique(rows[:, 0])}


@pytest.mark.parametrize(
    ("name", "shift", "between", "within", "free", "f", "sd", "rel"),
    [
        ("SiRstv", 196.0, 5.11462616e-02, 2.16636560e-01, 20, 1.18046237440255, 0.104076068334656, 1e-9),
        # a difference of 1e-5 of values near 1, so that 1e-16 of rounding is 1e-11 of it, squared and summed
        (
            "AtmWtAg",
            107.0,
            3.638341875e-09,
            1.04951729166667e-08,
            46,
            15.9467335677930,
            1.51048314446410e-05,
            1e-8,
        ),
    ],
)
def test_sums_of_squares(name, shift, between, within, free, f, sd, rel):
    fit = fit_scores(as_runs(read_groups(name, shift)), "1")
    total = float(fit.columns[:, 0] @ fit.columns[:, 0])
    rest = float(fit.residual @ fit.residual)
    assert rest == pytest.approx(within, rel=rel)
    assert total - rest == pytest.approx(between, rel=rel)
    assert fit.degrees_of_freedom == free
    assert np.sqrt(fit.variance) == pytest.approx(sd, rel=rel)
    assert (total - rest) / len(fit.design.pairs) / fit.variance == pytest.approx(f, rel=rel)


def test_tukey_example():
    """7.4.3.3: four groups of five, sums of squares and F; 7.4.7.1: differences of means."""
    groups = {
        "1": (6.9, 5.4, 5.8, 4.6, 4.0),
        "2": (8.3, 6.8, 7.8, 9.2, 6.5),
        "3": (8.0, 10.5, 8.1, 6.9, 9.3),
        "4": (5.8, 3.8, 6.1, 5.6, 6.2),
    }
    fit = fit_scores(as_runs(groups), "1")
    total = float(fit.columns[:, 0] @ fit.columns[:, 0])
    rest = float(fit.residual @ fit.residual)
    assert (total - rest, rest) == pytest.approx((38.820, 21.292), abs=5e-4)
    assert (fit.degrees_of_freedom, fit.variance) == pytest.approx((16, 1.331), abs=5e-4)
    f = (total - rest) / 3 / fit.variance
    assert f == pytest.approx(9.724, abs=5e-4)
    assert fdtrc(3, 16, f) < 0.001
    assert fit.difference == pytest.approx((7.72 - 5.34, 8.56 - 5.34, 5.50 - 5.34), abs=1e-9)
    # half a Tukey interval is q / sqrt(2) = 4.05 / sqrt(2) standard errors: (4.47 - 0.29) / 2 for 2 - 1
    assert 4.05 / np.sqrt(2) * fit.standard_error == pytest.approx([(4.47 - 0.29) / 2] * 3, abs=6e-3)


def of_moments(count, mean, sd):
    """Any sample with these moments has the printed t: t depends on nothing else."""
    plain = np.linspace(-1.0, 1.0, count)
    return mean + sd * (plain - plain.mean()) / plain.std(ddof=1)


MILEAGE = {"us": of_moments(249, 20.14458, 6.41470), "japan": of_moments(79, 30.48101, 6.10771)}


def test_pooled_t_of_two_samples():
    """1.3.5.3, AUTO83B: pooled T = -12.62059 with 326 degrees of freedom."""
    judged = judge_runs(as_runs(MILEAGE), "japan", 0.95)
    interval = judged.intervals["us", "t"]
    assert interval.difference / interval.error == pytest.approx(-12.62059, rel=1e-6)
    assert judged.fit.degrees_of_freedom == 326
    assert interval.p == pytest.approx(2 * stdtr(326, -12.62059), rel=1e-4)


def test_welch_t_of_two_samples():
    """1.3.5.3, AUTO83B without equal variances: T = -12.94627 with 136.8750 degrees of freedom."""
    runs = as_runs(MILEAGE)
    own = find_own_scatter(fit_scores(runs, "japan"), runs, level=1.0)["us", "t"]
    difference = MILEAGE["us"].mean() - MILEAGE["japan"].mean()
    assert difference / own.error == pytest.approx(-12.94627, rel=1e-6)
    assert own.degrees_of_freedom == pytest.approx(136.8750, rel=1e-5)
