"""A workspace and a folder full of odd texts: everything still reads, judges, shows and writes.

XML 1.0, section 2.2, by the parser of the standard library, says whether a drawing may hold its texts; the
reader of CSV is that of the standard library too.
"""

from __future__ import annotations

import csv
import io
import json
import sqlite3
import zipfile
from pathlib import Path
from xml.etree import ElementTree

import pytest
from tests.commands import strikeproof

from strikeproof.desk.loading.load import load_campaign
from strikeproof.desk.publishing.bundle.making import BundleWishes, make_bundle
from strikeproof.desk.publishing.parts import chart_file
from strikeproof.desk.recording.recorder import open_recorder
from strikeproof.desk.setting_up.run_rows import read_run_cells
from strikeproof.desk.workspace.opening import open_campaign

CAMPAIGN = """\
[campaign]
name = "drums"
reference = "plain"
[rig]
unit = "kN"
[[tool]]
name = "air"
[[article]]
name = "plain"
[[article]]
name = "=ring"
note = "<&>"
"""
HEAD = "run,log,tool,article,block,bolt,started,set_aside,note,score\n"
ODD = ("\0", "\x1b[2J", "\x9b", "\u202e", "\ufffe", "\x08")


def _folder(path: Path) -> Path:
    path.mkdir()
    (path / "campaign.toml").write_text(CAMPAIGN, encoding="utf-8")
    lines = [
        f"r{i},,air,{'plain' if i % 2 else '=ring'},{(i + 1) // 2},,,,odd {odd} note,{100 + i}.5\n"
        for i, odd in enumerate(ODD, start=1)
    ]
    (path / "runs.csv").write_text(HEAD + "".join(lines), encoding="utf-8")
    return path


@pytest.fixture(scope="module")
def lab(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A workspace into which odd texts came both by a sheet and, past every gate, straight into its store."""
    here = tmp_path_factory.mktemp("nasty")
    outcome = load_campaign(_folder(here / "campaign"), here / "lab")
    assert outcome.runs_loaded == len(ODD) == len(outcome.problems)
    assert all(each.problem.startswith("note: character 5 is ") for each in outcome.problems)
    store, key, _ = open_campaign(here / "lab", None)
    store.amend_run(store.find_run(key, "r1"), {"note": "past \0 the \x1b]0;gate\x07 half \ud800"})
    store.set_aside(store.find_run(key, "r2"), "=HYPERLINK(1) \x1b[31m")
    store.put_back(store.find_run(key, "r2"))
    store.set_aside(store.find_run(key, "r3"), "@home \x9b")
    return here / "lab"


@pytest.mark.parametrize("command", ["runs", "compare", "history"])
def test_the_terminal_obeys_nothing(lab: Path, command: str) -> None:
    words = [command, *(["r2"] if command == "history" else []), "-w", lab]
    for more in ([], ["--json"] if command != "history" else []):
        out, err = strikeproof(*words, *more)
        assert out and not set(out + err) & {"\x1b", "\0", "\x9b", "\x07", "\u202e"}
        assert not more or json.loads(out)


def test_the_recorder_writes_a_sheet_that_reads_back(lab: Path) -> None:
    with open_recorder(lab) as recorder:
        recorder.book.note("r4", "sound")
    sheet = next((lab / "campaigns").iterdir()) / "runs.csv"
    text = sheet.read_text(encoding="utf-8")
    assert all(each.isprintable() for each in text.splitlines())
    cells = {line["run"]: line for line in read_run_cells(sheet)}
    assert [line["article"] for line in cells.values()] == ["plain", "=ring"] * 3
    assert cells["r4"]["note"] == "sound" and cells["r3"]["set_aside"].startswith("@home")
    outcome = load_campaign(sheet.parent, lab)
    assert not outcome.problems and outcome.runs_loaded == 0


def test_page_charts_and_numbers_hold_nothing_odd(lab: Path) -> None:
    place = lab.parent / "bundle.zip"
    make_bundle(lab, place, BundleWishes("CC0-1.0", personal="keep"))
    with zipfile.ZipFile(place) as package:
        scores = package.read("results/runs.csv").decode()
        drawings = [package.read(name) for name in package.namelist() if name.endswith(".svg")]
    for text in (scores, chart_file(lab, None, "run-order", "csv", {}).decode()):
        for row in csv.reader(io.StringIO(text)):
            assert all(
                cell[:1] not in ("=", "@", "+", "-") or cell.lstrip("+-")[:1].isdigit() for cell in row
            )
    assert "'=ring" in scores and "'@home" in scores
    assert drawings and all(ElementTree.fromstring(each) is not None for each in drawings)


@pytest.mark.parametrize(
    ("old", "new", "where"),
    [
        ('name = "drums"', 'name = "dr\\u001bums"', "campaign.name: character 3 is ESC"),
        ('name = "=ring"', 'name = "ri\\u0000ng"', "article.2.name: character 3 is NUL"),
        ('unit = "kN"', 'unit = "kN\\u202e"', "rig.unit: character 3 is a mark that reverses text"),
        ('note = "<&>"', 'note = "a\\u0007"', "article.2.note: character 2 is BEL"),
        ('name = "air"', f'name = "{"a" * 81}"', "tool.1.name: it has 81 characters"),
        ('note = "<&>"', '[[article.part]]\nname = "s\\u001b"', "character 2 is ESC"),
    ],
)
def test_campaign_toml_is_refused_by_key_and_line(tmp_path: Path, old: str, new: str, where: str) -> None:
    folder = _folder(tmp_path / "campaign")
    (folder / "campaign.toml").write_text(CAMPAIGN.replace(old, new), encoding="utf-8")
    (problem,) = [
        each
        for each in load_campaign(folder, tmp_path / "lab").problems
        if where in each.problem and each.line is not None
    ]
    assert "delete it" in problem.fix or problem.fix == "shorten it"


def test_a_workspace_made_before_texts_were_judged_works(tmp_path: Path, lab: Path) -> None:
    """Its store as the last schema left it, with odd texts in every place that a person could reach."""
    old = tmp_path / "old"
    sheet = _folder(tmp_path / "campaign") / "runs.csv"
    load_campaign(sheet.parent, old)
    sheet.write_text(sheet.read_text(encoding="utf-8").replace("r1,", "r\x1b1,"), encoding="utf-8")
    with sqlite3.connect(old / "strikeproof.db") as db:
        db.execute("UPDATE alembic_version SET version_num = '0004'")
        db.execute("ALTER TABLE event DROP COLUMN allowed_n")  # came later
        db.execute("DROP TABLE rig_calibration")  # and this
        db.execute("UPDATE run SET name = 'r\x1b1', row = json_set(row, '$.run', 'r\x1b1') WHERE name = 'r1'")
        db.execute(
            "UPDATE run SET row = json_set(row, '$.article', '=ri\x07ng') WHERE name IN ('r2', 'r4', 'r6')"
        )
        db.execute("UPDATE campaign SET record = replace(record, '=ring', '=ri\\u0007ng')")
    db.close()
    out, _ = strikeproof("runs", "-w", old)
    assert "r\ufffd1" in out and "=ri\ufffdng" in out
    strikeproof("compare", "-w", old)
    with open_recorder(old) as recorder:
        recorder.book.note("r\ufffd1", "the first")
        assert recorder.book.kept.keys() == {line["run"] for line in recorder.book._folder.lines}
