"""Every test that docs/security.md names is there."""

from __future__ import annotations

import re
from pathlib import Path

ROOT = Path(__file__).parents[2]


def test_each_named_test_is_there() -> None:
    named = set(re.findall(r"`(tests/[\w/]+\.py)::(\w+)`", (ROOT / "docs" / "security.md").read_text()))
    assert len(named) > 40
    missing = [
        f"{path}::{name}"
        for path, name in sorted(named)
        if not (ROOT / path).is_file() or f"def {name}(" not in (ROOT / path).read_text()
    ]
    assert missing == []
