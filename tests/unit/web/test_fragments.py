"""Words of a template: what begins with a large letter, and what is left as it is written."""

from __future__ import annotations

import pytest

from strikeproof.web.fragments import begun


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ("the name is empty", "The name is empty"),
        ("stopped", "Stopped"),
        ("ring-24 has no runs", "ring-24 has no runs"),
        ("plain: 2 runs, 3 needed", "plain: 2 runs, 3 needed"),
        ("'wide' is no length", "'wide' is no length"),
        ("", ""),
    ],
)
def test_an_error_begins_a_sentence_and_spells_names_as_they_are(text: str, shown: str) -> None:
    assert begun(text) == shown
