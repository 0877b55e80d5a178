"""A rig's line under siege: whatever bytes come, the recorder's steps raise nothing and time goes on."""

from __future__ import annotations

import os

import pytest
from tests.faults.line_siege import besiege

SEED = int(os.environ.get("STRIKEPROOF_SEED", "1"))


def test_a_megabyte_of_hostile_bytes_breaks_nothing() -> None:
    done = besiege(1_000_000, SEED)
    assert done.samples > 10_000, "the siege hardly reached the samples"
    assert done.starts > 0, "the siege hardly reached the watch"


@pytest.mark.siege
def test_a_hundred_megabytes_of_hostile_bytes_break_nothing() -> None:
    done = besiege(100_000_000, SEED)
    print(done)
    assert done.samples > 1_000_000
