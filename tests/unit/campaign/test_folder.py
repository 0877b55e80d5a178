"""A campaign folder comes in whole whatever wrote its files, or says all that is wrong with it."""

import json
import tomllib
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from strikeproof.campaign.folder import read_campaign, read_folder
from strikeproof.campaign.keys import CampaignFile
from strikeproof.errors import BadFile, Problem

CAMPAIGN = """\
[campaign]
name = "Prüfstand"
reference = "plain"
[calibration]
sheet = "calibration.csv"
applied_unit = "N m"
[[tool]]
name = "air"
[[article]]
name = "plain"
[[article]]
name = "ring"
"""
RUNS = "run,log,article,block\n1,1.csv,plain,a\n2,2.csv,ring,a\n"
READINGS = "applied,reading,direction,repeat\n0,0.1,up,1\n100,20.5,up,1\n0,0.2,down,1\n"


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    (tmp_path / "campaign.toml").write_text(CAMPAIGN, encoding="utf-8")
    (tmp_path / "runs.csv").write_text(RUNS)
    (tmp_path / "calibration.csv").write_text(READINGS)
    return tmp_path


def test_all_of_a_folder_is_read(folder: Path) -> None:
    for path in (folder, folder / "campaign.toml"):
        found = read_folder(path)
        assert found.problems == ()
        assert found.folder == folder
        assert found.campaign.name == "Prüfstand"
        assert [(row.run, row.article, row.tool, row.line) for row in found.rows] == [
            ("1", "plain", "air", 2),
            ("2", "ring", "air", 3),
        ]
        assert [(row.applied, row.reading) for row in found.calibrations[0].rows] == [
            (0, 0.1),
            (100, 20.5),
            (0, 0.2),
        ]
        assert found.calibrations[0].sheet == folder / "calibration.csv"


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "utf-16-le", "cp1252"])
@pytest.mark.parametrize("end", ["\n", "\r\n"])
def test_however_an_editor_saved_it(folder: Path, encoding: str, end: str) -> None:
    (folder / "campaign.toml").write_bytes(CAMPAIGN.replace("\n", end).encode(encoding))
    assert read_folder(folder).campaign.name == "Prüfstand"
    wrong = CAMPAIGN.replace('name = "ring"', 'nam = "ring"').replace("\n", end)
    (folder / "campaign.toml").write_bytes(wrong.encode(encoding))
    with pytest.raises(BadFile) as told:
        read_folder(folder)
    assert {problem.line for problem in told.value.problems} == {11, 12}


def test_a_run_sheet_and_a_calibration_sheet_may_be_workbooks(folder: Path) -> None:
    for name, text in (("runs", RUNS), ("calibration", READINGS)):
        book = openpyxl.Workbook()
        for line in text.splitlines():
            book.active.append([float(cell) if cell.isdigit() else cell for cell in line.split(",")])
        book.save(folder / f"{name}.xlsx")
    text = CAMPAIGN.replace("calibration.csv", "calibration.xlsx") + '[runs]\nsheet = "runs.xlsx"\n'
    plain = read_folder(folder)
    (folder / "campaign.toml").write_text(text, encoding="utf-8")
    found = read_folder(folder)
    assert found.problems == ()
    assert found.rows == plain.rows
    assert found.calibrations[0].rows == plain.calibrations[0].rows


def test_a_wrong_calibration_leaves_the_runs_and_a_wrong_run_the_others(folder: Path) -> None:
    (folder / "calibration.csv").write_text(READINGS.replace("20.5", "?"))
    (folder / "runs.csv").write_text(RUNS.replace("ring", "rong"))
    found = read_folder(folder)
    assert [row.run for row in found.rows] == ["1"]
    assert found.calibrations[0].rows == ()
    assert [(Path(each.file).name, each.line) for each in found.problems] == [
        ("runs.csv", 3),
        ("calibration.csv", 3),
    ]
    assert found.problems[0].fix == "did you mean 'ring'?"


@pytest.mark.parametrize(
    ("text", "line", "says"),
    [
        ('[campaign\nname = "x"', 1, "not TOML"),
        ('[campaign]\nname = x"', 2, "not TOML"),
        ("[campaign]\nname = " + "9" * 5000, None, "not TOML"),
        ("a = " + "[" * 3000, None, "24 deep"),
        ("", None, "is empty"),
        (CAMPAIGN.replace("[[tool]]", "[tool]"), 7, "[[tool]]"),
        (CAMPAIGN.replace("[campaign]", "[[campaign]]"), 1, "[campaign]"),
        (CAMPAIGN.replace('[[tool]]\nname = "air"\n', ""), None, "add 'tool'"),
        (CAMPAIGN + "[[article.part]]\na = 1\n[rigg]\n", 15, "did you mean 'rig'?"),
    ],
)
def test_a_file_of_the_wrong_form_is_told(folder: Path, text: str, line: int | None, says: str) -> None:
    (folder / "campaign.toml").write_text(text, encoding="utf-8")
    with pytest.raises(BadFile) as told:
        read_folder(folder)
    assert any(each.line == line and says in str(each) for each in told.value.problems), told.value.problems


def test_a_missing_file_is_told_with_what_is_near(folder: Path) -> None:
    (folder / "campaign.toml").rename(folder / "campain.toml")
    with pytest.raises(BadFile, match=r"did you mean 'campain\.toml'"):
        read_folder(folder)
    (folder / "campain.toml").rename(folder / "campaign.toml")
    (folder / "runs.csv").unlink()
    with pytest.raises(BadFile, match=r"runs\.csv: there is no such file"):
        read_folder(folder)


def test_geometry_is_kept_word_for_word(folder: Path) -> None:
    part = '[[article.part]]\nname = "tube"\nshape = "tube"\nouter_diameter_mm = "1.5 in"\n'
    part += 'bore_mm = 20\nlength_mm = 50\nmaterial = "S355J2"\n'
    (folder / "campaign.toml").write_text(CAMPAIGN + part, encoding="utf-8")
    (ring,) = [each for each in read_campaign(folder / "campaign.toml").articles if each.name == "ring"]
    assert ring.geometry is not None
    (kept,) = json.loads(ring.geometry)["part"]
    assert kept["outer_diameter_mm"] == "1.5 in"


@pytest.mark.parametrize(
    ("part", "says"),
    [
        ('shape = "tube"\nouter_diameter_mm = 20\nbore_mm = 30\nlength_mm = 50\n', "bore"),
        ('shape = "tube"\nouter_diametre_mm = 20\n', "did you mean 'outer_diameter_mm'"),
        ('shape = "bar"\nouter_diameter_mm = 20\nlength_mm = 9\nmaterial = "cheese"\n', "cheese"),
    ],
)
def test_geometry_that_cannot_be_is_told_with_its_line(folder: Path, part: str, says: str) -> None:
    head = '[[article.part]]\nname = "x"\n' + ("" if "material" in part else 'material = "S355J2"\n')
    (folder / "campaign.toml").write_text(CAMPAIGN + head + part, encoding="utf-8")
    with pytest.raises(BadFile) as told:
        read_campaign(folder / "campaign.toml")
    (problem,) = told.value.problems
    assert says in str(problem)
    assert problem.line is not None
    assert problem.line >= CAMPAIGN.count("\n") - 1


def test_a_rider_off_its_carrier_is_told_at_its_own_key(folder: Path) -> None:
    parts = """[[article.part]]
name = "socket"
shape = "bar"
outer_diameter_mm = 40
length_mm = 50
material = "S355J2"

[[article.part]]
name = "disc"
shape = "disc"
outer_diameter_mm = 80
bore_mm = 40
length_mm = 9
material = "S355J2"
carrier = "socket"
at_mm = 500
"""
    (folder / "campaign.toml").write_text(CAMPAIGN + parts, encoding="utf-8")
    with pytest.raises(BadFile, match="off its carrier 'socket'") as told:
        read_campaign(folder / "campaign.toml")
    (problem,) = told.value.problems
    assert problem.line == (CAMPAIGN + parts).count("\n")


def test_own_materials_stand_beside_the_campaign(folder: Path) -> None:
    part = '[[article.part]]\nname = "x"\nshape = "bar"\nouter_diameter_mm = 20\nlength_mm = 9\n'
    (folder / "campaign.toml").write_text(CAMPAIGN + part + 'material = "shop bronze"\n', encoding="utf-8")
    with pytest.raises(BadFile, match="shop bronze"):
        read_campaign(folder / "campaign.toml")
    (folder / "materials.toml").write_text(
        '[material."shop bronze"]\ndensity_kg_m3 = 8800\nshear_modulus_gpa = 42\nelastic_modulus_gpa = 110\n'
        'yield_mpa = 240\ntensile_mpa = 400\nendurance_mpa = 110\nsource = "our supplier"\n',
        encoding="utf-8",
    )
    assert read_campaign(folder / "campaign.toml").articles


def test_the_template_is_a_campaign(tmp_path: Path) -> None:
    from importlib.resources import files

    for name in ("campaign.toml", "runs.csv", "calibration.csv"):
        (tmp_path / name).write_bytes((files("strikeproof.campaign") / "templates" / name).read_bytes())
    found = read_folder(tmp_path)
    assert found.campaign.reference == "plain-24"
    assert [problem.problem for problem in found.problems] == ["the run sheet has no runs yet"]
    every_line_on = [
        line.removeprefix("# ") if "=" in line or line.startswith("# [") else line
        for line in (tmp_path / "campaign.toml").read_text().splitlines()
    ]
    (tmp_path / "campaign.toml").write_text("\n".join(every_line_on))
    tables = tomllib.loads("\n".join(every_line_on))
    assert {"calibration", "protocol"} <= tables.keys()
    assert read_campaign(tmp_path / "campaign.toml").calibration is not None


TABLES = sorted(CampaignFile.model_fields)
KEYS = sorted(
    {
        name
        for table in CampaignFile.model_json_schema()["$defs"].values()
        for name in table.get("properties", {})
    }
)
VALUES: Any = st.recursive(
    st.booleans()
    | st.integers(-3, 99)
    | st.floats()
    | st.sampled_from(["", "air", "10 s", "end", "at 5 s", "time to 4 kN", "M20", "10.9", "kN", "plain"])
    | st.text(max_size=5),
    lambda inner: st.lists(inner, max_size=2) | st.dictionaries(st.sampled_from(KEYS), inner, max_size=5),
    max_leaves=12,
)


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], max_examples=150, deadline=None)
@given(st.dictionaries(st.sampled_from(TABLES), VALUES, max_size=6))
def test_any_toml_is_a_campaign_or_told(tmp_path: Path, tables: dict[str, Any]) -> None:
    _read_or_told(tmp_path, "\n".join(f"{key} = {_toml(value)}" for key, value in tables.items()))


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], max_examples=150, deadline=None)
@given(st.binary(max_size=60) | st.text(max_size=60).map(str.encode), st.integers(0, len(CAMPAIGN)))
def test_any_bytes_are_a_campaign_or_told(tmp_path: Path, piece: bytes, at: int) -> None:
    whole = CAMPAIGN.encode()
    _read_or_told(tmp_path, whole[:at] + piece + whole[at:])


def _read_or_told(folder: Path, content: str | bytes) -> None:
    path = folder / "campaign.toml"
    path.write_bytes(content.encode("utf-8", "replace") if isinstance(content, str) else content)
    told: tuple[Problem, ...] = ()
    try:
        found = read_campaign(path)
    except BadFile as wrong:
        told = wrong.problems
    if told:
        assert all(problem.problem and problem.fix for problem in told)
    else:
        assert found.reference in {article.name for article in found.articles}


def _toml(value: Any) -> str:
    match value:
        case bool():
            return str(value).lower()
        case dict():
            return "{ " + ", ".join(f"{key} = {_toml(each)}" for key, each in value.items()) + " }"
        case list():
            return "[" + ", ".join(map(_toml, value)) + "]"
        case str():
            return '"' + "".join(c if c.isalnum() or c in " ." else f"\\u{ord(c):04x}" for c in value) + '"'
        case _:
            return str(value)
