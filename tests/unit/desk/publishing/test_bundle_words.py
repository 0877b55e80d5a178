"""What a recomputation comes to, in words."""

from __future__ import annotations

from strikeproof.desk.publishing.bundle.words import _table_words
from strikeproof.publish.data.agreement import Agreement


def test_one_row_is_one_row() -> None:
    assert _table_words(Agreement("t", 1, 1, 0.0, ())) == "1 row, 1 number: the same in every digit"
    assert _table_words(Agreement("t", 2, 6, 0.0, ())).startswith("2 rows, 6 numbers")
