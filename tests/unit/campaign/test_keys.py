"""Every key of a campaign file is taken with its meaning, and a slip is told with its line and fix."""

import json
import math
import re
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pydantic import ValidationError

from strikeproof.campaign.folder import read_campaign
from strikeproof.campaign.keys import CampaignFile, ProtocolTable
from strikeproof.campaign.records import Campaign, ScoreRule
from strikeproof.campaign.values import parse_score_rule
from strikeproof.errors import BadFile, Problem
from strikeproof.joint.own_bolt import OWN_STRENGTH_KEYS

# Every key that a reader of a campaign folder can count on, each with another value than its default.
EVERY_KEY = """\
[campaign]
name = "track roller sockets"
reference = "plain-24"
margin_percent = 4
currency = "SEK"
simulated = true
note = "an invented one"
id = "5f3c"

[protocol]
duration = "8 s"
direction = "loosen"
rotation = "reverse"
score = "at 5 s"
supply = "6.2 bar"
cool_down = "1 min"
repeats = 6
looks = 3
seed = 7
smallest_difference_percent = 5

[rig]
name = "bench A"
channel = "load"
unit = "kN"
own_unit = false
sample_rate_hz = 10000
clamp_stiffness_n_per_m = 8e8
resolution = 0.01
full_scale = 250
zero = 0.4
repeatability_percent = 2

[bolt]
thread = "M20x2.5"
class = "10.9"
shank_diameter_mm = 15.5
head_across_flats_mm = 27
bearing_face_mm = 37
grip_length_mm = 60
hand = "right"
thread_friction = 0.12
head_friction = 0.14
friction_uncertainty_percent = 20
runs_per_bolt = 25
largest_proof_share = 0.7
name = "bolt 1"

[calibration]
sheet = "torque.xlsx"
applied_unit = "N m"
reference_uncertainty_percent = 1.5
degree = 2
rig = "bench A"
bolt = "bolt 1"

[[tool]]
name = "air-a"
mechanism = "oil-pulse"
drive_mm = 12.7
supply = "90 psi"
rated_supply = "6.3 bar"
hammer_inertia_kg_m2 = 1.1e-3
blow_speed_rad_s = 95
blow_energy_j = 30
blow_rate_hz = 22
anvil_stiffness_n_m_per_rad = 2e4
anvil_inertia_kg_m2 = 1e-4
restitution = 0.3
rebound_share = 0.5

[[article]]
name = "plain-24"
price = 14
mass_kg = 0.36
polar_inertia_kg_m2 = 6.0e-5
stiffness_n_m_per_rad = 4.0e4
hexagon_gap_deg = 2.5
square_gap_deg = 2.0
note = "from the drawer"
bolt_across_flats_mm = 24
drive_across_flats_mm = 12.7
dimension_uncertainty_mm = 0.05

[[article.part]]
shape = "bar"
outer_diameter_mm = 40
length_mm = 60
material = "S355J2"

[runs]
sheet = "done.xlsx"
logs = "raw"
"""

SMALLEST = """\
[campaign]
name = "two"
reference = "plain"
[[tool]]
name = "air"
[[article]]
name = "plain"
"""


def read(folder: Path, text: str) -> Campaign:
    (folder / "campaign.toml").write_text(text, encoding="utf-8")
    return read_campaign(folder / "campaign.toml")


def refused(folder: Path, text: str) -> tuple[Problem, ...]:
    with pytest.raises(BadFile) as told:
        read(folder, text)
    return told.value.problems


def test_every_key_arrives_in_its_record(tmp_path: Path) -> None:
    found = read(tmp_path, EVERY_KEY)
    assert (found.name, found.reference, found.margin_percent) == ("track roller sockets", "plain-24", 4.0)
    assert (found.currency, found.simulated, found.note) == ("SEK", True, "an invented one")
    assert found.id == "5f3c"
    assert (found.runs_sheet, found.logs_folder) == ("done.xlsx", "raw")
    protocol = found.protocol
    assert (protocol.duration_s, protocol.direction, protocol.cool_down_s) == (8.0, "loosen", 60.0)
    assert (protocol.rotation, found.bolt.hand, found.rig.own_unit) == ("reverse", "right", False)
    assert protocol.score == ScoreRule("at", at_s=5.0)
    assert (protocol.supply, protocol.repeats, protocol.seed) == ("6.2 bar", 6, 7)
    assert protocol.smallest_difference_percent == 5.0
    rig = found.rig
    assert (rig.name, rig.channel, rig.unit, rig.sample_rate_hz) == ("bench A", "load", "kN", 10000.0)
    assert (rig.clamp_stiffness_n_per_m, rig.resolution, rig.full_scale) == (8e8, 0.01, 250.0)
    assert rig.repeatability_percent == 2.0
    bolt = found.bolt
    assert (bolt.thread, bolt.property_class, bolt.name) == ("M20x2.5", "10.9", "bolt 1")
    assert (bolt.shank_diameter_mm, bolt.head_across_flats_mm, bolt.bearing_face_mm) == (15.5, 27, 37)
    assert (bolt.friction, bolt.thread_friction, bolt.head_friction) == (None, 0.12, 0.14)
    assert (bolt.friction_uncertainty_percent, bolt.runs_per_bolt, bolt.largest_proof_share) == (20, 25, 0.7)
    source = found.calibration
    assert source is not None
    assert (source.sheet, source.applied_unit, source.degree) == ("torque.xlsx", "N m", 2)
    assert (source.reference_uncertainty_percent, source.rig, source.bolt) == (1.5, "bench A", "bolt 1")
    (tool,) = found.tools
    assert (tool.name, tool.mechanism, tool.drive_mm, tool.supply) == ("air-a", "oil-pulse", 12.7, "90 psi")
    assert tool.rated_supply == "6.3 bar"
    assert (tool.hammer_inertia_kg_m2, tool.blow_speed_rad_s, tool.blow_energy_j) == (1.1e-3, 95, 30)
    assert (tool.blow_rate_hz, tool.anvil_stiffness_n_m_per_rad, tool.anvil_inertia_kg_m2) == (22, 2e4, 1e-4)
    assert tool.restitution == 0.3
    (article,) = found.articles
    assert (article.name, article.price, article.mass_kg) == ("plain-24", 14.0, 0.36)
    assert (article.polar_inertia_kg_m2, article.stiffness_n_m_per_rad) == (6.0e-5, 4.0e4)
    assert (article.hexagon_gap_deg, article.square_gap_deg, article.note) == (2.5, 2.0, "from the drawer")
    assert article.geometry is not None
    assert json.loads(article.geometry)["part"][0]["outer_diameter_mm"] == 40


def test_the_smallest_file_has_the_documented_defaults(tmp_path: Path) -> None:
    found = read(tmp_path, SMALLEST)
    assert (found.margin_percent, found.currency, found.simulated) == (3.0, "EUR", False)
    assert (found.protocol.duration_s, found.protocol.direction, found.protocol.score.kind) == (
        10.0,
        "tighten",
        "end",
    )
    assert (found.rig.name, found.rig.unit, found.bolt.largest_proof_share) == ("rig", "reading", 0.75)
    assert found.calibration is None
    assert (found.runs_sheet, found.logs_folder) == ("runs.csv", "logs")


# The parts room's own keys; it has its own tests.
PART_KEYS = {"shape", "outer_diameter_mm", "length_mm", "material"}
KEY_LINES = [
    (number, line)
    for number, line in enumerate(EVERY_KEY.splitlines(), start=1)
    if "=" in line and line.split()[0] not in PART_KEYS
]


@pytest.mark.parametrize(("number", "line"), KEY_LINES, ids=[f"{n}-{li.split()[0]}" for n, li in KEY_LINES])
def test_a_misspelled_key_is_told_with_its_line_and_the_nearest_known(
    tmp_path: Path, number: int, line: str
) -> None:
    key = line.partition(" =")[0]
    lines = EVERY_KEY.splitlines()
    wrong = key[:1] + key[2:] + "q"
    lines[number - 1] = line.replace(key, wrong, 1)
    found = [each for each in refused(tmp_path, "\n".join(lines)) if "unknown key" in each.problem]
    assert [(each.line, wrong in each.problem) for each in found] == [(number, True)]
    assert key in found[0].fix


@pytest.mark.parametrize(
    ("line", "wrong", "says"),
    [
        ('duration = "8 s"', "duration = 8", "unit"),
        ('duration = "8 s"', 'duration = "8 kg"', "time"),
        ('duration = "8 s"', 'duration = "0 s"', "greater than 0"),
        ('duration = "8 s"', 'duration = "2 h"', "3600"),
        ('direction = "loosen"', 'direction = "left"', "tighten"),
        ('score = "at 5 s"', 'score = "best"', "time to 400 N m"),
        ('score = "at 5 s"', 'score = "at 20 s"', "window"),
        ('score = "at 5 s"', 'score = "time to 9 fathoms"', "thread and friction"),
        ('supply = "6.2 bar"', 'supply = "6.2"', "6.2 bar"),
        ("margin_percent = 4", 'margin_percent = "4"', "number"),
        ("margin_percent = 4", "margin_percent = 0", "greater"),
        ("margin_percent = 4", "margin_percent = nan", "finite"),
        ("simulated = true", "simulated = 1", "boolean"),
        ("repeats = 6", "repeats = 6.5", "integer"),
        ("price = 14", "price = -1", "greater"),
        ("price = 14", "price = inf", "finite"),
        ("mass_kg = 0.36", "mass_kg = 0", "greater"),
        ("hexagon_gap_deg = 2.5", "hexagon_gap_deg = 60", "less than 60"),
        ("restitution = 0.3", "restitution = 1.2", "less than or equal"),
        ("degree = 2", "degree = 4", "3"),
        ("head_friction = 0.14", "head_friction = 0.9", "0.6"),
        ("head_friction = 0.14", "", "add the other"),
        ("largest_proof_share = 0.7", 'largest_proof_share = "30 %"', "write it as a plain number: 0.3"),
        ("head_friction = 0.14", 'head_friction = "0,14"', "write it as a plain number: 0.14"),
        ("head_friction = 0.14", 'head_friction = "low"', "write a plain number"),
        ('thread = "M20x2.5"', 'thread = "M20x2.4"', "M20x2.5"),
        ('thread = "M20x2.5"', 'thread = "20 mm"', "begins with M"),
        ('class = "10.9"', 'class = "10.10"', "10.9"),
        ('class = "10.9"', "class = 10.9", "quotes"),
        ('direction = "loosen"', 'direction = "tighten"', "cannot tighten"),
        ('rotation = "reverse"', 'rotation = "anticlockwise"', "reverse"),
        ('unit = "kN"', 'unit = "kNn"', "own_unit = true"),
        ("own_unit = false", "own_unit = true", "a unit of force"),
        ('applied_unit = "N m"', 'applied_unit = "Nn m"', "not known"),
        ("mass_kg = 0.36", 'mass_kg = "0.36 mm"', "0.36 kg"),
        ('unit = "kN"', 'unit = " "', "unit is empty"),
        ('unit = "kN"', 'unit = "k\\u001bN"', "character 2 is ESC"),
        ('unit = "kN"', f'unit = "{"k" * 31}"', "a unit at most 30"),
        ('mechanism = "oil-pulse"', 'mechanism = "magic"', "spring-and-cam"),
        ('reference = "plain-24"', 'reference = "plain 24"', "plain-24"),
        ('id = "5f3c"', f'id = "{"5" * 65}"', "1 to 64 letters"),
        ('id = "5f3c"', 'id = "../5f3c"', "1 to 64 letters"),
    ],
)
def test_a_value_that_cannot_be_is_told_with_its_line(
    tmp_path: Path, line: str, wrong: str, says: str
) -> None:
    number = EVERY_KEY.splitlines().index(line) + 1
    problems = refused(tmp_path, EVERY_KEY.replace(line + "\n", wrong + "\n"))
    assert len(problems) == 1, problems
    assert says in str(problems[0])
    assert problems[0].line is not None
    assert abs(problems[0].line - number) <= (1 if not wrong else 0)


def test_everything_wrong_is_told_at_once(tmp_path: Path) -> None:
    text = EVERY_KEY.replace('thread = "M20x2.5"', 'thread = "M20x9"').replace("price = 14", "price = -2")
    text = text.replace("margin_percent", "margin_procent").replace('"plain-24"', '"plain-25"', 1)
    lines = {problem.line for problem in refused(tmp_path, text)}
    wanted = ("M20x9", "price", "margin_procent", "plain-25")
    assert lines == {i for i, line in enumerate(text.splitlines(), 1) if any(word in line for word in wanted)}


def test_a_class_that_does_not_cover_the_thread_is_told(tmp_path: Path) -> None:
    text = SMALLEST + '[bolt]\nthread = "1/2-13"\nclass = "10.9"\n'
    (problem,) = refused(tmp_path, text)
    assert problem.line == 10
    assert "10.9" in str(problem)


def test_names_are_given_once(tmp_path: Path) -> None:
    (problem,) = refused(tmp_path, SMALLEST + '[[article]]\nname = " plain "\n')
    assert (problem.line, problem.fix) == (9, "give each its own name")


def test_a_whole_number_will_do_as_a_name(tmp_path: Path) -> None:
    found = read(tmp_path, SMALLEST.replace('"plain"', "24"))
    assert (found.reference, found.articles[0].name) == ("24", "24")


@pytest.mark.parametrize(
    ("text", "seconds"),
    [("10 s", 10.0), ("10s", 10.0), ("0.5 min", 30.0), ("1500 ms", 1.5), ("2,5 s", 2.5), ("1e1 s", 10.0)],
)
def test_a_time_may_be_in_any_unit(text: str, seconds: float) -> None:
    assert ProtocolTable.model_validate({"duration": text}).duration == pytest.approx(seconds)


@pytest.mark.parametrize("supply", ["6.2 bar", "90 psi", "620 kPa", "18 V", "0.62 MPa"])
def test_a_supply_is_a_pressure_or_a_voltage(supply: str) -> None:
    assert ProtocolTable.model_validate({"supply": supply}).supply == supply


@pytest.mark.parametrize(
    ("text", "rule"),
    [
        ("end", ScoreRule("end")),
        (" Peak ", ScoreRule("peak")),
        ("at 5 s", ScoreRule("at", at_s=5.0)),
        ("At  500 ms", ScoreRule("at", at_s=0.5)),
        ("time to 400 N m", ScoreRule("time to", level=400.0, level_unit="N m")),
        ("time to 300 lbf ft", ScoreRule("time to", level=300.0, level_unit="lbf ft")),
        ("Time to 1.5e2kN", ScoreRule("time to", level=150.0, level_unit="kN")),
    ],
)
def test_score_rules(text: str, rule: ScoreRule) -> None:
    assert parse_score_rule(text) == rule


@pytest.mark.parametrize(
    "text", ["", "at", "at 0 s", "at 5", "time to 0 N m", "time to 400", "time to -3 kN", 5]
)
def test_what_is_no_score_rule(text: Any) -> None:
    with pytest.raises(ValidationError):
        ProtocolTable.model_validate({"score": text})


@settings(deadline=None)  # the first example pays for imports
@given(st.floats(0.001, 1e6), st.sampled_from(["N m", "kN", "lbf ft", "mV/V"]))
def test_a_level_is_read_as_written(level: float, unit: str) -> None:
    found = parse_score_rule(f"time to {level:.6g} {unit}")
    assert math.isclose(found.level or 0.0, level, rel_tol=1e-5)
    assert found.level_unit == unit
    assert parse_score_rule(str(found)) == found


def test_a_number_may_be_written_with_its_unit_in_every_key_that_ends_in_one(tmp_path: Path) -> None:
    text = (
        EVERY_KEY.replace("mass_kg = 0.36", 'mass_kg = "1.1 lb"')
        .replace("drive_mm = 12.7", 'drive_mm = "1/2 in"')
        .replace("polar_inertia_kg_m2 = 6.0e-5", 'polar_inertia_kg_m2 = "0.205 lb·in²"')
        .replace("stiffness_n_m_per_rad = 4.0e4", 'stiffness_n_m_per_rad = "700 N·m/deg"')
        .replace("margin_percent = 4", 'margin_percent = "4 %"')
    )
    found = read(tmp_path, text)
    (tool,), (article,) = found.tools, found.articles
    assert (tool.drive_mm, found.margin_percent) == (12.7, 4.0)
    assert article.mass_kg == pytest.approx(
        0.498952, rel=1e-6
    )  # NIST SP 811 (2008), B.8: 1 lb = 0.4535924 kg
    assert article.polar_inertia_kg_m2 == pytest.approx(0.205 * 2.926397e-4, rel=1e-6)  # the same, lb·in²
    assert article.stiffness_n_m_per_rad == pytest.approx(40107.05, rel=1e-6)


@pytest.mark.parametrize(
    ("protocol", "bolt", "expected"),
    [
        ("", "", ("tighten", "forward", "right")),
        ('rotation = "reverse"', 'hand = "left"', ("tighten", "reverse", "left")),
        ('rotation = "reverse"', 'thread = "M20x2.5-LH"', ("tighten", "reverse", "left")),
        ("", 'thread = "M20 LH"', ("tighten", "reverse", "left")),
        ('rotation = "reverse"', 'thread = "M20"', ("loosen", "reverse", "right")),
    ],
)
def test_a_left_hand_bolt_in_reverse_is_tightened(
    tmp_path: Path, protocol: str, bolt: str, expected: tuple[str, str, str]
) -> None:
    found = read(tmp_path, f"{SMALLEST}[protocol]\n{protocol}\n[bolt]\n{bolt}\n")
    told = (found.protocol.direction, found.protocol.rotation, found.bolt.hand)
    assert told == expected == (found.turning.direction, found.turning.rotation, found.turning.hand)


def test_a_hand_that_contradicts_the_thread_is_told(tmp_path: Path) -> None:
    (problem,) = refused(tmp_path, SMALLEST + '[bolt]\nthread = "M20-LH"\nhand = "right"\n')
    assert "left-hand" in str(problem) and problem.line == 10


def test_a_unit_of_ones_own_is_taken_when_it_is_said_to_be_one(tmp_path: Path) -> None:
    (problem,) = refused(tmp_path, SMALLEST + '[rig]\nunit = "small needle"\n')
    assert "own_unit = true" in str(problem)
    own = read(tmp_path, SMALLEST + '[rig]\nunit = "small needle"\nown_unit = true\n')
    assert (own.rig.unit, own.rig.own_unit) == ("small needle", True)


def test_a_level_needs_a_way_to_be_told(tmp_path: Path) -> None:
    rule = '[protocol]\nscore = "time to 400 N m"\n[rig]\nunit = "kN"\n'
    (problem,) = refused(tmp_path, SMALLEST + rule)
    assert problem.line == 9
    lever = '[bolt]\nthread = "M20"\nfriction = 0.12\n'
    assert read(tmp_path, SMALLEST + rule + lever).protocol.score.level == 400.0
    assert read(tmp_path, SMALLEST + rule.replace("kN", "lbf ft")).protocol.score.level == 400.0
    plain = rule.replace("400 N m", "7 counts").replace("kN", "counts")
    assert read(tmp_path, SMALLEST + plain).protocol.score.level_unit == "counts"


def test_every_key_here_is_every_key_there_is() -> None:
    """A key added to the file's tables must be added to EVERY_KEY above."""
    here = set(re.findall(r"^(\w+) =", EVERY_KEY, re.MULTILINE)) - PART_KEYS
    tables = CampaignFile.model_json_schema()["$defs"]
    there = {key for name in tables if name != "ScoreRule" for key in tables[name]["properties"]}
    assert here | {"friction", "part", "measured", "calibration", *OWN_STRENGTH_KEYS} == there


@pytest.mark.parametrize(
    ("unit", "typed", "zero"),
    [
        ("kN", "9.0", 9.0),
        ("kN", '"9000 N"', 9.0),
        ("kN", '"-9,5"', -9.5),
        ("kN", '"2000 lbf"', 8.896443230521),  # 1 lbf = 4.4482216152605 N (NIST SP 811, appendix B.8)
        ("mV", '"1200 mV"', 1200.0),
        ("reading", '"1200"', 1200.0),
        ("N m", "40", 40.0),
    ],
)
def test_the_zero_of_the_cell_is_read_with_its_unit(
    tmp_path: Path, unit: str, typed: str, zero: float
) -> None:
    assert read_zero(tmp_path, unit, typed) == pytest.approx(zero, rel=1e-9)


@pytest.mark.parametrize(
    ("unit", "typed", "what"),
    [
        ("kN", "1e300", "less than or equal"),
        ("kN", "900", "more than the 203 kN that the bolt may carry"),
        ("kN", "-900", "more than the 203 kN that the bolt may carry"),
        ("kN", '"9 V"', "is not kN"),
        ("kN", '"nine"', "nine"),
        ("N m", "900", "more than the 203 kN that the bolt may carry"),
        ("reading", '"9 kN"', "is not in 'reading'"),
        ('mV"\nfull_scale = 500.0\nname = "r', "900", "more than the rig's full scale of 500 mV"),
    ],
)
def test_a_zero_that_no_cell_shows_is_refused_in_words(
    tmp_path: Path, unit: str, typed: str, what: str
) -> None:
    with pytest.raises(BadFile, match=r"rig\.zero") as wrong:
        read_zero(tmp_path, unit, typed)
    assert what in str(wrong.value)


def read_zero(folder: Path, unit: str, typed: str) -> float | None:
    """The zero of a rig whose M20 of class 10.9 is allowed its proof load, 203 kN (ISO 898-1:2013)."""
    bolt = '[bolt]\nthread = "M20x2.5"\nclass = "10.9"\nfriction = 0.12\nlargest_proof_share = 1.0\n'
    (folder / "campaign.toml").write_text(
        f'[campaign]\nname = "c"\nreference = "a"\n[rig]\nunit = "{unit}"\nzero = {typed}\n{bolt}'
        '[[tool]]\nname = "t"\n[[article]]\nname = "a"\n'
    )
    return read_campaign(folder / "campaign.toml").rig.zero
