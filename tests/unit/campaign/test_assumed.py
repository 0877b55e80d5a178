"""What is shown of an assumption names that assumption, not another one."""

from __future__ import annotations

from pathlib import Path

import pytest

from strikeproof.campaign.flags import FLAGS
from strikeproof.capture import read_log


def assumptions(folder: Path, half: str) -> list[str]:
    """What is assumed of a log whose dates may be day or month first, its clock with or without a half."""
    log = folder / "log.csv"
    times = (f"03/04/2024 01:00:{i // 10:02d}.{i % 10}{half},{0.01 * i:.2f}" for i in range(200))
    log.write_text("\n".join(["date,load [kN]", *times]) + "\n")
    return [each.detail for each in read_log(log).findings if each.kind == "assumed"]


def test_an_open_date_is_not_shown_as_a_rate_that_was_counted(tmp_path: Path) -> None:
    (detail,) = assumptions(tmp_path, "")
    assert "03/04/2024" in detail and "day" in detail and "month" in detail
    for word in ("rate", "counted", "date", "day"):
        assert word not in FLAGS["assumed"].words  # a rig without a clock has the same flag
    assert "day and month" in FLAGS["assumed"].meaning and "rate" in FLAGS["assumed"].meaning


@pytest.mark.parametrize("half", [" PM", " AM"])
def test_a_clock_of_two_halves_has_the_month_first_and_nothing_is_assumed(tmp_path: Path, half: str) -> None:
    assert assumptions(tmp_path, half) == []
