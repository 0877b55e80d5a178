"""Names of stock that nobody sells are refused with a fix."""

from __future__ import annotations

import pytest

from strikeproof.errors import StrikeproofError
from strikeproof.parts import find_stock


@pytest.mark.parametrize(
    "name",
    [
        "bar . mm",
        "bar 5.5.5 mm",
        "bar 0 mm",
        "bar 1e9 mm",
        "bar 99999",
        "drive square .",
        "drive square 0",
        "nut M99",
    ],
)
def test_sizes_that_are_none(name):
    with pytest.raises(StrikeproofError) as caught:
        find_stock(name)
    assert caught.value.fix


def test_sizes_with_and_without_their_unit():
    assert find_stock("bar 40") == find_stock("round bar 40 mm")
    assert find_stock("bar 12.5 mm").outer.size == pytest.approx(12.5e-3)
