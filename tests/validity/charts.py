"""Control charts of steady rigs: how often they raise an alarm all the same."""

from __future__ import annotations

import numpy as np
from tests.validity.rates import Row, rate

from strikeproof.judge.control import chart_reference
from strikeproof.judge.records import ScoredRun

__all__ = ["alarm_rows"]

CHARTS = 3_000
SCATTER = 0.02


def alarm_rows(rng: np.random.Generator) -> list[Row]:
    """Reference runs that repeat to 2 % about 150, two in a block."""
    steady = [
        _row(f"a steady rig of {2 * blocks} reference runs called out of control", blocks, rng)
        for blocks in (3, 6, 12)
    ]
    return [
        *steady,
        _row("the same 12 runs, blocks with a spread of 5 %", 6, rng, block_spread=0.05),
        _row("the same 12 runs, read in steps of 3 %", 6, rng, step=5.0),
        _row("the same 24 runs, read in steps of 7 %", 12, rng, step=10.0),
    ]


def _row(
    what: str, blocks: int, rng: np.random.Generator, *, block_spread: float = 0.0, step: float = 0.0
) -> Row:
    alarms = []
    for _ in range(CHARTS):
        levels = np.repeat(block_spread * rng.standard_normal(blocks), 2)
        scores = 150.0 * np.exp(levels + SCATTER * rng.standard_normal(2 * blocks))
        scores = np.round(scores / step) * step if step else scores
        runs = [
            ScoredRun(f"{i}", "plain", "air", f"{i // 2}", i, float(each)) for i, each in enumerate(scores)
        ]
        alarms.append(float(chart_reference(runs, "air", step).state == "not in control"))
    return rate(what, np.asarray(alarms), (0.0, 10.0))
