"""What a sentence claims is what was measured: docs/validity.md and the sentences may not part."""

import re
from pathlib import Path

import pytest

from strikeproof.judge.caveats import LOOKING_AGAIN_PERCENT

PAGE = (Path(__file__).parents[3] / "docs" / "validity.md").read_text(encoding="utf-8")


def measured(row):
    """The last rate of a row of the page, and its Monte Carlo error."""
    (line,) = [each for each in PAGE.splitlines() if each.startswith("|") and row in each]
    rate, error = re.findall(r"([\d.]+) ± ([\d.]+)", line)[-1]
    return float(rate), float(error)


@pytest.mark.parametrize(
    ("row", "low", "high"),
    [
        ("looked at after each, until a difference shows", LOOKING_AGAIN_PERCENT, LOOKING_AGAIN_PERCENT),
        ("12 blocks, four planned looks", 0.0, 5.0),
        ("8 blocks, reference at both ends", 0.0, 5.0),
        ("warm-up of 3 %, 8 blocks, reference shuffled", 0.0, 5.0),
        ("| three runs of an article in each of 4 blocks", 0.0, 5.0),
        ("all articles at the margin, either side", 0.0, 2.5),
        ("asked: five equal articles, 4 to 7 unequal blocks, drift", 0.0, 5.0),
        ("asked: warm-up of 3 % in each of 8 blocks", 0.0, 5.0),
        ("asked: three runs of an article in each of 4 blocks", 0.0, 5.0),
        ("asked of tools: equal tools, 4 articles", 0.0, 5.0),
        ("asked of specimens: three that scatter by 2 %", 0.0, 5.0),
        ("asked of a change: it does nothing", 0.0, 5.0),
        ("asked of ageing: nothing changes, 6 to 10 blocks", 0.0, 5.0),
        ("asked of ageing: the same in 12 blocks", 80.0, 80.0),
    ],
)
def test_a_claim_lies_within_what_was_measured(row, low, high):
    rate, error = measured(row)
    assert low - 3 * error <= rate <= high + 3 * error
