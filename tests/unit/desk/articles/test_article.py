from __future__ import annotations

import json
import math
from pathlib import Path

import pytest
from tests.unit.parts.examples import ring, socket

from strikeproof.desk.articles.article import describe_article, read_peaks
from strikeproof.errors import BadFile, BadInput, NotFound
from strikeproof.plain_json import to_json

KEYS = {
    "mass_kg", "polar_inertia_kg_m2", "stiffness_n_m_per_rad", "gap_deg", "outer_diameter_m",
    "length_m", "price", "riders", "margins", "weakest",
}  # fmt: skip

FILE = """
[article]
name = "ringed"

[[article.part]]
name = "socket"
shape = "bar"
outer_diameter_mm = 34
length_mm = 80
material = "4140 at 45 HRC"
cut = [
  { kind = "square drive", size_mm = 12.5, depth_mm = 18 },
  { kind = "hexagon", size_mm = 24, depth_mm = 45 },
  { kind = "bore", size_mm = 12 },
]

[[article.part]]
name = "ring"
shape = "disc"
outer_diameter_mm = 80
length_mm = 20
material = "shop bronze"
carrier = "socket"
bond = { kind = "weld", throat_mm = 4, runs = 2 }

[material."shop bronze"]
density_kg_m3 = 8800
shear_modulus_gpa = 42
elastic_modulus_gpa = 110
yield_mpa = 240
tensile_mpa = 400
endurance_mpa = 110
"""


@pytest.fixture
def file(tmp_path: Path) -> Path:
    path = tmp_path / "ringed.toml"
    path.write_text(FILE, encoding="utf-8")
    return path


def test_the_keys_of_the_contract_are_there_and_all_is_plain_json(file):
    told = to_json(describe_article(file, 400.0))
    assert set(told) >= KEYS
    back = json.loads(json.dumps(told, allow_nan=False))
    assert set(back["gap_deg"]) == {"square", "hexagon"}
    assert back["riders"][0]["name"] == "ring" and back["riders"][0]["frequency_hz"] > 3000
    assert back["margins"][0]["static"] > 1 and back["stop"] is False
    assert back["weakest"]["holds_to_n_m"] > 400


def test_the_lines_for_a_terminal(file):
    facts = describe_article(file, 400.0)
    told = {label: (value, unit) for label, value, unit in facts.lines()}
    assert told["outer diameter"] == ("80.00", "mm")
    assert float(told["mass"][0]) == pytest.approx(facts.properties.mass * 1e3, rel=1e-3)
    assert told["socket (wall)"][1].startswith("finite life: about ")  # in the corner of its broach
    assert told["socket (shear)"][1] == "holds"
    assert any("ring" in label and unit == "Hz" for label, (_, unit) in told.items())


def test_without_a_peak_there_are_no_margins(file):
    assert to_json(describe_article(file))["margins"] == []


def test_a_joint_that_sees_another_peak_is_judged_by_it(file):
    """The weld's static margin falls with its own peak alone; the socket's stays."""
    one = {(m.part, m.mode): m for m in describe_article(file, 400.0).margins}
    own = {(m.part, m.mode): m for m in describe_article(file, 400.0, joint_peaks={"ring": 800.0}).margins}
    for place, margin in own.items():
        times = 2.0 if place[0] == "ring" else 1.0
        assert margin.peak == pytest.approx(400.0 * times)
        assert margin.static == pytest.approx(one[place].static / times)
    assert any(part == "ring" for part, _ in own)
    with pytest.raises(NotFound, match="rin"):
        describe_article(file, 400.0, joint_peaks={"rin": 800.0})
    with pytest.raises(BadInput, match="other joints"):
        describe_article(file, joint_peaks={"ring": 800.0})


def test_a_predicted_overstress_is_a_stop_and_comes_first(file):
    facts = describe_article(file, 1e5)
    assert facts.stop
    assert facts.cautions[0].startswith("STOP") and "Do not run it" in facts.cautions[0]


def test_the_cautions_that_belong_there(file):
    text = " ".join(describe_article(file).cautions)
    for word in (
        "impact-rated",
        "guard",
        "Preheat it to about 300 °C",
        "Zinc gives poisonous fumes",
        "local codes",
    ):
        assert word in text
    assert "Lead" not in text  # nothing in it is of lead
    plain = " ".join(describe_article({"name": "a", "part": [socket()]}).cautions)
    assert "Preheat" not in plain and "fumes" not in plain and "local codes" in plain


def test_a_mapping_does_as_well_as_a_file():
    one = describe_article({"article": {"name": "a", "part": [socket(), ring()]}})
    two = describe_article({"name": "a", "part": [socket(), ring()]})
    assert one.properties == two.properties


def test_one_of_several_articles_is_named(tmp_path):
    path = tmp_path / "campaign.toml"
    rows = [
        f'[[article]]\nname = "{name}"\npolar_inertia_kg_m2 = {j}\n' for name, j in (("a", 6e-5), ("b", 8e-5))
    ]
    path.write_text('[campaign]\nname = "x"\n' + "".join(rows), encoding="utf-8")
    assert describe_article(path, name="b").properties.polar_inertia == 8e-5
    with pytest.raises(BadInput, match="a, b"):
        describe_article(path)
    with pytest.raises(NotFound, match="article 'c'"):
        describe_article(path, name="c")


def test_materials_and_prices_of_the_workspace_are_used(file, tmp_path):
    workspace = tmp_path / "w"
    workspace.mkdir()
    (workspace / "prices.csv").write_text("item,per,price\nshop bronze,kg,10\n4140 at 45 HRC,kg,20\n")
    own = FILE[FILE.index("[material") :]
    (workspace / "materials.toml").write_text(own.replace("8800", "9000"), encoding="utf-8")
    file.write_text(FILE[: FILE.index("[material")], encoding="utf-8")
    facts = describe_article(file, workspace=workspace).properties
    volume = math.pi / 4 * (0.08**2 - 0.034**2) * 0.02
    assert facts.parts[1].mass == pytest.approx(9000 * volume)
    bought = 9000 * math.pi / 4 * 0.08**2 * 0.02  # the disc is bought whole
    assert facts.parts[1].price == pytest.approx(10 * bought)


@pytest.mark.parametrize(
    ("content", "error", "words"),
    [
        ("[article\n", BadFile, "not TOML"),
        ("[artikle]\nname = 'a'\n", BadInput, "'artikle'"),
        ("article = 3\n", BadInput, "no table"),
        ("article = [3]\n", BadInput, "no table"),
    ],
)
def test_a_file_that_cannot_be_used_says_why(tmp_path, content, error, words):
    path = tmp_path / "a.toml"
    path.write_text(content, encoding="utf-8")
    with pytest.raises(error, match=words):
        describe_article(path)


def test_a_file_that_is_not_there_names_its_neighbour(file):
    with pytest.raises(NotFound, match=r"did you mean .*ringed\.toml"):
        describe_article(file.with_name("ringd.toml"))


def test_a_file_that_is_no_text_is_refused(tmp_path):
    path = tmp_path / "a.toml"
    path.write_bytes(b"\x89PNG\r\n")
    with pytest.raises(BadFile, match="is a picture, not text"):
        describe_article(path)


def test_each_row_says_which_peak_it_rests_on(tmp_path: Path) -> None:
    path = tmp_path / "a.toml"
    path.write_text(FILE)
    facts = describe_article(path, 900.0, joint_peaks={"ring": 1100.0})
    rows = {label.partition(" ")[0]: value for label, value, _ in facts.lines() if "the peak of" in value}
    assert rows["ring"].endswith("times the peak of 1100 N·m")
    assert rows["socket"].endswith("times the peak of 900.0 N·m")
    assert any("for every joint but that of ring." in each for each in facts.cautions)
    assert any("for every joint. " in each for each in describe_article(path, 900.0).cautions)


@pytest.mark.parametrize(
    ("typed", "says"),
    [
        (["900 N m", "800 N m"], "two are given for every joint"),
        (["900 N m", "ring=1 kN m", " ring = 2 kN m"], "two are given for part 'ring'"),
        (["=900 N m"], "'=900 N m' names no part"),
    ],
)
def test_a_peak_is_given_once_and_for_a_part_with_a_name(typed: list[str], says: str) -> None:
    with pytest.raises(BadInput, match=says):
        read_peaks(typed)
    assert read_peaks(["900 N m", "ring=1.1 kN m"]) == (900.0, {"ring": 1100.0})
