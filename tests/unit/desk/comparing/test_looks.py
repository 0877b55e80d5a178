"""Looks after any block need no word on how many blocks there will be."""

from __future__ import annotations

from pathlib import Path

import pytest
from tests.unit.test_cli_ask_elsewhere import write_campaign

from strikeproof.desk.comparing.compare import compare_campaign
from strikeproof.desk.loading.load import load_campaign
from strikeproof.errors import BadInput


@pytest.mark.parametrize("looks", [0, 2])
def test_looks_after_any_block_need_no_planned_repeats(tmp_path: Path, looks: int) -> None:
    path = write_campaign(tmp_path / "a", "a", "bench A", "arm")
    path.write_text(path.read_text().replace("[protocol]", f"[protocol]\nlooks = {looks}"))
    load_campaign(path, tmp_path / "lab")
    if looks:
        with pytest.raises(BadInput, match="how many repeats"):
            compare_campaign(tmp_path / "lab")
    else:
        found = compare_campaign(tmp_path / "lab").comparison
        assert found.interval_confidence is not None and found.interval_confidence > 0.95
