"""A saved explanation of an older program is never shown."""

from tests.frozen_results import (
    CHAINS,
    CHANGED,
    ENGINE_RELATIVE,
    differences,
    engine_results,
    explained,
    read_expected,
)

from strikeproof.desk.workspace.results_version import EXPLANATIONS
from strikeproof.explain import Explanation


def test_an_explanation_that_changes_raises_the_version_of_explanations(explanation: Explanation) -> None:
    expected = read_expected("explanations")
    before = expected["results"]
    found = differences(engine_results(), before["engine"], ENGINE_RELATIVE)
    found += differences(explained(explanation), before["explained"], **CHAINS)
    assert not found, "\n".join([CHANGED.format(name="EXPLANATIONS"), *found[:20]])
    assert expected["version"] == EXPLANATIONS, CHANGED.format(name="EXPLANATIONS")
