"""Errors carry what is wrong and the fix, also home from another process."""

import pickle

import pytest

from strikeproof.errors import (
    BadFile,
    BadInput,
    DidNotConverge,
    NotFound,
    Problem,
    StoreError,
    StrikeproofError,
    TooFewRuns,
    nearest,
)

ERRORS = [
    BadInput("a value of 3", where="rig.unit", allowed="1 or 2", fix="take 2"),
    BadFile([Problem("a.csv", 3, "no number", "write one"), Problem("a.csv", None, "too long", "cut it")]),
    TooFewRuns("nothing to compare", got=1, needed=4),
    NotFound("article", "rnig", ["ring", "plain"]),
    DidNotConverge("the fit", best=(1.0, 2.0), fix="give more runs"),
    StoreError("the disk is full", "free some"),
]


@pytest.mark.parametrize("error", ERRORS, ids=lambda error: type(error).__name__)
def test_an_error_survives_another_process(error: StrikeproofError) -> None:
    back = pickle.loads(pickle.dumps(error))
    assert type(back) is type(error)
    assert str(back) == str(error)
    assert vars(back) == vars(error)


def test_an_error_is_one_line_with_its_fix() -> None:
    assert str(ERRORS[0]) == "rig.unit: a value of 3 (allowed: 1 or 2); take 2"
    assert str(ERRORS[1]) == "a.csv, line 3: no number; write one (and 1 more)"
    assert "did you mean 'ring'?" in str(ERRORS[3])
    assert "3 or more runs" in str(ERRORS[2])
    readings = TooFewRuns("the calibration", got=0, needed=3, kind="readings")
    assert str(readings) == "the calibration: 0 readings, 3 needed; add 3 or more readings"


def test_nearest_is_blind_to_case_and_silent_when_nothing_is_near() -> None:
    assert nearest("Margin_Precent", ["margin_percent", "name"]) == "margin_percent"
    assert nearest("zzz", ["margin_percent", "name"]) is None
    assert nearest("x", []) is None
