"""A bolt of one's own goes from campaign file through check, limit, command and page."""

from __future__ import annotations

from pathlib import Path

import pytest
from typer.testing import CliRunner

from strikeproof.campaign.folder import read_folder
from strikeproof.cli import app
from strikeproof.desk.planning.bolt_check import check_bolt
from strikeproof.desk.publishing.report import _bolt_rows
from strikeproof.errors import BadFile

FILE = """
[campaign]
name = "own"
reference = "plain"
[rig]
unit = "kN"
[bolt]
thread = "M30x2"
{bolt}
[[tool]]
name = "air"
[[article]]
name = "plain"
polar_inertia_kg_m2 = 2e-4
"""
OWN = """proof_stress_mpa = "160 ksi"
tensile_strength_mpa = 1300
shank_diameter_mm = 24
head_across_flats_mm = "1 1/2 in"
friction = 0.12
"""
PROOF_N = 160 * 6.894757e6 * 3.141592653589793 / 4 * 0.024**2


def write(folder: Path, bolt: str) -> Path:
    (folder / "campaign.toml").write_text(FILE.format(bolt=bolt))
    (folder / "runs.csv").write_text("run,article,block,score\nr1,plain,1,100\n")
    return folder


def test_the_limit_is_that_of_the_own_strength_and_the_thin_shank(tmp_path: Path) -> None:
    campaign = read_folder(write(tmp_path, OWN)).campaign
    assert campaign.bolt.allowed_load() == pytest.approx(0.75 * PROOF_N, rel=1e-5)
    rows = dict(_bolt_rows(campaign.bolt, None))  # type: ignore[arg-type]  # not needed for these rows
    assert rows["property class"] == "own strength" and rows["thinnest shank"] == "24.00 mm"


def test_the_form_checks_it_and_says_whose_figure_it_is() -> None:
    bolt = {
        "thread": "M30x2",
        "proof_stress_mpa": 1100,
        "tensile_strength_mpa": 1300,
        "head_across_flats_mm": 38.1,
        "friction": 0.12,
    }
    found = check_bolt(
        {
            "protocol": {"duration": "1 s"},
            "bolt": bolt,
            "tool": [{"name": "air", "mechanism": "air", "drive_mm": 19.05}],
        }
    )
    assert found.facts.bearing.outer == pytest.approx(0.93 * 0.0381)
    assert any("your own figure" in each for each in found.facts.cautions)
    assert [each.withstood_share > 0 for each in found.expected] == [True]


@pytest.mark.parametrize(
    ("bolt", "line"), [('class = "10.9"\nproof_stress_mpa = 900', 10), ("shank_diameter_mm = 40", 9)]
)
def test_what_does_not_fit_is_said_at_its_line(tmp_path: Path, bolt: str, line: int) -> None:
    with pytest.raises(BadFile) as wrong:
        read_folder(write(tmp_path, bolt))
    assert [each.line for each in wrong.value.problems] == [line]


def test_the_command_takes_any_unit() -> None:
    words = [
        "bolt",
        "M30x2",
        "--proof-stress",
        "160 ksi",
        "--tensile-strength",
        "1300 MPa",
        "--shank",
        "24 mm",
    ]
    shown = CliRunner().invoke(app, [*words, "--json"])
    assert shown.exit_code == 0 and f'"proof_load_n": {PROOF_N:.0f}'[:22] in shown.output
