"""A design from a brief without a campaign: small searches on the priors of a tool's class."""

from __future__ import annotations

import csv
import json
import tomllib
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from strikeproof.design.judging import Strain, run_worlds
from strikeproof.design.relaxing import NoArticle
from strikeproof.design.search import QUICK
from strikeproof.desk.articles.article import describe_article
from strikeproof.desk.designing import proposal
from strikeproof.desk.designing import search as room
from strikeproof.desk.designing.design import DesignOutcome, design_from, prepare_design
from strikeproof.desk.designing.files import write_design
from strikeproof.desk.designing.proposal import Proposal, propose
from strikeproof.errors import BadInput, NotFound, StoreError
from strikeproof.explain.article_model import article_model
from strikeproof.plain_json import to_json

SMALL = replace(
    QUICK,
    scan=100,
    recipes=1,
    population=6,
    generations=2,
    probes=2,
    sweeps=1,
    panel=2,
    again=8,
    finest=1,
    front=2,
)
BRIEF = """
[brief]
name = "bench vice bolts"
hexagon_mm = 27
drive_mm = 12.5
budget = 60
largest_mass_kg = 1.5
proposals = 3
seed = 4
start_from = ["plain"]

[envelope]
free_length_mm = 90
nearest_wall_mm = 60

[[stock]]
item = "bar 50 mm"
material = "42CrMo4 +QT"

[[stock]]
item = "bar 80 mm"
material = "own steel"

[material."own steel"]
density_kg_m3 = 7900
shear_modulus_gpa = 80
elastic_modulus_gpa = 208
yield_mpa = 360
tensile_mpa = 500
endurance_mpa = 250

[[base]]
name = "plain"
price = 16
[[base.part]]
name = "socket"
shape = "bar"
outer_diameter_mm = 38
length_mm = 50
material = "4140 at 45 HRC"
cut = [
  { kind = "square drive", size_mm = 12.5, depth_mm = 18 },
  { kind = "hexagon", size_mm = 27, depth_mm = 25 },
  { kind = "bore", size_mm = 11 },
]
"""
BENCH = """
[bench.protocol]
duration = "2 s"
[bench.rig]
clamp_stiffness_n_per_m = 8e8
[bench.bolt]
thread = "M24x2"
class = "10.9"
friction = 0.14
[[bench.tool]]
name = "air"
mechanism = "air"
drive_mm = 12.7
hammer_inertia_kg_m2 = 4e-4
blow_speed_rad_s = 250
[[bench.tool]]
name = "battery"
mechanism = "spring-and-cam"
drive_mm = 12.7
[bench.article]
name = "plain"
polar_inertia_kg_m2 = 6.7e-5
"""


@pytest.fixture(scope="module")
def brief(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("brief") / "brief.toml"
    path.write_text(BRIEF + BENCH)
    return path


@pytest.fixture(scope="module")
def outcome(brief: Path) -> DesignOutcome:
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(room, "QUICK", SMALL)
        return design_from(brief, quick=True)


def test_gains_are_of_draws_that_had_no_say_in_the_choice(outcome: DesignOutcome) -> None:
    """By the draws that chose it, the best of many reads too high (tests/design_bias.py)."""
    fresh = outcome.belief.fresh.draws
    assert not {id(each) for each in fresh} & {id(each) for each in outcome.belief.worlds.draws}
    for each in (outcome.search.pareto[0], outcome.proposals[0].found):
        found = run_worlds([article_model(each.properties)], fresh, Strain())
        np.testing.assert_allclose(each.gains, found.gains[0])
    (first, *_), told = outcome.proposals, outcome.proposals[0].counted.gain_percent
    medians = 100.0 * np.expm1(np.median(first.found.gains, axis=0))
    assert told == pytest.approx(medians[outcome.belief.strongest], abs=0.2)


def test_every_key_that_is_promised_is_there(outcome: DesignOutcome) -> None:
    told = json.loads(json.dumps(to_json(outcome), allow_nan=False))
    assert {"proposals", "pareto", "searched", "refused", "next_tests"} <= set(told)
    first = told["proposals"][0]
    keys = "name gain_percent low high mass_kg price outer_diameter_m polar_inertia_kg_m2 margins article"
    assert set(keys.split()) <= set(first)
    assert first["low"] <= first["gain_percent"] <= first["high"]
    assert {each["tool"] for each in first["tools"]} == {"air", "battery"}
    assert told["searched"] >= SMALL.scan
    assert all(isinstance(count, int) for count in told["refused"].values())


def test_without_a_campaign_it_says_that_only_priors_stand_behind_it(outcome: DesignOutcome) -> None:
    assert any("rest on no campaign" in note for note in outcome.notes())
    assert any(text.startswith("Unsure") for text in outcome.proposals[0].cautions)
    assert outcome.next_tests == ()  # nothing was asked yet that a test could settle
    assert outcome.proposals[0].split is None


def test_margins_are_those_at_the_highest_peak_of_all_tools(outcome: DesignOutcome) -> None:
    for each in outcome.proposals:
        assert each.peak == max(told.peak_high or 0.0 for told in each.tools)
        assert each.margins[0].static >= outcome.brief.least_static
        assert not each.stops


def test_a_margin_below_the_usual_is_said_of_the_brief_and_of_the_article(
    outcome: DesignOutcome, monkeypatch: pytest.MonkeyPatch
) -> None:
    def thin(text: str) -> bool:
        return "1.5 times is usual" in text

    assert not any(map(thin, outcome.notes()))
    assert not any(thin(text) for each in outcome.proposals for text in each.cautions)
    asked = replace(outcome.brief, least_static=1.2)
    assert any(map(thin, replace(outcome, brief=asked).notes()))
    first = outcome.proposals[0]
    margins = (replace(first.margins[0], static=1.2), *first.margins[1:])
    monkeypatch.setattr(proposal, "least_margins", lambda _each: margins)
    (said,) = filter(thin, propose(first.found, asked, outcome.belief, 0, 0).cautions)
    assert f"{margins[0].part} ({margins[0].mode}) withstands only 1.20 times" in said


def test_twice_the_same(brief: Path, outcome: DesignOutcome, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(room, "QUICK", SMALL)
    assert to_json(design_from(brief, quick=True)) == to_json(outcome)


def test_files_say_what_the_outcome_says(outcome: DesignOutcome, tmp_path: Path) -> None:
    sheets = write_design(outcome, tmp_path / "out")
    assert len(sheets) == len(outcome.proposals)
    assert json.loads((tmp_path / "out" / "proposals.json").read_text()) == to_json(outcome)
    for path, each in zip(sheets, outcome.proposals, strict=True):
        again = describe_article(path.parent / "article.toml").properties
        assert again == each.properties
        assert (
            tomllib.loads((path.parent / "article.toml").read_text())["article"][0] == each.file["article"][0]
        )
        with (path.parent / "parts.csv").open() as stream:
            rows = list(csv.DictReader(stream))
        assert float(rows[-1]["price"]) == pytest.approx(each.properties.price, abs=0.006)
        welds = (path.parent / "welds.csv").read_text().splitlines()
        assert len(welds) == 1 + len(each.properties.welds)
        assert path.parent.joinpath("drawing.pdf").read_bytes().startswith(b"%PDF")


def test_a_full_folder_is_left_alone(outcome: DesignOutcome, tmp_path: Path) -> None:
    (tmp_path / "mine.txt").write_text("mine")
    with pytest.raises(StoreError, match="not empty"):
        write_design(outcome, tmp_path)


def test_a_stopped_search_says_so_and_keeps_what_it_has(brief: Path) -> None:
    asked: list[int] = []

    def tired() -> bool:
        asked.append(1)
        return len(asked) > 12

    stopped = prepare_design(brief, quick=True).search(None, tired)
    assert not stopped.search.complete
    assert any("stopped before its end" in note for note in stopped.notes())
    for each in stopped.proposals:
        assert each.margins[0].static >= stopped.brief.least_static


def higher_by(factor: float) -> Callable[..., Proposal]:
    """As if the prediction saw a peak so many times that of the search, as more draws may."""

    def see(*rest: Any) -> Proposal:
        proposal = propose(*rest)
        higher = tuple(
            replace(each, static=each.static / factor, peak=each.peak * factor) for each in proposal.margins
        )
        return replace(proposal, peak=factor * proposal.peak, margins=higher)

    return see


@pytest.mark.long
def test_where_all_fall_to_the_foretold_peak_the_search_is_made_again(
    brief: Path, outcome: DesignOutcome, monkeypatch: pytest.MonkeyPatch
) -> None:
    strongest = max(each.margins[0].static for each in outcome.proposals)
    factor = 1.02 * strongest / outcome.brief.least_static
    monkeypatch.setattr(room, "QUICK", SMALL)
    monkeypatch.setattr(room, "propose", higher_by(factor))
    again = design_from(brief, quick=True)
    assert again.proposals
    for each in again.proposals:
        assert each.margins[0].static >= again.brief.least_static
        assert each.margins[0].static * factor > strongest
    assert again.brief == outcome.brief


def test_where_nothing_stands_the_foretold_peak_it_says_in_words_what_the_strongest_stands(
    brief: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(room, "QUICK", SMALL)
    monkeypatch.setattr(room, "propose", higher_by(40.0))
    with pytest.raises(NoArticle, match="is a stop") as told:
        design_from(brief, quick=True)
    assert "not 1.5 times" in told.value.problem
    assert "stronger material" in told.value.fix
    assert told.value.changes == {}  # below 1 is never a way out


@pytest.mark.long
def test_what_is_offered_is_kept_by_the_next_search(
    brief: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The prediction sees a higher peak than the search that found which margin is the nearest."""
    monkeypatch.setattr(room, "QUICK", SMALL)
    monkeypatch.setattr(room, "propose", higher_by(1.05))
    strict = tmp_path / "strict.toml"
    strict.write_text(
        brief.read_text()
        .replace("seed = 4", 'seed = 4\nleast_margin = 30\ntools = ["air"]')
        .replace("proposals = 3", "proposals = 1")
    )
    with pytest.raises(NoArticle) as told:
        design_from(strict, quick=True)
    margin = told.value.changes["least_margin"]
    assert list(told.value.changes) == ["least_margin"] and 1 <= margin < 30
    assert (
        f"least_margin = {margin:g}" in told.value.fix
        and f"withstands it {margin:g} times" in told.value.what
    )
    relaxed = tmp_path / "relaxed.toml"
    relaxed.write_text(strict.read_text().replace("least_margin = 30", f"least_margin = {margin!r}"))
    outcome = design_from(relaxed, quick=True)
    assert outcome.proposals
    assert all(each.margins[0].static >= margin for each in outcome.proposals)


def test_a_tool_that_the_bench_has_not_is_refused(brief: Path, tmp_path: Path) -> None:
    other = tmp_path / "other.toml"
    other.write_text((BRIEF + BENCH).replace("seed = 4", 'seed = 4\ntools = ["hydraulic"]'))
    with pytest.raises(NotFound, match="hydraulic"):
        prepare_design(other)


def test_neither_campaign_nor_bench_is_refused_with_its_fix(tmp_path: Path) -> None:
    path = tmp_path / "brief.toml"
    path.write_text(BRIEF)
    with pytest.raises(BadInput, match="-w"):
        prepare_design(path)
