"""A comparison of runs that are all excluded says just that."""

from types import SimpleNamespace
from typing import Any

import pytest

from strikeproof.campaign.records import RunRow
from strikeproof.desk.comparing.compare import compare_judged
from strikeproof.errors import TooFewRuns


def test_excluded_runs_are_the_reason_and_not_their_flags() -> None:
    stored = SimpleNamespace(key=1, row=RunRow("r001", "plain", "air", "a"), set_aside="bolt yielded")
    flag = SimpleNamespace(kind="over-limit", detail="beyond")
    run = SimpleNamespace(stored=stored, score=66.6, not_reached_s=None, order=1, series="air", flags=(flag,))
    campaign = SimpleNamespace(block_of=lambda row: row.block)
    judged: Any = SimpleNamespace(campaign=campaign, runs=(run,))
    with pytest.raises(TooFewRuns, match="all runs are excluded") as refused:
        compare_judged(judged)
    assert "r001" not in str(refused.value)
