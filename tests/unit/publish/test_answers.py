"""Answers in words no stronger than their figures, the same on the page, in the data and in a front."""

from __future__ import annotations

import json
from dataclasses import replace
from html import escape

import pytest
from tests.unit.judge.campaigns import SHUFFLED, runs_of
from tests.unit.judge.test_questions_tools import campaign
from tests.unit.publish.sample import sample_report

from strikeproof.judge.questions.answers import Answers, answer_runs
from strikeproof.judge.questions.differences import find_differences
from strikeproof.judge.questions.effects import fit_effects
from strikeproof.judge.questions.tools import find_tool_effects
from strikeproof.judge.questions.written import ask_pair, read_asked
from strikeproof.judge.records import ScoredRun
from strikeproof.publish.answers import answer_panels, panels_of
from strikeproof.publish.answers.differences import difference_sentence, differences_note
from strikeproof.publish.answers.tools import effects_notes, effects_said
from strikeproof.publish.charts.tools import tool_charts
from strikeproof.publish.data.tables import page_tables, write_json
from strikeproof.publish.page import write_page


def panels(text: str, **more: object):  # type: ignore[no-untyped-def]  # the panels say it
    found = answer_runs(runs_of(text), "ref", margin_percent=3.0, confidence=0.95, **more)  # type: ignore[arg-type]
    return answer_panels(found, margin_percent=3.0, currency="EUR")


def best_sentence(text: str, **more: object) -> str:
    return str(panels(text, **more)[0].said[0][1])


def test_a_settled_best_is_said_with_how_far_ahead_it_was_seen() -> None:
    said = best_sentence(SHUFFLED)
    assert said.startswith("With air a is the best of 3 articles, ") and said.endswith(
        "of the next in these runs."
    )


def test_one_interval_alone_is_students_and_two_are_both() -> None:
    runs = runs_of(SHUFFLED)
    effects = fit_effects(runs, "ref")
    asked = [(ask_pair("a", "ref"), "air"), (ask_pair("b", "ref"), "air")]
    one, two = (
        differences_note(find_differences(effects, asked[:many], margin_percent=3.0, confidence=0.95))
        for many in (1, 2)
    )
    assert "from Student’s t distribution with" in one and "multivariate" not in one and "Tukey" not in one
    assert two.startswith("Both intervals hold together") and "the multivariate t distribution" in two


ALIKE = """
ref=100 a=101 ref=99 b=100
b=101 ref=101 a=99 ref=98
a=102 ref=100 b=99 ref=100
ref=99 b=102 ref=101 a=100
"""


def test_a_best_that_is_not_settled_names_all_and_the_cheapest() -> None:
    said = best_sentence(ALIKE, prices={"a": 30.0, "b": 20.0, "ref": 10.0})
    assert said.startswith("With air: cannot tell which is best: any of ")
    assert "the best in these runs, is at most " in said and " % behind the best" in said
    assert said.endswith("The cheapest of these is ref (10.00 EUR).")


def test_a_best_that_rests_on_excluded_runs_says_so() -> None:
    text = SHUFFLED.replace("b=103", "b=103 !b=135").replace("b=99 ref=98", "b=99 !b=131 ref=98")
    assert " This rests on the excluded runs: with them it might be " in best_sentence(text)
    assert "rests on" not in best_sentence(SHUFFLED.replace("b=103", "!b=103"))


def test_no_price_no_cheapest() -> None:
    assert "cheapest" not in best_sentence(ALIKE, prices={"a": 30.0})


@pytest.mark.parametrize(
    ("text", "says"),
    [
        (
            "ref=100 ref=101 a=104",
            "only one article has enough runs to be compared. Left out: a (one run",
        ),
        ("ref=100 a=103", "no article has enough runs to be compared. Left out: "),
        (
            "ref=100 a=103 a=104\nref=101\nref=99\na=100 b=101 b=102 b=103\nref=98 a=99",
            "b (runs in one block only)",
        ),
        ("ref=100 a=103\nref=100 a=103\na=103 ref=100", "how much a score scatters"),
    ],
)
def test_what_cannot_be_said_says_why(text: str, says: str) -> None:
    assert says in best_sentence(text)


def test_runs_that_never_got_there_leave_one_sentence() -> None:
    late = [*runs_of(SHUFFLED), ScoredRun("late", "a", "air", "1", 99, 10.0, not_reached=True)]
    found = answer_runs(late, "ref", margin_percent=3.0, confidence=0.95)
    (panel,) = answer_panels(found, margin_percent=3.0, currency="EUR")
    assert (panel.said, panel.tables) == ((), ()) and "never reached the level" in panel.notes[0]


@pytest.mark.parametrize(
    ("asked", "timed", "says"),
    [
        (ask_pair("a", "b"), False, "a is higher than b by 11.0 % (9.1 to 12.9 %) with air."),
        (ask_pair("b", "a"), False, "b is lower than a by "),
        (ask_pair("a", "b"), True, "a gets there later than b by "),
        (ask_pair("b", "ref"), False, "With air: cannot tell between b and ref. Seen so far: "),
        (read_asked("mean(a, b) - ref", ["a", "b", "ref"]), False, "“mean(a, b) - ref” is higher by "),
        (
            read_asked("0.01 * b - 0.01 * ref", ["b", "ref"]),
            False,
            "(the margin fits only where each side weighs 1)",
        ),
        (read_asked("0.01 * a - 0.01 * b", ["a", "b"]), False, "0.01 * b” is higher by 0.1 % (0.1 to 0.1 %)"),
        (read_asked("0.01 * b - 0.01 * a", ["a", "b"]), True, "0.01 * a” gets there sooner by 0.1 %"),
        (read_asked("0.01 * a - 0.01 * b", ["a", "b"]), False, "and the margin does not fit it"),
        (read_asked("0.01 * a - 0.01 * b", ["a", "b"]), False, "Each side weighs 0.01: the percentage is"),
        (read_asked("a + b - 2 * ref", ["a", "b", "ref"]), False, "Each side weighs 2: the percentage is"),
    ],
)
def test_what_a_difference_says(asked, timed, says):  # type: ignore[no-untyped-def]  # the table says it
    effects = fit_effects(runs_of(SHUFFLED), "ref")
    found = find_differences(effects, [(asked, "air")], margin_percent=1.0, confidence=0.95, timed=timed)
    assert says in difference_sentence(found.found[0], 1.0)


def test_one_test_alone_settles_nothing_with_the_reference() -> None:
    effects = fit_effects(runs_of(SHUFFLED), "ref")
    asked = [(ask_pair("a", "ref"), "air"), (ask_pair("a", "b"), "air")]
    found = find_differences(
        effects, asked, margin_percent=1.0, confidence=0.95, unconfirmed={("a", "air")}
    ).found
    assert [each.verdict for each in found] == ["cannot tell", "higher"]
    assert "only one of the two tests" in difference_sentence(found[0], 1.0)


def test_one_test_alone_makes_no_best() -> None:
    """Of two, a lead that the comparison does not confirm settles nothing, nor does twice the lead."""
    two = "a=111 ref=100\nref=105 a=114\nref=98 a=109\na=110 ref=99"
    assert "is the best of 2" in best_sentence(two)
    said = best_sentence(two, unconfirmed={("a", "air")})
    assert (
        "cannot tell which is best: any of a or ref. a is the best in these runs. ref cannot be ruled out"
        in said
    )
    assert "only one of the two tests" in said
    effects = fit_effects(runs_of(two), "ref")
    twice = read_asked("2 * a - 2 * ref", ["a", "ref"])
    (found,) = find_differences(
        effects, [(twice, "air")], margin_percent=1.0, confidence=0.95, unconfirmed={("a", "air")}
    ).found
    assert found.why_not == "unconfirmed"


def test_the_page_holds_every_answer() -> None:
    report = replace(sample_report(), runs=(), calibration=None, budget=None)
    page = write_page(report).replace("\u00a0", " ")
    for panel in panels_of(report):
        assert f'<section id="{panel.key}"><h2>{panel.heading}</h2>' in page
        assert f'<a href="#{panel.key}">{panel.heading}</a>' in page
        for _sign, text in panel.said:
            assert f"<span>{escape(text)}</span>" in page
        for table in panel.tables:
            head = table.heads[table.verdict + 1]
            for _sign, cells in table.rows:
                first, *below = cells[table.verdict + 1]
                small = "".join(f"<small>{escape(each)}</small>" for each in below)
                assert f'data-label="{head}">{escape(first)}{small}</td>' in page


def test_the_data_hold_every_answer() -> None:
    report = sample_report()
    assert report.answers is not None and report.answers.pairs is not None
    tables = {each.name: json.loads(write_json(each)) for each in page_tables(report)}
    assert len(tables["pairs"]["rows"]) == len(report.answers.pairs.found) == 2 * 28
    assert len(tables["best"]["rows"]) == 2 * 8


def tool_panels(**more):  # type: ignore[no-untyped-def]  # the panels say it
    found = answer_runs(campaign(**more), "ref", margin_percent=3.0, confidence=0.95)
    return {each.key: each for each in answer_panels(found, margin_percent=3.0, currency="EUR")}


def test_tools_are_compared_with_the_same_article_and_what_differs_is_named() -> None:
    panels = tool_panels(ring=(20.0, 6.0), more=12.0)
    first, second = (text for _sign, text in panels["tool"].said)
    assert first.startswith("With ref cell is the best of 2 tools, ") and second.startswith(
        "cell is higher than air by "
    )
    said = [text for _sign, text in panels["tools"].said]
    assert said[0] == "What the articles do differs between air and cell: 1 of 2 articles."
    assert said[1].startswith("ring over ref is ") and said[1].endswith(" with air than with cell.")
    assert "in rounds, one of each tool" in panels["tool"].notes[0] and "F = " in panels["tools"].notes[0]


def test_a_best_tool_that_rests_on_excluded_runs_says_so() -> None:
    runs = campaign(more=10.0)
    odd = [
        replace(each, score=each.score * 1.3, set_aside=True, run=f"{each.run}-x", order=len(runs) + i)
        for i, each in enumerate(runs)
        if each.article == "ref" and each.tool == "air"
    ]
    for given, says in ((runs, False), ([*runs, *odd], True)):
        found = answer_runs(given, "ref", margin_percent=3.0, confidence=0.95)
        panels = {each.key: each for each in answer_panels(found, margin_percent=3.0, currency="EUR")}
        assert ("This rests on the excluded runs" in panels["tool"].said[0][1]) == says


def test_the_tools_that_do_the_same_are_named_and_those_left_out() -> None:
    runs = campaign()
    more = [replace(each, run=f"x{i}", tool="third", order=len(runs) + i) for i, each in enumerate(runs[:4])]
    effects = find_tool_effects(fit_effects(runs + more, "ref"), margin_percent=3.0, confidence=0.95)
    assert effects is not None
    assert [text for _sign, text in effects_said(effects, "ref")] == [
        "What the articles do over ref is the same with air and cell within 3 %.",
        "Not compared: third (two of its blocks with the reference and another article are needed).",
    ]


def test_one_interval_is_not_all_of_them() -> None:
    runs = [each for each in campaign() if each.article != "arm"]
    effects = find_tool_effects(fit_effects(runs, "ref"), margin_percent=3.0, confidence=0.95)
    assert effects is not None and effects_notes(effects)[0].startswith("The interval holds with 95 %")


def test_tools_that_took_no_turns_get_no_verdict() -> None:
    panel = tool_panels(more=30.0, rounds=False)["tool"]
    assert [text for _sign, text in panel.said] == [
        "With ref: cannot tell which is best: each tool had its own place in the order; shuffle it."
    ]
    assert any("Let the tools take turns" in text for text in panel.notes)


def test_one_article_with_two_tools_is_a_contest_of_the_tools() -> None:
    """Where the comparison has nothing to compare it with."""
    runs = [each for each in campaign(more=12.0) if each.article == "ref"]
    found = answer_runs(runs, "ref", margin_percent=3.0, confidence=0.95)
    said = [
        text for each in answer_panels(found, margin_percent=3.0, currency="EUR") for _, text in each.said
    ]
    assert any(text.startswith("With ref cell is the best of 2 tools, ") for text in said)
    assert sum("only one article has enough runs" in text for text in said) == 2


def test_the_chart_has_a_row_for_each_article_that_ran_with_both_tools() -> None:
    (chart,) = tool_charts(sample_report())
    assert chart.section == "tools" and "ring-24 with oil-b" in chart.says
    assert len(list(chart.rows())) == 1 + 7
    assert tool_charts(replace(sample_report(), answers=None)) == ()


def test_nothing_asked_nothing_shown() -> None:
    assert panels_of(replace(sample_report(), answers=None)) == ()
    assert answer_panels(Answers((), None, "", 0.95), margin_percent=3.0, currency="EUR") == ()
