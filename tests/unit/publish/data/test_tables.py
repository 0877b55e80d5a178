"""The tables of results: units in their heads, every digit, and no cell that a spreadsheet would run."""

from __future__ import annotations

import csv
import io
import json
from dataclasses import replace

from tests.unit.publish.sample import sample_report

from strikeproof.language import Said, speaking
from strikeproof.publish.data.agreement import compare_table
from strikeproof.publish.data.tables import page_tables, result_tables, write_csv, write_json


def test_a_csv_file_has_its_units_and_every_digit() -> None:
    report = sample_report()
    runs = next(each for each in result_tables(report) if each.name == "runs")
    rows = list(csv.DictReader(io.StringIO(write_csv(runs))))
    by_name = {run.row.run: run for run in report.runs}
    assert "score [kN]" in rows[0] and "torque_equivalent [N·m]" in rows[0]
    for row in rows:
        score = by_name[row["run"]].score
        assert (float(row["score [kN]"]) if row["score [kN]"] else None) == score


def test_json_says_the_same_with_the_meaning_of_each_column() -> None:
    for table in result_tables(sample_report()):
        document = json.loads(write_json(table))
        assert [each["name"] for each in document["columns"]] == [each.name for each in table.columns]
        assert all(each["means"] for each in document["columns"])
        assert [tuple(row) for row in document["rows"]] == list(table.rows)
        assert len({row[: table.keys] for row in table.rows}) == len(table.rows)


def test_no_cell_is_a_formula() -> None:
    report = sample_report()
    hostile = replace(
        report.runs[0], row=replace(report.runs[0].row, note='=HYPERLINK("http://x")', set_aside="@SUM(1)")
    )
    text = write_csv(page_tables(replace(report, runs=(hostile, *report.runs[1:])))[1])
    cells = [cell for row in csv.reader(io.StringIO(text)) for cell in row]
    assert '\'=HYPERLINK("http://x")' in cells and "'@SUM(1)" in cells
    assert not [cell for cell in cells if cell[:1] in "=@" and cell]


def test_what_others_compare_is_the_same_in_every_language() -> None:
    report = sample_report()
    campaign = replace(report.campaign, rig=replace(report.campaign.rig, unit="reading"))
    report = replace(report, campaign=campaign)
    english = result_tables(report)
    for language in ("de", "es"):
        with speaking(language):
            for ours, theirs in zip(result_tables(report), english, strict=True):
                assert [each.head for each in ours.columns] == [each.head for each in theirs.columns]
                assert compare_table(ours, [each.name for each in theirs.columns], theirs.rows).agrees
                assert all(type(cell) is not Said for row in ours.rows for cell in row)
