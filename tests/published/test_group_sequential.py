"""C. Jennison, B. W. Turnbull, *Group Sequential Methods*, 2000, table 2.3.

Constants of O'Brien and Fleming's test for a two-sided 5 %, printed to three decimals (from memory).
"""

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.stats import multivariate_normal, norm

from strikeproof.errors import BadInput
from strikeproof.judge.looks import Looks, last_bound, level_of_any_look, level_of_look


@pytest.mark.parametrize(
    ("looks", "constant"), [(1, 1.960), (2, 1.977), (3, 2.004), (4, 2.024), (5, 2.040), (10, 2.087)]
)
def test_constants_of_table_2_3(looks, constant):
    assert last_bound(looks, 0.05) == pytest.approx(constant, abs=6e-4)


def test_two_looks_are_the_bivariate_normal():
    """Against SciPy's own integral: looks at half and at all of the runs correlate by the root of a half."""
    first, last = (-float(np.sqrt(2) * last_bound(2, 0.05)), -last_bound(2, 0.05))
    both = multivariate_normal([0, 0], [[1, np.sqrt(0.5)], [np.sqrt(0.5), 1]])
    inside = both.cdf([-first, -last], lower_limit=[first, last])
    assert 1 - inside == pytest.approx(0.05, abs=1e-5)
    assert level_of_look(1, 2, 0.05) == pytest.approx(0.0052, abs=1e-4)


def test_between_two_looks_the_stricter_level_holds():
    assert [Looks(3, blocks, 9).number for blocks in (1, 3, 5, 6, 8, 9, 12)] == [1, 1, 1, 2, 2, 3, 3]
    assert [Looks(3, blocks, 9).beyond for blocks in (9, 10)] == [False, True]


def test_no_looks_are_refused():
    with pytest.raises(BadInput, match="0 looks"):
        level_of_look(1, 0, 0.05)


@pytest.mark.parametrize("blocks", [1, 4, 12, 40])
def test_any_look_is_where_the_mixture_reaches_its_bound(blocks):
    """Ville's inequality, J. Ville 1939: a likelihood ratio that starts at 1 ever reaches 20 in 5 % at most.

    The ratio of a normal mixture of differences against none, by SciPy's own integral, is 20 at the bound.
    """
    variance = (2.0 * np.log(20.0) + np.log1p(2.0 * np.log(20.0))) / 12
    total = -norm.ppf(level_of_any_look(blocks, 12, 0.05) / 2.0) * np.sqrt(blocks)
    ratio, _ = quad(
        lambda shift: (
            np.exp(shift * total - shift**2 * blocks / 2.0) * norm.pdf(shift, 0.0, np.sqrt(variance))
        ),
        -8.0,
        8.0,
    )
    assert ratio == pytest.approx(20.0, rel=1e-6)


def test_any_look_is_allowed_beyond_the_blocks_that_were_expected():
    assert not Looks(0, 30, 12).beyond
    levels = [Looks(0, blocks, 12).level(0.05) for blocks in (1, 6, 12, 30)]
    assert all(0.0 < each < 0.05 for each in levels)
