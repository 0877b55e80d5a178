"""The engine against a second integrator that shares no code with it, on random chains of every mechanism.

`make blows` runs a thousand of them.
"""

from __future__ import annotations

import numpy as np
import pytest
from tests.blow_study import miss_of
from tests.random_chains import draw_chain
from tests.reference_blow import reference_run

# Among them a loose rider, blows that take turns, an anvil that strikes twice, loosening and a seized thread;
# 45: a head struck as it has all but stopped.
CHAINS = (0, 1, 2, 3, 4, 5, 7, 11, 45, 131, 185, 212, 233)


@pytest.mark.parametrize("seed", CHAINS)
def test_thirty_blows_end_as_by_runge_kutta(seed: int) -> None:
    miss = miss_of(seed)
    assert miss.end_load < 1e-5
    assert miss.head_peak < 1e-4
    assert miss.rebound < 1e-4
    assert miss.joint_peak < 1e-3


def test_the_reference_agrees_with_itself_at_half_the_step() -> None:
    chain, tool, luck = draw_chain(11, blows=5)
    one, other = (reference_run(chain, tool, luck, step=step) for step in (0.06, 0.03))
    assert one.clamp_load == pytest.approx(other.clamp_load, rel=1e-7)
    assert np.abs(one.rebound - other.rebound).max() < 1e-6 * one.speed.max()
