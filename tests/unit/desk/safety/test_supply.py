"""A supply above the tool's rating is cautioned of in plan, simulation, record, sheet and page."""

from __future__ import annotations

from pathlib import Path

import pytest
from tests.commands import strikeproof

from strikeproof.campaign.folder import read_campaign
from strikeproof.desk.loading.load import load_campaign
from strikeproof.desk.planning.printed_sheet import print_sheet
from strikeproof.desk.publishing.report import write_report
from strikeproof.desk.recording.recorder import open_recorder
from strikeproof.desk.safety.supply import supply_cautions
from strikeproof.desk.setting_up.editor import start_set_up

FILE = """\
[campaign]
name = "hard"
reference = "plain"
[protocol]
duration = "2 s"
repeats = 2
{protocol}
[rig]
unit = "kN"
[bolt]
thread = "M27x3"
class = "12.9"
[[tool]]
name = "air-a"
{tool}
[[article]]
name = "plain"
polar_inertia_kg_m2 = 6e-5
[[article]]
name = "ring"
"""
SCORES = "run,tool,article,block,score\nr1,air-a,plain,1,100\nr2,air-a,ring,1,110\n"


def write(folder: Path, tool: str, protocol: str = "", sheet: str = SCORES) -> Path:
    folder.mkdir()
    (folder / "campaign.toml").write_text(FILE.format(tool=tool, protocol=protocol))
    (folder / "runs.csv").write_text(sheet)
    return folder


@pytest.mark.parametrize(
    ("tool", "protocol", "times"),
    [
        ('mechanism = "air"\nsupply = "12 bar"', "", "1.9 times"),
        ('supply = "12 bar"', "", "1.9 times"),
        ('mechanism = "air"\nsupply = "6.2 bar"', 'supply = "12 bar"', "1.9 times"),
        ('mechanism = "air"\nsupply = "7 bar"\nrated_supply = "6.2 bar"', "", "1.1 times"),
        ('mechanism = "spring-and-cam"\nsupply = "36 V"', "", "2 times"),
        ('mechanism = "air"\nsupply = "90 psi"', "", ""),  # 6.205 bar
        ('mechanism = "air"\nsupply = "7 bar"\nrated_supply = "8 bar"', "", ""),
        ('mechanism = "spring-and-cam"', 'supply = "12 bar"', ""),  # not of its kind
        ('mechanism = "air"', "", ""),
    ],
)
def test_a_supply_is_set_against_the_rating(tmp_path: Path, tool: str, protocol: str, times: str) -> None:
    said = supply_cautions(read_campaign(write(tmp_path / "c", tool, protocol) / "campaign.toml"))
    assert bool(said) == bool(times)
    assert all(times in each and "lower it to the rating" in each for each in said)


def test_plan_record_sheet_and_page_say_so(tmp_path: Path) -> None:
    folder = write(tmp_path / "c", 'mechanism = "air"\nsupply = "12 bar"')
    wanted = "air-a on 12 bar, the supply is 1.9 times the tool's rating"
    assert wanted in strikeproof("plan", folder)[1]
    load_campaign(folder, tmp_path / "lab")
    write_report(tmp_path / "lab", tmp_path / "page.html")
    assert "air-a on 12 bar, the supply is 1.9 times" in (tmp_path / "page.html").read_text()
    with open_recorder(tmp_path / "lab") as recorder:
        recorder.book.add_run("air-a", "plain")
        coming = recorder.view().next
        assert coming is not None and any(wanted in each for each in coming.cautions)
    tables = {
        "campaign": {"reference": "plain"},
        "protocol": {"duration": "2 s", "repeats": 2, "seed": 1},
        "rig": {"unit": "kN", "name": "rig"},
        "bolt": {"thread": "M27x3", "class": "12.9"},
        "tool": [{"name": "air-a", "mechanism": "air", "supply": "12 bar"}],
        "article": [{"name": "plain"}, {"name": "ring"}],
    }
    start_set_up(tmp_path / "other", "hard", tables)
    assert "air-a on 12 bar, the supply is 1.9 times" in print_sheet(tmp_path / "other", "hard")


@pytest.mark.parametrize(("supply", "is_above"), [("12 bar", True), ("6.2 bar", False)])
def test_simulate_says_so(tmp_path: Path, supply: str, is_above: bool) -> None:
    setup = tmp_path / "setup.toml"
    setup.write_text(
        '[protocol]\nduration = "1 s"\n[bolt]\nthread = "M24x3"\nclass = "10.9"\n[tool]\nname = "a"\n'
        f'mechanism = "air"\nsupply = "{supply}"\n[article]\nname = "b"\npolar_inertia_kg_m2 = 6e-5\n'
    )
    said = "".join(strikeproof("simulate", setup))
    assert ("The supply is 1.9 times the tool's rating" in said) == is_above
