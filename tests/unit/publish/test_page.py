import base64
import json
import re
from dataclasses import replace
from functools import cache
from html.parser import HTMLParser
from itertools import product
from xml.etree import ElementTree

import numpy as np
import pytest
from tests.unit.publish.sample import sample_report

from strikeproof.campaign.records import Protocol, RunRow, ScoreRule
from strikeproof.judge.comparison import compare_runs
from strikeproof.judge.looks import Looks
from strikeproof.judge.records import ScoredRun
from strikeproof.language import speaking
from strikeproof.publish.data.tables import page_tables, write_csv
from strikeproof.publish.page import write_page
from strikeproof.publish.report import Report, ReportRun
from strikeproof.publish.summary import summary
from strikeproof.publish.uncertainty import _scientific

EMPTY = {"meta", "input", "br", "link", "img", "hr"}


@cache
def page() -> str:
    return write_page(sample_report())


def small(**changes: object) -> Report:
    """The report without what takes long to draw."""
    report = sample_report()
    runs = tuple(replace(run, growth_time=np.empty(0), growth_level=np.empty(0)) for run in report.runs)
    return replace(report, **{"runs": runs, "calibration": None, "budget": None, **changes})


class Outline(HTMLParser):
    """Tags that do not close in order, ids, and references to ids."""

    def __init__(self) -> None:
        super().__init__()
        self.open: list[str] = []
        self.wrong: list[str] = []
        self.ids: list[str] = []
        self.refs: list[str] = []
        self.outside: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        if tag not in EMPTY:
            self.open.append(tag)
        self._note(attrs)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self._note(attrs)

    def handle_endtag(self, tag: str) -> None:
        if not self.open or self.open.pop() != tag:
            self.wrong.append(tag)

    def _note(self, attrs: list[tuple[str, str | None]]) -> None:
        for name, value in attrs:
            if name == "id":
                self.ids.append(value or "")
            if name in ("href", "xlink:href", "src") and not (value or "").startswith("data:"):
                (self.refs if (value or "").startswith("#") else self.outside).append(value or "")
            self.refs += re.findall(r"url\((#[^)]+)\)", value or "")


@cache
def outline() -> Outline:
    found = Outline()
    found.feed(page())
    return found


def test_the_page_is_well_formed_and_its_ids_are_its_own() -> None:
    assert outline().open == [] and outline().wrong == []
    assert len(outline().ids) == len(set(outline().ids))


def test_every_reference_is_to_something_on_the_page() -> None:
    assert outline().refs
    assert {ref[1:] for ref in outline().refs} <= set(outline().ids)


def test_the_page_asks_for_nothing_from_outside() -> None:
    assert outline().outside == []
    assert not re.search(r"https?://|@import|url\((?!#)", page())
    assert "default-src 'none'" in page()


def test_the_page_holds_its_data_as_files() -> None:
    names = ["articles", "runs", "rig", "summary", "best", "pairs", "tools", "gains_by_tool"]
    found = dict(re.findall(r'<a download="([^"]+)" href="data:[^,]+;base64,([^"]+)"', page()))
    assert set(found) == {f"{name}.csv" for name in names} | {"results.json"}
    texts = {name: base64.b64decode(packed).decode() for name, packed in found.items()}
    assert texts["runs.csv"] == write_csv(page_tables(sample_report())[1])
    tables = json.loads(texts["results.json"])
    assert [each["table"] for each in tables] == names


def test_a_page_of_200_runs_is_small() -> None:
    assert len(sample_report().runs) == 200
    assert len(page().encode()) < 2_000_000


def test_simulated_runs_are_said_to_be_simulated_before_anything_else() -> None:
    assert page().index("SIMULATED.") < page().index("<h1>")
    real = small(campaign=replace(sample_report().campaign, simulated=False))
    assert "SIMULATED" not in write_page(real)


def test_every_run_is_on_the_page_with_its_flags_and_reasons() -> None:
    for run in sample_report().runs:
        assert f">{run.row.run}</th>" in page() or f"○ {run.row.run}</th>" in page()
    assert "Excluded: hose came off at four seconds." in page()
    assert "shorter than the window: hammering for 4.1 s of 10 s" in page()
    assert "Only a ratio: above the highest applied value of the calibration." in page()
    assert "<small>only a ratio</small>" in page()


def test_results_without_and_with_set_aside_runs_are_both_given() -> None:
    part = page()[page().index("Without and with the excluded runs") :]
    assert part.count("<tr>") > len(sample_report().comparison.results) / 2


def test_hashes_command_and_version_are_there() -> None:
    report = sample_report()
    assert all(digest in page() for _, digest in report.hashes)
    assert report.command.replace("'", "&#39;") in page()
    assert f"strikeproof {report.version}" in page() and report.made in page()


def test_names_and_notes_from_outside_cannot_become_markup() -> None:
    bad = "\"><script>alert(1)</script><img src=x onerror=alert(2)>'"
    report = small()
    first, *rest = report.runs
    row = replace(first.row, run=bad, article=bad, note=bad, set_aside=bad, started=bad)
    hostile = replace(first, row=row, flags=((bad, bad),), only_ratio=bad)
    campaign = replace(report.campaign, name=bad, note=bad, currency=bad)
    results = tuple(replace(each, article=bad) for each in report.comparison.results)
    text = write_page(
        replace(
            report,
            runs=(hostile, *rest),
            campaign=campaign,
            comparison=replace(report.comparison, results=results, reference=bad),
            bolt=((bad, bad),),
            cautions=(bad,),
            hashes=((bad, bad),),
            command=bad,
            made=bad,
            uncalibrated=bad,
        )
    )
    assert "<script>alert" not in text and "<img" not in text
    assert text.count("<script>") == 1


def test_a_rig_out_of_control_is_said_before_any_result() -> None:
    report = sample_report(drift=-2.5e-3)
    assert report.comparison.rig.state == "not in control"
    text = write_page(replace(report, calibration=None, budget=None))
    notice = text.index("Read this before the results")
    first = min(
        text.index(word) for word in ("Largest gain", "is higher than", "is lower than") if word in text
    )
    assert notice < text.index("The rig was not in control") < first
    assert "Read this before the results" not in page()


def test_a_rig_without_calibration_gives_only_ratios() -> None:
    text = write_page(small(uncalibrated="the rig was never calibrated"))
    assert "Only ratios.</strong> The rig was never calibrated." in text
    assert text.count("<small>only a ratio</small>") == len(sample_report().comparison.results)


def test_a_page_without_prices_growth_or_calibration_still_says_the_rest() -> None:
    report = small(hashes=(), bolt=(), cautions=(), uncalibrated="no calibration")
    results = tuple(replace(each, price=None, gain_per_price=None) for each in report.comparison.results)
    text = write_page(replace(report, comparison=replace(report.comparison, results=results)))
    assert 'id="price"' not in text and 'id="growth"' not in text and "Gain per" not in text
    assert 'id="method"' in text and "Wear eye, ear and hand protection" in text


def scored_only() -> Report:
    """Times without logs from three tools: no growth, no blows, some scores missing."""
    rng = np.random.default_rng(5)
    runs = [
        ReportRun(
            RunRow(f"t{place}", article, tool, str(block)), place, "s", score=float(rng.normal(4.0, 0.05))
        )
        for place, (block, tool, article) in enumerate(product(range(3), "abc", ("old", "new", "old")), 1)
    ]
    scored = [
        ScoredRun(r.row.run, r.row.article, r.row.tool, r.row.block, r.order, r.score or 0.0) for r in runs
    ]
    comparison = compare_runs(
        scored,
        reference="old",
        margin_percent=2.0,
        rng=rng,
        draws=99,
        prices={"old": 10.0, "new": 12.0},
        timed=True,
    )
    campaign = replace(
        sample_report().campaign,
        reference="old",
        tools=(),
        protocol=Protocol(score=ScoreRule("time to", level=400, level_unit="N m")),
        calibration=None,
        simulated=False,
    )
    missing = ReportRun(RunRow("t99", "new", "a", "3", set_aside="no reading"), 99, "s", score=None)
    return small(
        campaign=campaign,
        comparison=comparison,
        runs=(*runs, missing),
        quantity="time to reach 400 N·m",
        unit="s",
        hashes=(),
    )


def test_a_planned_look_states_the_level_of_its_ranges() -> None:
    scored = [
        ScoredRun(f"r{place}", article, "a", str(block), place, 100.0 + place % 7)
        for place, (block, article) in enumerate(product(range(4), ("old", "new", "old")), 1)
    ]
    looks, rng = Looks(3, 4, 6), np.random.default_rng(1)
    found = compare_runs(scored, reference="old", margin_percent=2.0, rng=rng, draws=99, looks=looks)
    report = replace(scored_only(), comparison=found)
    assert summary(report)[-1].startswith("This is look 2 of 3 that were planned. Its ranges hold at 98.")
    text = write_page(report)
    told = re.search(r"holds for all comparisons at once with ([\d.]+)\u00a0% confidence", text)
    assert told is not None
    assert float(told[1]) == pytest.approx(100 * found.interval_confidence, abs=0.01)
    assert found.interval_confidence > found.confidence == 0.95


def test_a_time_is_summed_up_as_sooner_or_later() -> None:
    report = scored_only()
    results = tuple(
        each if each.verdict == "reference" else replace(each, verdict="later", gain_percent=-5.0)
        for each in report.comparison.results
    )
    said = summary(replace(report, comparison=replace(report.comparison, results=results)))
    assert said[0] == "With a, of 1 article: 1 later than old."


def test_a_campaign_of_scores_without_logs_gets_its_page() -> None:
    text = write_page(scored_only())
    assert "no score" in text and "time to reach 400 N·m (s)" in text
    assert "is higher than" not in text and "the sign turned since less time is better" in text
    assert "<strong>sooner</strong>" in text and 'id="growth"' not in text
    assert "The rig was not calibrated" in text


def test_a_campaign_that_only_ran_its_reference_gets_its_page() -> None:
    whole = small()
    runs = tuple(run for run in whole.runs if run.row.article == whole.campaign.reference)
    scored = [
        ScoredRun(r.row.run, r.row.article, r.row.tool, r.row.block, r.order, r.score or 1.0) for r in runs
    ]
    rng = np.random.default_rng(1)
    alone = compare_runs(scored, reference=whole.campaign.reference, margin_percent=2.0, rng=rng, draws=9)
    text = write_page(replace(whole, runs=runs, comparison=alone))
    assert "Only plain-24 was run" in text and "0 articles" not in text
    assert all(f"With {tool} only plain-24 was run: no article" in text for tool in whole.tools)
    assert "<h2>Every run</h2>" in text


def test_a_warning_said_twice_is_shown_once() -> None:
    report = small()
    said = report.comparison.warnings[0]
    text = write_page(replace(report, warnings=(said, "mind the step")))
    assert text.count(said[1:].replace("'", "&#39;")) == 1 and "Mind the step." in text


def test_flags_are_explained_once() -> None:
    part = page()[page().index("What the flags mean") :]
    assert "<dt>shorter than the window</dt>" in part and "<dt>over its range</dt>" not in part


def test_formulas_are_well_formed() -> None:
    formulas = re.findall(r"<math.*?</math>", page(), flags=re.DOTALL)
    assert len(formulas) > 8
    for formula in formulas:
        ElementTree.fromstring(formula)


def test_the_second_reading_is_shown_only_when_it_says_more_than_the_score() -> None:
    assert "Torque equivalent</th>" in page() and "Clamp load</th>" not in page()


@pytest.mark.parametrize(
    ("value", "spread", "text"),
    [
        (0.09139, 0.00017, "0.09139 ± 0.00017 mV"),
        (1.73e-5, 0.15e-5, "(1.73 ± 0.15) × 10⁻⁵ mV"),
        (-0.316081871345029e-14, 0.486652849992036e-16, "(−3.161 ± 0.049) × 10⁻¹⁵ mV"),
    ],
)
def test_small_coefficients_are_written_in_powers_of_ten(value: float, spread: float, text: str) -> None:
    """The last is the certified B2 of NIST StRD Pontius."""
    assert _scientific(value, spread, "mV") == text


def test_the_page_in_german_has_its_words_its_comma_and_what_it_is(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("strikeproof.publish.page.find_charts", lambda _report: ())
    with speaking("de"):
        text = write_page(sample_report())
    assert '<html lang="de">' in text and "ohne muttersprachliche Prüfung" in text
    shown = re.sub(r"<(style|script|math)\b.*?</\1>|<[^>]+>", "\n", text, flags=re.DOTALL)
    for heading in ("Was gefunden wurde", "Jeder Lauf", "Warnhinweise", "Verfahren", "Weitere Läufe"):
        assert heading in shown
    assert not re.search(r"\d\.\d+ (?:%|kN)", re.sub(r"friction \S+|3\.10 .*", "", shown))
    for english in ("Each gain is", "What was found", "was in control", "No run is ever", "cannot tell yet"):
        assert english not in shown
    with speaking("en", decimal_comma=True):
        assert re.search(r";\d+,\d+;", write_csv(page_tables(sample_report())[0]))
