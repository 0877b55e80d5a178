"""Every prior says where it comes from, and one that stands for a published figure agrees with it.

The rows are those of docs/against-the-world.md; a new one has to be entered here, with the prior that its
figure is of or with why it is of none.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from strikeproof.desk.simulating.bench import ASSUMED_SOURCES
from strikeproof.drivetrain import MECHANISMS, PRIOR_SOURCES, complete_tool

RESULT, OUTSIDE, NO_FIGURE = "a result", "left out of the model", "no figure could be read"
ROWS = {
    "a structural bolt reaches snug": RESULT,
    "least pretension of that bolt": RESULT,
    "half a turn past snug": OUTSIDE,
    "blows of spring and cam, 1/2 in": "blow_rate",
    "contact against interval": RESULT,
    "a lug nut by an impact wrench": RESULT,
    "scatter of preload between tightenings": RESULT,
    "the same, by one tool on one joint": NO_FIGURE,
    "friction against speed": OUTSIDE,
    "friction over repeated tightening": OUTSIDE,
    "preload lost afterwards": OUTSIDE,
    "proof torque of impact sockets": NO_FIGURE,
    "identified model of an electric wrench": NO_FIGURE,
    "anvil's advance and torque of one blow, measured": NO_FIGURE,
}
PUBLISHED = {"blow_rate": ("spring-and-cam", 0.0127, 42.0)}  # Preprints 202601.0315, introduction


def test_every_row_names_its_prior_or_why_it_has_none() -> None:
    page = Path(__file__).parents[2].joinpath("docs/against-the-world.md").read_text("utf-8")
    lines = [line for line in page.splitlines() if line.startswith("| ")]
    assert [line.split(" | ")[0].removeprefix("| ") for line in lines[1:]] == list(ROWS)
    assert set(PUBLISHED) == set(ROWS.values()) - {RESULT, OUTSIDE, NO_FIGURE}


@pytest.mark.parametrize("name", PUBLISHED)
def test_a_published_figure_is_the_middle_of_its_prior(name: str) -> None:
    mechanism, drive, figure = PUBLISHED[name]
    priors = {each: value for each, value, _unit in complete_tool("t", mechanism, drive).priors}
    assert priors[name] == figure  # it was taken from there


@pytest.mark.parametrize("mechanism", MECHANISMS)
@pytest.mark.parametrize("drive", [0.0095, 0.0127, 0.019])
def test_every_prior_says_its_source_or_that_it_is_an_estimate(mechanism: str, drive: float) -> None:
    for name, _value, _unit in complete_tool("t", mechanism, drive).priors:
        assert any(word in PRIOR_SOURCES[name] for word in ("estimate", "Preprints")), name
    assert all(ASSUMED_SOURCES.values())
