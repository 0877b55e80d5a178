"""A run found in the sound of a film; the figures of many films are `python -m tests.film_study`."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from tests.film_study import PICTURE_S, SCENES, error_s, find, make_film

from strikeproof.trace import sync_clip

FOUND = ["music as loud as the blows", "second tool as loud"]


@pytest.mark.parametrize("name", FOUND)
def test_a_run_is_found_within_a_picture_whatever_else_is_heard(name: str) -> None:
    blows, samples, first, ratio = make_film(np.random.default_rng(1), SCENES[name])
    found = find(blows, samples)
    assert found.sure and not found.reason
    assert error_s(found, blows, first, ratio) < PICTURE_S


@pytest.mark.parametrize("name", ["another run of the same tool", "scatter of the intervals 0.1 %"])
def test_what_fits_in_several_places_is_not_called_sure(name: str) -> None:
    blows, samples, _first, _ratio = make_film(np.random.default_rng(1), SCENES[name])
    found = find(blows, samples)
    assert not found.sure
    assert found.reason


def test_few_blows_silence_and_a_film_that_misses_most_of_the_run_say_so() -> None:
    assert "too few" in sync_clip(np.arange(4.0), np.zeros(4000)).reason
    assert not sync_clip(np.arange(40) / 30, np.zeros(8000)).sure
    blows, samples, first, _ratio = make_film(
        np.random.default_rng(2), replace(SCENES[FOUND[0]], scatter=0.03)
    )
    assert not find(blows, samples[: int((first + 0.15) * 32_000)]).sure
