"""A sheet that the program writes keeps every column that says something."""

from strikeproof.campaign.run_sheet import COLUMNS
from strikeproof.campaign.sheet_text import write_run_sheet_text


def test_further_columns_are_written_where_a_row_fills_them() -> None:
    rows = [{"run": "r1", "rotation": "reverse"}, {"run": "r2", "channel": None}]
    head, first, second = write_run_sheet_text(rows).splitlines()
    assert head.split(",") == [*COLUMNS, "rotation"]
    assert (first[:3], first[-8:], second[-1]) == ("r1,", ",reverse", ",")
    assert write_run_sheet_text([{"run": "r1"}]).splitlines()[0].split(",") == list(COLUMNS)
