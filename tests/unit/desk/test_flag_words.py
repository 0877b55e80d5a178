"""Every flag that a run can have is called by plain words, with what to do."""

from __future__ import annotations

from typing import get_args

import pytest

from strikeproof.capture.log import FindingKind
from strikeproof.desk.flag_words import flag_mend, flag_words, list_flags
from strikeproof.trace import FLAG_KINDS

KINDS = sorted({*FLAG_KINDS, *get_args(FindingKind), "only-ratio", "score-only"})


@pytest.mark.parametrize("kind", KINDS)
def test_each_kind_has_words_and_a_mend(kind: str) -> None:
    assert "-" not in flag_words(kind)
    assert flag_mend(kind).endswith(".")


def test_no_two_kinds_are_called_the_same() -> None:
    assert len({flag_words(kind) for kind in KINDS}) == len(KINDS)


def test_a_kind_of_a_later_version_is_still_readable() -> None:
    assert list_flags(["too-short", "not-known-yet"]) == "shorter than the window, not known yet"
    assert flag_mend("not-known-yet") == ""
