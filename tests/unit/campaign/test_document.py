"""The document on the campaign folder tells every key there is, and none there is not."""

import re
from pathlib import Path

import pytest
from pydantic import BaseModel
from pydantic_core import PydanticUndefined

from strikeproof.campaign import keys
from strikeproof.campaign.flags import FLAGS
from strikeproof.campaign.folder import read_folder
from strikeproof.campaign.run_sheet import COLUMNS, FURTHER_COLUMNS

TEXT = (Path(__file__).parents[3] / "docs" / "campaign-folder.md").read_text(encoding="utf-8")

TABLES: dict[str, type[BaseModel]] = {
    f"[[{name}]]" if name in ("other_rig", "tool", "article") else f"[{name}]": model
    for name, model in keys.TABLES.items()
}


def section(title: str) -> str:
    return re.split(r"^##+ ", TEXT.split(f"# {title}\n", 1)[1], maxsplit=1, flags=re.MULTILINE)[0]


def rows(title: str) -> dict[str, list[str]]:
    """First cell to the other cells of the tables in one section."""
    cells = [line.strip("|").split(" | ") for line in section(title).splitlines() if line.startswith("| `")]
    return {row[0].strip().strip("`"): [cell.strip() for cell in row[1:]] for row in cells}


@pytest.mark.parametrize("table", TABLES)
def test_every_key_is_told_and_every_key_told_is_there(table: str) -> None:
    fields = TABLES[table].model_fields
    assert set(rows(f"`{table}`")) == {field.alias or name for name, field in fields.items()}


@pytest.mark.parametrize("table", TABLES)
def test_the_defaults_told_are_the_defaults(table: str) -> None:
    told = rows(f"`{table}`")
    for name, field in TABLES[table].model_fields.items():
        default = told[field.alias or name][1]
        if field.default is PydanticUndefined:
            assert default == "required", name
        elif field.default is None or field.default == []:
            assert default == "–", name
        elif name == "duration":
            assert default == f'"{field.default:g} s"'
        elif isinstance(field.default, bool):
            assert default == str(field.default).lower()
        elif isinstance(field.default, float):
            assert float(default) == field.default
        else:
            assert default.strip('"') == str(field.default)


def test_there_is_no_table_besides() -> None:
    assert set(re.findall(r"^### `(.*)`$", TEXT, re.MULTILINE)) == set(TABLES)
    assert [table.strip("[]") for table in TABLES] == list(keys.CampaignFile.model_fields)


def test_every_column_of_the_run_sheet_is_told() -> None:
    assert tuple(rows("The run sheet")) == (*COLUMNS, *FURTHER_COLUMNS)


def test_every_flag_of_a_run_is_told() -> None:
    told = set(
        re.findall(r"`([a-z-]+)`", "".join(re.findall(r"^\| `.*?` \|", section("Log files"), re.MULTILINE)))
    )
    assert set(FLAGS) == told


def test_the_example_is_a_campaign(tmp_path: Path) -> None:
    toml, runs, readings = re.findall(r"```(?:toml|csv)\n(.*?)```", TEXT, re.DOTALL)
    (tmp_path / "campaign.toml").write_text(toml, encoding="utf-8")
    (tmp_path / "runs.csv").write_text(runs, encoding="utf-8")
    (tmp_path / "calibration.csv").write_text(readings, encoding="utf-8")
    found = read_folder(tmp_path)
    assert found.problems == ()
    assert (len(found.rows), len(found.calibrations[0].rows)) == (3, 4)
    assert found.rows[2].set_aside == "socket not fully on"
