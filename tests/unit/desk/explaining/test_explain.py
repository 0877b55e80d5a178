import json
import shutil
from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest
from tests.made_once import explained_rings
from tests.unit.desk.scores import INERTIA, Bench, changed, load, score_of, true_score
from tests.unit.explain.bench import BRISK

from strikeproof.design.search import QUICK
from strikeproof.desk.articles.known import know_article
from strikeproof.desk.designing import search as proposing
from strikeproof.desk.designing.design import design_from
from strikeproof.desk.explaining.evidence import gather_evidence
from strikeproof.desk.explaining.explain import ExplainOutcome, explain_workspace, find_explanation
from strikeproof.desk.explaining.predict import predict_file
from strikeproof.desk.publishing.report import write_report
from strikeproof.desk.runs.standing import set_run_aside
from strikeproof.desk.workspace.opening import open_campaign
from strikeproof.errors import BadInput, StrikeproofError
from strikeproof.explain import explaining
from strikeproof.plain_json import to_json

KEYS = {"rivals", "verdict", "because", "parameters", "articles", "next", "diagnostics"}
RIVAL_KEYS = {"name", "weight", "log_density", "error_percent"}
PARAMETER_KEYS = {"name", "median", "low", "high", "prior_low", "prior_high", "learned"}
ARTICLE_KEYS = {
    "article",
    "tool",
    "measured_percent",
    "predicted_percent",
    "low",
    "high",
    "left_out",
    "split",
}
NEW = """[article]
name = "ring-new"

[[article.part]]
name = "socket"
shape = "bar"
outer_diameter_mm = 40
length_mm = 60
material = "4140 at 45 HRC"
cut = [
  { kind = "square drive", size_mm = 12.5, depth_mm = 18 },
  { kind = "hexagon", size_mm = 30, depth_mm = 30 },
  { kind = "bore", size_mm = 12 },
]

[[article.part]]
name = "ring"
shape = "disc"
outer_diameter_mm = 70
length_mm = 16
material = "S355J2"
carrier = "socket"
bond = "rigid"
"""


@pytest.fixture(scope="module")
def rings(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, ExplainOutcome]:
    """Five articles that differ in inertia only, explained once."""
    workspace = tmp_path_factory.mktemp("rings") / "workspace"
    shutil.copytree(explained_rings(tmp_path_factory), workspace)
    return workspace, explain_workspace(workspace, quick=True)


def test_the_document_holds_the_promised_keys(rings: tuple[Path, ExplainOutcome]) -> None:
    document = to_json(rings[1])
    json.dumps(document, allow_nan=False)
    assert document.keys() >= KEYS
    assert all(row.keys() >= RIVAL_KEYS for row in document["rivals"])
    assert all(row.keys() >= PARAMETER_KEYS for row in document["parameters"])
    assert all(row.keys() >= ARTICLE_KEYS for row in document["articles"])
    assert all(row["left_out"] is True and isinstance(row["split"], dict) for row in document["articles"])
    assert all(row.keys() >= {"setup", "bits"} for row in document["next"])
    assert sum(row["weight"] for row in document["rivals"]) == pytest.approx(1.0)


def test_rings_are_explained_by_inertia_and_not_by_nothing(rings: tuple[Path, ExplainOutcome]) -> None:
    """The truth was put in: the engine with inertia changed and all else the same."""
    outcome = rings[1]
    assert outcome.explanation.verdict in ("inertia", "cannot tell")
    chances = {each.name: each.probability for each in outcome.explanation.rivals}
    assert chances["inertia"] == max(chances.values()) and chances["nothing"] < 0.01
    assert "nertia" in outcome.lines()[0]


def test_measured_gains_are_those_put_in(rings: tuple[Path, ExplainOutcome]) -> None:
    for row in rings[1].explanation.articles:
        true = 100.0 * (true_score(Bench().articles[row.article]) / true_score(1.0) - 1.0)
        assert row.measured_percent == pytest.approx(true, abs=5.0)


def test_the_curve_follows_the_engine(rings: tuple[Path, ExplainOutcome]) -> None:
    (curve,) = rings[1].curves
    for factor in (1.5, 2.5, 4.0):
        true = 100.0 * (true_score(factor) / true_score(1.0) - 1.0)
        low, high = (np.interp(factor * INERTIA, curve.inertia, each) for each in (curve.low, curve.high))
        assert low - 4.0 < true < high + 4.0


def test_tests_to_come_are_told_with_their_dimensions(rings: tuple[Path, ExplainOutcome]) -> None:
    setups = [each.setup for each in rings[1].explanation.next]
    assert any("extension" in each and "mm" in each for each in setups)
    assert any("ring" in each and "mm outside" in each for each in setups)
    assert any("instead of 4 s" in each for each in setups)


def test_a_second_call_works_nothing_out_and_says_the_same(rings: tuple[Path, ExplainOutcome]) -> None:
    workspace, first = rings
    called: list[int] = []
    again = explain_workspace(workspace, quick=True, progress=lambda done, _all, _what: called.append(done))
    assert called == []
    assert to_json(again) == to_json(first)
    assert all(
        np.array_equal(one.middle, other.middle)
        for one, other in zip(again.curves, first.curves, strict=True)
    )


def test_the_same_seed_says_the_same_in_another_workspace(
    rings: tuple[Path, ExplainOutcome], tmp_path: Path
) -> None:
    other = explain_workspace(load(tmp_path, Bench()), quick=True)
    assert to_json(other) == to_json(rings[1])


def test_an_explanation_is_only_kept_for_what_it_was_made_from(tmp_path: Path) -> None:
    workspace = load(tmp_path, changed(articles={"plain": 1.0, "ring-a": 2.0}))
    explain_workspace(workspace, quick=True)
    assert find_explanation(*open_campaign(workspace, None)) is not None
    set_run_aside(workspace, None, "r02", "hose came off")
    assert find_explanation(*open_campaign(workspace, None)) is None


def test_the_terminal_gets_sentences_and_tables(rings: tuple[Path, ExplainOutcome]) -> None:
    heads = [table[0][0] for table in rings[1].tables()]
    assert heads == ["explanation", "tool", "unknown", "bits"]
    assert all(len(row) == len(table[0]) for table in rings[1].tables() for row in table)
    assert not any("_" in line for line in rings[1].lines())


def test_an_unseen_article_is_foretold_with_its_margins(
    rings: tuple[Path, ExplainOutcome], tmp_path: Path
) -> None:
    (tmp_path / "new.toml").write_text(NEW, encoding="utf-8")
    found = predict_file(tmp_path / "new.toml", rings[0])
    (tool,) = to_json(found)["tools"]
    assert tool["tool"] == "wrench" and tool["low"] < tool["gain_percent"] < tool["high"]
    assert tool["low_run"] < tool["low"] and tool["high"] < tool["high_run"]
    assert tool["margins"][0]["static"] <= tool["margins"][-1]["static"]
    assert tool["peak_torque_n_m"] <= tool["peak_torque_high_n_m"]
    json.dumps(to_json(found), allow_nan=False)
    assert len(found.lines()) == 2
    true = 100.0 * (_true_of(NEW) / true_score(1.0) - 1.0)
    assert tool["low"] - 4.0 < true < tool["high"] + 4.0


def test_a_predicted_weld_is_judged_by_the_peak_of_its_own_bond(
    rings: tuple[Path, ExplainOutcome], tmp_path: Path
) -> None:
    weld = NEW.replace('bond = "rigid"', 'bond = { kind = "weld", throat_mm = 3, coverage = 0.1 }')
    (tmp_path / "new.toml").write_text(weld, encoding="utf-8")
    found = predict_file(tmp_path / "new.toml", rings[0])
    (tool,) = found.tools
    peaks = {each.mode: each.peak for each in tool.margins}
    assert peaks["shear"] == pytest.approx(tool.peak_high)
    assert peaks["weld"] != pytest.approx(tool.peak_high, rel=0.1)
    weakest = tool.margins[0]
    assert weakest.mode == "weld" and weakest.verdict == "stop"
    assert f"{weakest.peak:.4g} N·m there" in found.cautions[0]


def _true_of(text: str) -> float:
    import tomllib

    return score_of(tomllib.loads(text)["article"])


def test_a_thin_article_is_stopped(rings: tuple[Path, ExplainOutcome], tmp_path: Path) -> None:
    """Mild steel with a wall of 3 mm does not bear the blows of a 1/2 in wrench."""
    thin = NEW.replace("outer_diameter_mm = 40", "outer_diameter_mm = 36.6").replace(
        "4140 at 45 HRC", "S355J2"
    )
    (tmp_path / "thin.toml").write_text(thin, encoding="utf-8")
    found = predict_file(tmp_path / "thin.toml", rings[0])
    assert found.tools[0].stop and found.cautions[0].startswith("STOP: with wrench")


def test_an_article_without_parts_has_no_margins_and_that_is_said(
    rings: tuple[Path, ExplainOutcome], tmp_path: Path
) -> None:
    (tmp_path / "bare.toml").write_text("[article]\nname='x'\npolar_inertia_kg_m2=2e-4\n", encoding="utf-8")
    found = predict_file(tmp_path / "bare.toml", rings[0])
    assert found.tools[0].margins == () and "strength" in found.cautions[0]
    assert not any("largest that was run" in each for each in found.cautions)


FAR = """
[brief]
hexagon_mm = 24
drive_mm = 12.5
least_margin = 1.0
{more}
[[stock]]
item = "bar 90 mm"
material = "42CrMo4 +QT"
"""


def test_a_search_stays_where_something_was_run(
    rings: tuple[Path, ExplainOutcome], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    small = replace(
        QUICK,
        scan=150,
        recipes=1,
        population=6,
        generations=2,
        sweeps=1,
        probes=2,
        panel=2,
        again=8,
        finest=1,
        front=2,
    )
    monkeypatch.setattr(proposing, "QUICK", small)
    told = []
    for more in ("", "largest_inertia_kg_m2 = 4e-3"):
        (tmp_path / "far.toml").write_text(FAR.format(more=more), encoding="utf-8")
        told.append(design_from(tmp_path / "far.toml", rings[0], quick=True))
    usual, wider = told
    assert usual.brief.largest_inertia == usual.belief.reach == pytest.approx(1.1 * 5.0e-4)
    assert max(each.properties.polar_inertia for each in usual.proposals) <= 5.5e-4
    assert any("No polar inertia above 550 kg·mm² was looked at" in each for each in usual.notes())
    assert wider.brief.largest_inertia == 4e-3
    assert not any("No polar inertia" in each for each in wider.notes())


def test_who_goes_beyond_what_was_run_is_told(rings: tuple[Path, ExplainOutcome], tmp_path: Path) -> None:
    (tmp_path / "far.toml").write_text("[article]\nname='x'\npolar_inertia_kg_m2=8e-4\n", encoding="utf-8")
    found = predict_file(tmp_path / "far.toml", rings[0])
    assert any("1.6 times the inertia of ring-c, the largest that was run" in each for each in found.cautions)


def test_the_page_says_why_only_when_that_was_worked_out(
    rings: tuple[Path, ExplainOutcome], tmp_path: Path
) -> None:
    page = tmp_path / "page.html"
    write_report(rings[0], page)
    text = page.read_text(encoding="utf-8")
    assert '<section id="why">' in text and "chart-why-left-out" in text
    assert rings[1].lines()[0].split(":")[0] in text
    write_report(rings[0], page, why=False)
    assert 'id="why"' not in page.read_text(encoding="utf-8")


# bad input: what can still be said, what to add, never a confident sentence


@pytest.fixture
def brisk(monkeypatch: pytest.MonkeyPatch) -> None:
    """Where no figure of the explanation is looked at, it need not be a good one."""
    monkeypatch.setattr(explaining, "QUICK", BRISK)


def _refusal(folder: Path, bench: Bench) -> str:
    """The sentences of an explanation that may name nothing."""
    outcome = explain_workspace(load(folder, bench), quick=True)
    assert outcome.explanation.verdict == "cannot tell"
    assert outcome.lines()[0].startswith("Cannot tell")
    json.dumps(to_json(outcome), allow_nan=False)
    return " ".join(outcome.lines())


def test_two_articles_settle_nothing(tmp_path: Path) -> None:
    said = _refusal(tmp_path, changed(articles={"plain": 1.0, "ring-a": 2.0}))
    assert "1 article" in said and "add 2" in said


def test_the_reference_alone_settles_nothing(tmp_path: Path) -> None:
    said = _refusal(tmp_path, changed(articles={"plain": 1.0}))
    assert "Only 0 articles" in said and "add 3" in said


def test_without_inertias_nothing_is_settled(tmp_path: Path) -> None:
    said = _refusal(tmp_path, changed(known=False))
    assert "inertia" in said and "polar_inertia_kg_m2" in said


def test_articles_run_once_settle_nothing(tmp_path: Path, brisk: None) -> None:
    said = _refusal(tmp_path, changed(blocks=1))
    assert "run twice" in said and "second block" in said


def test_a_rig_out_of_control_is_said_beside_what_is_explained(tmp_path: Path, brisk: None) -> None:
    """An alarm is no reason to say nothing: it stands beside the answer."""
    outcome = explain_workspace(load(tmp_path, changed(shift=0.4, blocks=6)), quick=True)
    assert "the rig was out of control" in " ".join(outcome.lines()).lower()
    assert outcome.explanation.rivals


def test_a_tool_with_which_the_rig_was_out_of_control_is_left_aside_alone(tmp_path: Path) -> None:
    workspace = load(tmp_path, changed(tools=("steady", "odd"), shift=0.4, blocks=6))
    evidence = gather_evidence(*open_campaign(workspace, None)).evidence
    assert {gain.setting.tool for gain in evidence.gains} == {"steady"}
    assert any("out of control with odd" in caveat for caveat in evidence.caveats)


CONTRADICTION = NEW.partition("\n\n")[2].partition("\n\n")[0]


def test_an_article_that_contradicts_itself_is_left_aside_and_named(tmp_path: Path) -> None:
    """500 kg·mm² is given, about 130 follow from the dimensions."""
    bench = changed(articles={"plain": 1.0, "ring-a": 2.0, "ring-c": 5.0}, extra={"ring-c": CONTRADICTION})
    said = _refusal(tmp_path, bench)
    assert "ring-c is left out" in said and "above what its dimensions give" in said


def test_a_loosening_campaign_is_refused_in_words(tmp_path: Path) -> None:
    workspace = load(tmp_path, changed(protocol='direction = "loosen"'))
    with pytest.raises(BadInput, match="tightens"):
        explain_workspace(workspace, quick=True)


def test_times_without_logs_are_refused_in_words(tmp_path: Path) -> None:
    workspace = load(tmp_path, changed(protocol='score = "time to 40 reading"'))
    with pytest.raises(StrikeproofError, match="score by a level"):
        explain_workspace(workspace, quick=True)


def test_a_tool_without_a_mechanism_is_asked_for_one(tmp_path: Path) -> None:
    workspace = load(tmp_path, changed(mechanism=""))
    with pytest.raises(BadInput, match="mechanism"):
        explain_workspace(workspace, quick=True)


@cache
def _article(**values: object) -> object:
    from strikeproof.campaign.records import Article

    return Article("x", **values)  # type: ignore[arg-type]  # the caller's values fit the fields


def test_what_is_given_is_surer_than_what_is_usual() -> None:
    given = know_article(
        _article(  # type: ignore[arg-type]  # an Article
            polar_inertia_kg_m2=1e-4, stiffness_n_m_per_rad=8e4, hexagon_gap_deg=1.0, square_gap_deg=1.0
        )
    ).facts
    usual = know_article(_article(polar_inertia_kg_m2=1e-4)).facts  # type: ignore[arg-type]  # an Article
    assert given.stiffness_percent < usual.stiffness_percent
    assert given.gap_percent < usual.gap_percent
    assert given.mass is None


def test_a_stated_uncertainty_of_an_inertia_is_taken() -> None:
    geometry = json.dumps(
        {"measured": {"polar_inertia_kg_m2": 1e-4, "polar_inertia_uncertainty_kg_m2": 5e-6}}
    )
    assert know_article(_article(geometry=geometry)).facts.inertia_percent == pytest.approx(5.0)  # type: ignore[arg-type]  # an Article
