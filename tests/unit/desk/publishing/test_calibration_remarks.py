"""Notes and comments of a calibration sheet are found and taken out; its readings stay as they are."""

from __future__ import annotations

from pathlib import Path

import pytest

from strikeproof.campaign.calibration_sheet import read_calibration_sheet
from strikeproof.desk.publishing.bundle.calibration_remarks import find_sheet_remarks, strip_sheet_remarks

SHEETS = [
    '# by Zelda\napplied,reading,note,direction\n0,0.1,"Zelda, twice",up\n1,"1.2",,up\n',
    "sep=;\napplied;reading;Note\n0,5;0,1;Zelda\n1,5;1,2;\n  # Zelda again\n2,5;2,2;\n",
    "\ufeffapplied\treading\tnote\r\n0\t0.1\tZelda\r\n1\t1.2\t\r\n",
]


@pytest.mark.parametrize("text", SHEETS)
def test_notes_go_and_readings_stay(tmp_path: Path, text: str) -> None:
    sheet = tmp_path / "calibration.csv"
    sheet.write_bytes(text.encode())
    before = read_calibration_sheet(sheet)
    found = list(find_sheet_remarks(sheet))
    assert len(found) == text.count("Zelda") and not before[1]
    assert all("Zelda" in each.says for each in found)
    strip_sheet_remarks(sheet)
    assert "Zelda" not in sheet.read_text() and not list(find_sheet_remarks(sheet))
    assert read_calibration_sheet(sheet) == before
