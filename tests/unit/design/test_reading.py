"""A brief's file: what it becomes, and that everything wrong with it is told at once."""

from __future__ import annotations

import copy
import tomllib
from collections.abc import Iterator
from datetime import date
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.unit.parts.examples import HARD, ring, socket

from strikeproof.design.reading import Errand, read_brief, read_envelope, read_errand
from strikeproof.design.records import Envelope, Offer, Step
from strikeproof.errors import BadFile
from strikeproof.parts import EXAMPLE_PRICES

BRIEF = """
[brief]
name = "liner pocket"
tools = ["air-a"]
objective = "best per money"
least_gain_percent = 10
largest_mass_kg = "2 lb"
largest_inertia_kg_m2 = 4e-4
budget = 60
least_margin = 1.4
least_fatigue_margin = 0.5
proposals = 6
hexagon_mm = 27
drive_mm = "0.5 in"
head_height_mm = 17
processes = ["turning", "press fit"]
start_from = ["plain-27"]
seed = 7
[envelope]
free_length_mm = 120
nearest_wall_mm = "2.4 in"
clearance_mm = 2
pocket = [{ to_depth_mm = 30, diameter_mm = 90 }, { to_depth_mm = 55, diameter_mm = 52 }]
[[stock]]
item = "bar 40"
material = "shop bronze"
length_mm = 300
[[stock]]
item = "pipe NPS 2 sch 80"
[[base]]
name = "bought"
price = 12.5
part = [{ name = "body", shape = "bar", outer_diameter_mm = 38, length_mm = 60, material = "A36" }]
[material."shop bronze"]
density_kg_m3 = 8800
shear_modulus_gpa = 42
elastic_modulus_gpa = 110
yield_mpa = 240
tensile_mpa = 400
endurance_mpa = 110
[bench.tool]
mechanism = "air"
[bench.bolt]
thread = "M24x2"
"""

KNOWN: dict[str, dict[str, Any]] = {
    "plain-27": {"name": "plain-27", "price": 16.0, "part": [socket()]},
    "ring-27": {"name": "ring-27", "part": [socket(), ring()]},
}


def read(tables, **changes):
    return read_brief(tables, **({"prices": EXAMPLE_PRICES, "known_articles": KNOWN} | changes))


def problems(tables, **changes):
    with pytest.raises(BadFile) as caught:
        read(tables, **changes)
    return [f"{each.problem}; {each.fix}" for each in caught.value.problems]


def test_every_key_arrives_in_si():
    brief = read(tomllib.loads(BRIEF))
    assert (brief.name, brief.objective, brief.proposals) == ("liner pocket", "best per money", 6)
    assert (brief.hexagon, brief.drive) == (pytest.approx(0.027), pytest.approx(0.0127))
    assert brief.head_height == pytest.approx(0.017)
    assert brief.largest_mass == pytest.approx(0.90718474)  # international pound, exact
    assert brief.largest_inertia == 4e-4
    assert (brief.budget, brief.least_static, brief.least_fatigue) == (60, 1.4, 0.5)
    assert brief.least_gain == pytest.approx(0.10)
    assert brief.processes == {"turning", "press fit"}
    assert brief.envelope.wall == pytest.approx(2.4 * 0.0254)
    assert (brief.envelope.free_length, brief.envelope.clearance) == (0.12, 0.002)
    assert brief.envelope.pocket == (Step(0.03, 0.09), Step(0.055, pytest.approx(0.052)))
    assert brief.offers == (Offer("bar 40 mm", "shop bronze", 0.3), Offer("pipe NPS 2 sch 80"))
    assert {each.name: each.price for each in brief.bases} == {"plain-27": 16.0, "bought": 12.5}
    assert brief.built == KNOWN and brief.prices is EXAMPLE_PRICES
    assert brief.materials["shop bronze"].yield_strength == pytest.approx(240e6)


def test_what_the_desk_needs_beside_it():
    errand = read_errand(tomllib.loads(BRIEF))
    assert errand == Errand(("air-a",), 7, {"tool": {"mechanism": "air"}, "bolt": {"thread": "M24x2"}})


def test_what_is_left_out_has_a_usual_value():
    brief = read({"brief": {"hexagon_mm": 24, "drive_mm": 12.5}}, prices=None, known_articles={})
    assert brief.envelope == Envelope()
    assert brief.offers == brief.bases == ()
    assert (brief.objective, brief.least_static, brief.proposals) == ("highest score", 1.5, 5)
    assert brief.processes == {"turning", "welding", "press fit"}
    assert (
        brief.largest_mass
        is brief.largest_inertia
        is brief.budget
        is brief.least_fatigue
        is brief.head_height
        is None
    )
    assert read_errand({"brief": {"hexagon_mm": 24, "drive_mm": 12.5}}) == Errand()


UGLY = """
[brif]
hexagn_mm = 900
processes = ["turning", "weldin", 3]
start_from = ["plain-72"]
tools = "air"
seed = 1.5
name = 3
least_margin = nan
[envelop]
clearance_mm = -1
pocket = [{ to_depth_mm = 30, diameter_mm = 50 }, { to_depth_mm = 20, diamter_mm = "x" }]
[[stock]]
item = "bra 40 mm"
[[stock]]
item = "bar 40 mm"
material = "S355J3"
[[stock]]
item = "bar 150 mm"
material = "S355J2"
[material.mine]
density_kg_m3 = 3
[[base]]
name = "bare"
mass_kg = 1
[bench]
tol = 3
"""


def test_everything_wrong_is_named_at_once_with_the_nearest_key():
    told = problems(tomllib.loads(UGLY))
    wanted = (
        "unknown table 'brif'; did you mean 'brief'",
        "unknown table 'envelop'; did you mean 'envelope'",
        "brief: unknown key 'hexagn_mm'; did you mean 'hexagon_mm'",
        "brief: hexagon_mm = 900 (allowed: 3 to 200)",
        "brief: drive_mm is missing",
        "processes holds 'weldin'; did you mean 'welding'",
        "processes holds 3",
        "start_from holds 'plain-72'; did you mean 'plain-27'",
        "tools = 'air'",
        "seed = 1.5",
        "name = 3",
        "least_margin = nan",
        "envelope: clearance_mm = -1",
        "envelope.pocket.2: unknown key 'diamter_mm'; did you mean 'diameter_mm'",
        "envelope.pocket.2: diameter_mm = 'x'",
        "envelope.pocket.2: to_depth_mm = 20, but the step before it ends at 30",
        "stock.1: no stock 'bra 40 mm'; did you mean 'bar 30 mm'",
        "stock.2: no material 'S355J3'; did you mean 'S355J2'",
        "stock.3: material: 'S355J2' in a thickness of 150 mm",
        "material.mine: density_kg_m3 = 3",
        "material.mine: yield_mpa is missing",
        "base 'bare' has no dimensions",
        "bench: unknown key 'tol'; did you mean 'tool'",
        "bench.tool is no table",
    )
    for each in wanted:
        assert any(each in line for line in told), each
    assert sum("missing" in line for line in told) == 6  # drive_mm and five of the material
    assert len(told) == len(set(told)) == len(wanted) + 4


def _break(tables: dict[str, Any], place: tuple[Any, ...], value: Any) -> None:
    for step in place[:-1]:
        tables = tables[step]
    tables[place[-1]] = value


SLIPS = [
    (("brief", "hexagon_mm"), -1, "brief: hexagon_mm = -1"),
    (("brief", "drive_mm"), 14, "14 mm is not a standard drive square"),
    (("brief", "largest_mass_kg"), "2 mm", "brief: largest_mass_kg = '2 mm'"),
    (("brief", "budget"), True, "brief: budget = True"),
    (("brief", "least_margin"), 0.8, "brief: least_margin = 0.8 (allowed: 1 to 100)"),  # it gives at its peak
    (("brief", "objective"), "best", "brief: objective = 'best'"),
    (("brief", "proposals"), 2.5, "brief: proposals = 2.5"),
    (("brief", "least_fatigue_margin"), "x", "brief: least_fatigue_margin = 'x'"),
    (("brief", "colour"), 1, "brief: unknown key 'colour'"),
    (("brief", "tools"), [1], "brief: tools holds 1"),
    (("envelope", "free_length_mm"), 0, "envelope: free_length_mm = 0"),
    (("envelope", "nearest_wall_mm"), [], "envelope: nearest_wall_mm = []"),
    (("envelope", "pocket", 1), 7, "envelope.pocket.2: 7 is no table"),
    (("stock", 0, "length_mm"), "long", "stock.1: length_mm = 'long'"),
    (("stock", 1, "item"), 40, "stock.2: item = 40"),
    (("base", 0, "part"), 3, "part = 3"),
    (("material", "shop bronze", "yield_mpa"), None, "material.shop bronze: yield_mpa = None"),
    (("bench", "bolt"), "M24", "bench.bolt is no table"),
    (("extra",), {}, "unknown table 'extra'"),
]


@given(st.sets(st.sampled_from(range(len(SLIPS))), min_size=1))
def test_no_slip_hides_another(chosen):
    tables = copy.deepcopy(tomllib.loads(BRIEF))
    for index in chosen:
        _break(tables, *SLIPS[index][:2])
    told = problems(tables)
    for index in chosen:
        assert any(SLIPS[index][2] in line for line in told), SLIPS[index][2]


@pytest.mark.parametrize("table", ["brief", "envelope", "stock", "base", "material", "bench"])
@pytest.mark.parametrize("value", [3, "x", [3], True])
def test_a_table_that_is_none_is_told(table, value):
    tables = tomllib.loads(BRIEF)
    tables[table] = value
    assert any(table in line for line in problems(tables))


NUMBERS = [0, -1, 10**40, float("inf"), float("nan"), True, "-3 in", "1e999 mm"]
ODD = [*NUMBERS, None, "", "x", "bar . mm", "bar 0 mm", [], [1], [[1]], {}, {"a": 1}, [{}], date(2026, 1, 1)]


def _places(value: Any, here: tuple[Any, ...] = ()) -> Iterator[tuple[Any, ...]]:
    steps = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    for key, inner in steps:
        yield (*here, key)
        yield from _places(inner, (*here, key))


PLACES = list(_places(tomllib.loads(BRIEF)))


@given(st.sampled_from(PLACES), st.sampled_from(ODD))
def test_odd_values_anywhere_are_read_or_told(place, value):
    tables = copy.deepcopy(tomllib.loads(BRIEF))
    _break(tables, place, value)
    told = []
    try:
        assert read(tables).name
        read_errand(tables)
    except BadFile as wrong:
        told = [*wrong.problems]
    assert all(each.problem and each.fix for each in told)


def test_money_without_prices_is_told():
    told = problems(tomllib.loads(BRIEF), prices=None)
    assert told == ["brief: nothing has a price; add prices.csv, or leave money out of the brief"]


def test_no_brief_at_all():
    assert problems({})[0].startswith("[brief] is missing")


def test_lines_and_file_come_from_the_caller():
    tables = tomllib.loads(BRIEF.replace("hexagon_mm = 27", "hexagon_mm = 2"))
    with pytest.raises(BadFile) as caught:
        read(tables, file="my.toml", line_of=lambda place: 12 if place == ("brief", "hexagon_mm") else None)
    (problem,) = caught.value.problems
    assert (problem.file, problem.line) == ("my.toml", 12)


def test_an_envelope_is_read_from_its_own_file_and_from_a_brief():
    alone = {"envelope": tomllib.loads(BRIEF)["envelope"]}
    assert read_envelope(alone) == read_envelope(tomllib.loads(BRIEF)) == read(tomllib.loads(BRIEF)).envelope
    with pytest.raises(BadFile, match=r"\[envelope\] is missing"):
        read_envelope({})
    with pytest.raises(BadFile, match="did you mean 'envelope'"):
        read_envelope({"envelop": {}})


def test_a_base_of_hard_steel_keeps_its_table():
    assert HARD in str(read(tomllib.loads(BRIEF)).bases[-1].table)
