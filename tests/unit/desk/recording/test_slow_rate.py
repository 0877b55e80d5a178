"""A rig that sends few readings: the recorder says which loads may not start it."""

import pytest

from strikeproof.desk.recording.next_run import slow_rate_cautions


@pytest.mark.parametrize(("rate", "quiet"), [(10.0, "20"), (20.0, "8"), (80.0, "4")])
def test_a_slow_rig_is_said_to_miss_small_slow_loads(rate: float, quiet: str) -> None:
    (caution,) = slow_rate_cautions(rate)
    assert f"after {quiet} seconds of quiet" in caution and "log to a file" in caution


@pytest.mark.parametrize("rate", [None, 200.0, 10_000.0])
def test_nothing_is_said_of_a_fast_one_or_before_its_rate_is_known(rate: float | None) -> None:
    assert slow_rate_cautions(rate) == ()
