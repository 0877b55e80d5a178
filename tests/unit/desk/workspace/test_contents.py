"""What a workspace holds."""

from __future__ import annotations

from pathlib import Path

import pytest
from tests.unit.desk.scores import Bench, write_folder

from strikeproof.desk.loading.load import load_campaign
from strikeproof.desk.setting_up.editor import start_set_up
from strikeproof.desk.workspace.opening import is_simulated


@pytest.mark.parametrize("simulated", [True, False])
def test_a_campaign_is_simulated_by_its_record_and_by_its_file(tmp_path: Path, simulated: bool) -> None:
    name = "simulated rings"  # the name says nothing
    start_set_up(tmp_path, "planned", {"campaign": {"simulated": simulated}})
    folder = write_folder(tmp_path / "elsewhere", Bench(blocks=1))
    file = folder / "campaign.toml"
    file.write_text(file.read_text().replace("simulated = true", f"simulated = {str(simulated).lower()}"))
    load_campaign(folder, tmp_path)
    assert [is_simulated(tmp_path, each) for each in (name, "planned", "no such")] == [
        simulated,
        simulated,
        False,
    ]
