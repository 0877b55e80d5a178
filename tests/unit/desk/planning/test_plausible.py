"""What is hardly meant is said beside its field.

Squares of 6.3 mm to 63 mm: ISO 1174-2; an M24 has a head of 36 mm across flats: ISO 4014.
Both are from memory.
"""

from __future__ import annotations

from typing import Any

from strikeproof.desk.articles.starting_shapes import SHAPES, start_article
from strikeproof.desk.planning.plausible import doubt_value
from strikeproof.desk.setting_up.edits import Place

DRIVE: Place = ("tool", 0, "drive_mm")


def test_a_square_that_no_tool_has_is_doubted_and_a_usual_one_is_not() -> None:
    assert "6.3 mm to 63 mm" in doubt_value({"tool": [{"drive_mm": 99999}]}, DRIVE)
    for fine in (6.3, 12.7, 63.0, None, "bananas"):
        assert doubt_value({"tool": [{"drive_mm": fine}]}, DRIVE) == ""


def test_a_socket_of_another_size_is_said_at_the_thread() -> None:
    article: dict[str, Any] = start_article(SHAPES[0].word, "plain", 24.0, 12.7)
    tables = {"bolt": {"thread": "M24x2"}, "article": [article]}
    said = doubt_value(tables, ("bolt", "thread"))
    assert "24 mm" in said and "36 mm" in said and "head_across" not in said
    assert doubt_value({**tables, "bolt": {"thread": "M16"}}, ("bolt", "thread")) == ""
