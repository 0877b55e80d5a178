"""The true explanation of simulated campaigns is named, or none is; docs/validity.md has the study."""

import pytest
from tests.explain_study import run_campaign


@pytest.mark.parametrize("number", [5, 7], ids=["chain-bonds", "nothing"])
def test_the_true_rival_is_named_or_none(number):
    row = run_campaign(number, seed=2)
    assert row["verdict"] in (row["true"], "cannot tell")
    assert sum(row["covered"]) >= len(row["covered"]) - 2
    assert row["probability"][row["names"].index(row["true"])] > 0.2
