"""What an undone change was, in a few words."""

from __future__ import annotations

from typing import Any

import pytest

from strikeproof.desk.setting_up.said_change import say_change

AIR = {"name": "air-a", "drive_mm": 12.7}
OIL = {"name": "oil-b", "drive_mm": 19}


@pytest.mark.parametrize(
    ("before", "after", "said"),
    [
        ({"protocol": {"repeats": 4}}, {"protocol": {"repeats": 3}}, "Repeats: 4 → 3"),
        ({"tool": [AIR]}, {"tool": [{**AIR, "drive_mm": 19}]}, "Square drive of tool 1: 12.7 → 19"),
        ({"tool": [AIR]}, {"tool": [{**AIR, "name": "b"}]}, "Name of tool 1: air-a → b"),
        ({"tool": [AIR, OIL]}, {"tool": [AIR]}, "tool oil-b is gone"),
        ({}, {"tool": [AIR]}, "tool air-a is back"),
        ({"tool": [AIR, OIL]}, {"tool": [OIL, AIR]}, "the order of tool entries"),
        ({"bolt": {"friction": 0.1}}, {}, "Friction, total: 0.1 → not given"),
        ({"a": 1, "b": 1, "c": 1}, {"a": 2, "b": 2, "c": 2}, "a: 1 → 2; b: 1 → 2 and 1 more"),
        ({"a": 1}, {"a": 1}, "calibration readings"),
    ],
)
def test_what_was_undone_is_said(before: dict[str, Any], after: dict[str, Any], said: str) -> None:
    assert say_change(before, after) == said
