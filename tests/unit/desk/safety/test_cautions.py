"""What must not be run is told by the kind of a caution, whatever its words and the names in them."""

from __future__ import annotations

import pickle
import re
from types import SimpleNamespace
from typing import cast

import pytest
from tests.unit.parts.examples import ring, socket

from strikeproof.desk.articles.article import describe_article
from strikeproof.desk.designing.proposal import Proposal
from strikeproof.desk.safety.cautions import CAUTIONS, Stop, plan_cautions, rig_cautions
from strikeproof.desk.safety.supply import is_above_rating

WORN = "STOP collar (bending) has a finite life: look for cracks before every run."
"""Of a part that a person has called so."""


def test_a_part_whose_name_begins_like_a_stop_forbids_nothing() -> None:
    gives = Stop("STOP: ring (weld) fails at 700 N·m, and blows may reach 780 N·m. Do not run it.")
    proposal = cast(Proposal, SimpleNamespace(cautions=(gives, WORN)))
    assert Proposal.stops.fget is not None
    assert Proposal.stops.fget(proposal) == (gives,)


def test_a_stop_stays_one_between_processes() -> None:
    assert isinstance(pickle.loads(pickle.dumps(Stop("STOP: take a new bolt."))), Stop)


def test_the_rig_is_asked_for_what_hurts_there() -> None:
    said = " ".join(CAUTIONS)
    for word in ("reaction torque", "take the battery out", "vent the air", "cracks", "Local codes"):
        assert word in said


@pytest.mark.parametrize(
    ("runs", "duration", "values"),
    [
        (60, 10.0, ["83.2 dB(A)", "lower action value 80"]),
        (180, 10.0, ["88.0 dB(A)", "without protection", "limit 87", "2.5 m/s²", "action value 2.5"]),
        (720, 10.0, ["94.0 dB(A)", "5.0 m/s²", "limit 5"]),
    ],
)
def test_a_days_noise_and_vibration_are_those_of_the_directives(
    runs: int, duration: float, values: list[str]
) -> None:
    """2003/10/EC and 2002/44/EC, art. 3: L + 10 lg(T/8 h), a √(T/8 h), with 100 dB(A) and 10 m/s²."""
    (text,) = plan_cautions(runs, duration, ["spring-and-cam"])
    assert all(value in text for value in values) and "an estimate" in text


@pytest.mark.parametrize(
    "minutes", [15.0, 15.1, 15.18, 15.2, 24.0, 24.05, 24.1, 4.8, 30.0, 29.9, 119.9, 120.0]
)
def test_a_days_figure_never_contradicts_the_value_that_it_is_said_to_reach(minutes: float) -> None:
    """Each value of 2003/10/EC and 2002/44/EC, art. 3, is named exactly when the figure shown reaches it."""
    (text,) = plan_cautions(1, 60.0 * minutes, ["spring-and-cam"])
    for unit, values in (("dB\\(A\\)", (80.0, 85.0, 87.0)), ("m/s²", (2.5, 5.0))):
        for figure, named in re.findall(
            rf"about ([\d.]+) {unit} over 8 h[^(]*\([a-z ]+ ([\d.]+) {unit}\)", text
        ):
            assert float(named) == max(each for each in values if each <= float(figure)), text
    assert "without protection" in text


def test_a_short_plan_with_batteries_is_warned_of_nothing() -> None:
    assert plan_cautions(6, 3.0, ["spring-and-cam"]) == ()
    (hose,) = plan_cautions(6, 3.0, ["air"])
    assert "whipping" in hose


def test_before_a_run_cracks_supply_and_local_codes_where_they_apply() -> None:
    first = rig_cautions("ring-a", "6.2 bar", "6.3 bar", is_changed=True)
    assert any("cracks in ring-a" in each for each in first)
    assert any("6.2 bar" in each and "rated for 6.3 bar" in each for each in first)
    assert any("Local codes" in each and "licensed practice" in each for each in first)
    assert any("eye, ear and hand protection" in each for each in first)
    assert rig_cautions("ring-a", "6.2 bar", "6.3 bar", is_changed=False) == (), "what never goes is not read"


@pytest.mark.parametrize("rated", ["6.2 bar", None])
def test_before_a_run_nothing_asks_for_a_supply_above_the_rating(rated: str | None) -> None:
    above = is_above_rating("air", "12 bar", rated)
    assert above and not is_above_rating("air", "6.2 bar", rated)
    (said,) = rig_cautions("ring-a", "12 bar", rated, is_changed=False, is_above=above)
    assert "12 bar" not in said and "at most the tool's rating" in said and (rated or "") in said


@pytest.mark.parametrize(
    ("material", "said"),
    [
        ("4140 at 45 HRC", "no more than 320 °C"),
        ("4140 at 45 HRC", "from about 421 HB (45 HRC) to 280 HB (29 HRC)"),
        ("4140 at 52 HRC", "Do not weld it as it is"),
        ("42CrMo4 +QT", "no more than 510 °C"),
        ("4140 tempered at 600 C", "at 550 °C, below the 600 °C"),
        ("4140 annealed", "its certificate says it"),
    ],
)
def test_stress_relief_stays_below_the_temper_and_names_what_it_costs(material: str, said: str) -> None:
    """Tempers: ASM / Shigley Table A-21; 42CrMo4 +QT tempered at 540 to 680 °C, ISO 683-2 data sheet."""
    cautions = " ".join(describe_article({"name": "a", "part": [socket(material=material), ring()]}).cautions)
    assert said in cautions
    assert ("Preheat it" in cautions) == ("52 HRC" not in material)


def test_balance_is_asked_for_only_where_something_is_off_balance() -> None:
    even = describe_article({"name": "a", "part": [socket(), ring()]})
    off = describe_article({"name": "a", "part": [socket(), ring(eccentric_mm=0.5)]})
    assert not any("balance" in each for each in even.cautions)
    (told,) = (each for each in off.cautions if "off balance" in each)
    grams = re.search(r"([\d.]+) g·mm", told)
    assert grams is not None and float(grams[1]) == pytest.approx(off.properties.off_balance * 1e6, rel=0.01)


def test_closed_hollows_ask_for_a_vent_and_a_dry_cavity() -> None:
    both = " ".join(describe_article({"name": "a", "part": [socket(), ring()]}).cautions)
    assert "Two welds close the gap under the ring" in both and "vent" in both
    one = ring(bond={"kind": "weld", "throat_mm": 4, "runs": 1})
    assert "vent" not in " ".join(describe_article({"name": "a", "part": [socket(), one]}).cautions)
    lead = {
        "name": "filling",
        "shape": "fill",
        "material": "lead",
        "carrier": "socket",
        "length_mm": 10,
        "at_mm": 20,
        "outer_diameter_mm": 12,
        "bond": {"kind": "loose", "slip_torque_n_m": 40},
    }
    cautions = " ".join(describe_article({"name": "a", "part": [socket(), lead]}).cautions)
    assert "trapped gas bursts it" in cautions and "molten lead on damp erupts" in cautions


def test_an_article_says_how_it_is_held() -> None:
    plain = " ".join(describe_article({"name": "a", "part": [socket()]}).cautions)
    assert "No pin hole is part of this design" in plain
    hole = {"kind": "cross hole", "size_mm": 3, "at_mm": 9, "walls": 2}
    pinned = socket(cut=[*socket()["cut"], hole])
    held = " ".join(describe_article({"name": "a", "part": [pinned]}).cautions)
    assert "a pin through its cross hole" in held and "No pin hole" not in held
