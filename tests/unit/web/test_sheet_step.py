"""What the run sheet's step says before the start ends as a sentence does."""

import pytest

from strikeproof.web.planning.sheet_step import _sentence


@pytest.mark.parametrize("text", ["the rating is 6.2 bar", "The rating is 6.2 bar."])
def test_a_note_ends_with_one_full_stop(text: str) -> None:
    assert _sentence(text) == "The rating is 6.2 bar."
