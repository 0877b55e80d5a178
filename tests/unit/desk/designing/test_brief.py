"""A brief's file on disk: lines of what is wrong, prices and materials that stand beside it."""

from __future__ import annotations

from pathlib import Path

import pytest

from strikeproof.campaign.records import Article, Bolt, Campaign, Protocol, Rig, Tool
from strikeproof.desk.designing.brief import campaign_tables, load_brief, load_envelope
from strikeproof.errors import BadFile

BRIEF = """[brief]
hexagon_mm = 27
drive_mm = 12.7
budget = 60
start_from = ["plain-27"]
seed = 3

[envelope]
free_length_mm = "12 cm"
pocket = [{ to_depth_mm = 55, diameter_mm = 52 }]

[[stock]]
item = "bar 40 mm"
material = "shop bronze"
[[stock]]
item = "bar 60 mm"
"""
MATERIALS = """[material."shop bronze"]
density_kg_m3 = 8800
shear_modulus_gpa = 42
elastic_modulus_gpa = 110
yield_mpa = 240
tensile_mpa = 400
endurance_mpa = 110
"""
PART = {"shape": "bar", "outer_diameter_mm": 38, "length_mm": 50, "material": "A36"}
ARTICLES = {"plain-27": {"name": "plain-27", "price": 16.0, "part": [PART]}}


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    (tmp_path / "brief.toml").write_text(BRIEF)
    (tmp_path / "materials.toml").write_text(MATERIALS)
    (tmp_path / "prices.csv").write_text("item,per,price\nbar,kg,2.5\n")
    return tmp_path


def test_prices_and_materials_beside_it_are_the_persons_own(folder: Path) -> None:
    known = load_brief(folder / "brief.toml", articles=ARTICLES)
    assert known.brief.prices is not None
    assert dict(known.brief.prices.rows) == {"bar": ("kg", 2.5)}
    assert known.brief.materials["shop bronze"].density == 8800
    assert known.brief.bases[0].price == 16.0
    assert (known.errand.seed, known.errand.tools) == (3, ())


def test_those_of_the_workspace_win(folder: Path, tmp_path_factory: pytest.TempPathFactory) -> None:
    workspace = tmp_path_factory.mktemp("workspace")
    (workspace / "materials.toml").write_text(MATERIALS.replace("8800", "8500"))
    known = load_brief(folder / "brief.toml", articles=ARTICLES, folder=workspace)
    assert known.brief.materials["shop bronze"].density == 8500
    assert known.brief.prices is not None and len(known.brief.prices.rows) > 10  # the example prices


def test_every_slip_has_its_line(folder: Path) -> None:
    path = folder / "brief.toml"
    path.write_text(
        BRIEF.replace("hexagon_mm", "hexagn_mm").replace('"12 cm"', '"12 kg"').replace("bar 40", "bra 40")
    )
    with pytest.raises(BadFile) as caught:
        load_brief(path, articles={})
    told = {problem.line: problem.problem for problem in caught.value.problems}
    assert {problem.file for problem in caught.value.problems} == {str(path)}
    assert "hexagn_mm" in told[2] and "plain-27" in told[5]
    assert "12 kg" in told[9] and "bra 40" in told[13]
    assert len(told) == 4


def test_limits_that_clash_are_told_with_the_nearest_brief(folder: Path) -> None:
    path = folder / "brief.toml"
    path.write_text(BRIEF.replace("52", "30").replace("12 cm", "3 cm").replace("budget = 60", "budget = 50"))
    with pytest.raises(BadFile) as caught:
        load_brief(path, articles=ARTICLES)
    pocket, length, together = caught.value.problems
    assert (pocket.line, length.line, together.line) == (10, 9, None)
    assert "28 mm are free" in pocket.problem and "diameter_mm = 37.5" in pocket.fix
    assert "30 mm are free" in length.problem and length.fix == "set free_length_mm = 35"
    assert "nearest brief" in together.fix and "diameter_mm = 37.5, free_length_mm = 35" in together.fix


@pytest.mark.parametrize("text", ["[brief", "a = ", "\x00", ""])
def test_what_is_no_toml_is_told(tmp_path: Path, text: str) -> None:
    (tmp_path / "brief.toml").write_text(text)
    with pytest.raises(BadFile):
        load_brief(tmp_path / "brief.toml")


def test_an_envelope_alone_and_in_a_brief(folder: Path) -> None:
    (folder / "envelope.toml").write_text(BRIEF[BRIEF.index("[envelope]") : BRIEF.index("[[stock]]")])
    assert load_envelope(folder / "envelope.toml") == load_envelope(folder / "brief.toml")
    assert load_envelope(folder / "brief.toml").free_length == pytest.approx(0.12)


def test_articles_of_a_campaign_keep_their_price() -> None:
    campaign = Campaign(
        "c", "a", 3.0, "EUR", Protocol(10.0), Rig("r", "load", "kN"), Bolt(), (Tool("t", "air"),),
        (Article("a", price=14.0, polar_inertia_kg_m2=6e-5), Article("b", geometry='{"part": []}')),
    )  # fmt: skip
    assert campaign_tables(campaign) == {
        "a": {"name": "a", "polar_inertia_kg_m2": 6e-5, "price": 14.0},
        "b": {"name": "b", "part": []},
    }
