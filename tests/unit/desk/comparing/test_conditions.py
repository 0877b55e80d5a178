"""What varies from run to run is kept, shown and set against what is left; it is never fitted unasked."""

from __future__ import annotations

from pathlib import Path

import pytest

from strikeproof.campaign.conditions import find_condition, read_condition
from strikeproof.desk.comparing.compare import ComparisonOutcome, compare_campaign
from strikeproof.desk.loading.load import load_campaign
from strikeproof.errors import BadInput, NotFound
from strikeproof.plain_json import to_json

CAMPAIGN = """
[campaign]
name = "warm and cold"
reference = "plain"
[rig]
unit = "kN"
[[tool]]
name = "air"
[[article]]
name = "plain"
[[article]]
name = "ring"
"""
HEAD = "run,article,block,score,supply,operator,tool_temperature\n"


def compare(folder: Path, *, two_people: bool = False) -> ComparisonOutcome:
    """Blocks whose supply makes 1 % a bar: inside a block each article has another pressure."""
    (folder / "campaign.toml").write_text(CAMPAIGN)
    rows = ""
    for i in range(12):
        article, block = ("plain", "ring")[i % 2], 1 + i // 2
        supply = 6.0 + (0.3 if (i // 2 + i) % 2 else -0.3)
        score = (100.0 if article == "plain" else 110.0) * (1 + 0.01 * (supply - 6.0) + 0.0003 * (i % 3))
        person = ("A", "B")[i % 2] if two_people else "A"
        rows += f"r{i},{article},{block},{score:.4f},{supply:.1f} bar,{person},\n"
    (folder / "runs.csv").write_text(HEAD + rows)
    assert load_campaign(folder, folder / "lab").problems == ()
    return compare_campaign(folder / "lab")


def test_a_condition_is_said_with_its_price_and_what_goes_with_it(tmp_path: Path) -> None:
    outcome = compare(tmp_path)
    (said,) = [each for each in outcome.warnings if "Supply" in each]
    assert "5.7 to 6.3 bar" in said and "not fitted" in said
    assert f"1 of the {outcome.comparison.degrees_of_freedom} degrees of freedom" in said
    assert float(said.rsplit("=", 1)[1]) > 0.9
    assert to_json(outcome.judged.runs[0])["conditions"] == {"supply": "5.7 bar", "operator": "A"}


def test_a_condition_that_is_asked_for_is_fitted_and_its_price_is_said(tmp_path: Path) -> None:
    plain = compare(tmp_path)
    outcome = compare_campaign(tmp_path / "lab", adjust=("supply",))
    (said,) = [each for each in outcome.warnings if "Supply" in each]
    assert "Supply at the tool [bar] is fitted" in said and "+1 % (" in said  # 1 % a bar was put in
    assert outcome.comparison.degrees_of_freedom == plain.comparison.degrees_of_freedom - 1
    with pytest.raises(BadInput, match="tool_temperature is not given for r0, r1"):
        compare_campaign(tmp_path / "lab", adjust=("tool_temperature",))
    with pytest.raises(NotFound, match="supply"):
        compare_campaign(tmp_path / "lab", adjust=("suply",))


def test_what_goes_with_the_article_is_not_fitted_and_says_so(tmp_path: Path) -> None:
    plain = compare(tmp_path, two_people=True)
    outcome = compare_campaign(tmp_path / "lab", adjust=("operator",))
    assert any("Operator: b is not fitted: inside the blocks" in each for each in outcome.warnings)
    assert outcome.comparison.degrees_of_freedom == plain.comparison.degrees_of_freedom


def test_a_person_an_article_cannot_be_told_from_the_article(tmp_path: Path) -> None:
    (said,) = [each for each in compare(tmp_path, two_people=True).warnings if "Operator" in each]
    assert "Each article has a value of its own" in said


def test_a_condition_that_cannot_be_read_is_a_problem_of_its_line(tmp_path: Path) -> None:
    (tmp_path / "campaign.toml").write_text(CAMPAIGN)
    rows = "r1,plain,1,100,6.2,A,35 °C\nr2,plain,2,101,90 psi,A,warm\nr3,plain,3,102,90 psi,A,95 °F\n"
    (tmp_path / "runs.csv").write_text(HEAD + rows)
    outcome = load_campaign(tmp_path, tmp_path / "lab")
    assert [each.line for each in outcome.problems] == [2, 3] and outcome.runs_loaded == 3


@pytest.mark.parametrize(
    ("name", "text", "found"),
    [
        ("supply", "90 psi", (6.2053, "bar")),  # NIST SP 811: 1 psi is 6894.757 Pa
        ("supply", "18 V", (18.0, "V")),
        ("battery", "80 %", (80.0, "%")),
        ("tool_temperature", "95 °F", (35.0, "°C")),
        ("tool_temperature", "308,15 K", (35.0, "°C")),
        ("operator", "17", None),
    ],
)
def test_cells_become_numbers_of_one_unit(name: str, text: str, found: tuple[float, str] | None) -> None:
    have = read_condition(find_condition(name), text)
    assert have == (found and (pytest.approx(found[0], rel=1e-4), found[1]))


def test_what_is_no_temperature_is_refused() -> None:
    with pytest.raises(BadInput, match="35 °C"):
        read_condition(find_condition("tool_temperature"), "warm")


@pytest.mark.parametrize(
    ("name", "text", "allowed"),
    [
        ("tool_temperature", "-500 °C", "-60 to 300 °C"),
        ("tool_temperature", "-1 K", "-60 to 300 °C"),
        ("supply", "-3 bar", "above 0 to 1000 bar"),
        ("supply", "0 V", "above 0 to 1000 V"),
        ("battery", "180 %", "0 to 100 %"),
        ("battery", "-5 %", "0 to 100 %"),
    ],
)
def test_what_no_tool_has_is_refused(name: str, text: str, allowed: str) -> None:
    with pytest.raises(BadInput) as wrong:
        read_condition(find_condition(name), text)
    assert allowed in wrong.value.allowed


def test_one_cell_that_cannot_be_read_is_no_difference(tmp_path: Path) -> None:
    (tmp_path / "campaign.toml").write_text(CAMPAIGN)
    cells = ("20", "20 °C", "293.15 K", "68 °F", "warm", "-500 °C")
    rows = [f"r{i},{('plain', 'ring')[i % 2]},{i // 2},{100 + i},,A,{cell}" for i, cell in enumerate(cells)]
    (tmp_path / "runs.csv").write_text(HEAD + "\n".join(rows) + "\n")
    outcome = load_campaign(tmp_path, tmp_path / "lab")
    assert [each.line for each in outcome.problems] == [6, 7] and outcome.runs_loaded == 6
    assert not any("Temperature" in each for each in compare_campaign(tmp_path / "lab").warnings)


@pytest.mark.parametrize(
    ("operator", "line"), [(90 * "o", None), (3000 * "o", 2), ('"a\nb"', None), ("a\x07b", 2)]
)
def test_no_word_of_a_condition_keeps_its_run_out(tmp_path: Path, operator: str, line: int | None) -> None:
    (tmp_path / "campaign.toml").write_text(CAMPAIGN)
    (tmp_path / "runs.csv").write_text(HEAD + f"r1,plain,1,100,6.2 bar,{operator},\nr2,ring,1,101,,A,\n")
    outcome = load_campaign(tmp_path, tmp_path / "lab")
    assert outcome.runs_loaded == 2
    assert [each.line for each in outcome.problems] == ([] if line is None else [line])


def test_too_few_runs_have_nothing_to_pay_with(tmp_path: Path) -> None:
    (tmp_path / "campaign.toml").write_text(CAMPAIGN)
    rows = "r1,plain,1,100,6.2 bar,A,\nr2,ring,1,101,5.9 bar,A,\n"
    (tmp_path / "runs.csv").write_text(HEAD + rows)
    load_campaign(tmp_path, tmp_path / "lab")
    (said,) = [each for each in compare_campaign(tmp_path / "lab").warnings if "Supply" in each]
    assert "too few runs to fit it" in said
