"""Tools: blocks are their units; article by tool beside statsmodels."""

from dataclasses import replace

import numpy as np
import pytest
import statsmodels.api as sm
from scipy.stats import ttest_rel
from tests.unit.judge.campaigns import runs_of

from strikeproof.judge.questions.effects import fit_effects
from strikeproof.judge.questions.tools import compare_tools, find_tool_effects
from strikeproof.judge.records import ScoredRun


def campaign(*, ring=(20.0, 20.0), more=0.0, blocks=6, seed=1, rounds=True):
    """Blocks of two tools: what the ring gains with each, how much more the second one gives. [%]"""
    rng = np.random.default_rng(seed)
    runs = []
    for number in range(2 * blocks):
        tool = (number if rounds else number // blocks) % 2
        if rounds and number // 2 % 2:
            tool = 1 - tool
        level = np.log(100 * (1 + more * tool / 100)) + 0.01 * rng.standard_normal()
        for article in rng.permutation(["ref", "ring", "ref", "arm"]):
            score = level + np.log1p(ring[tool] / 100) * (article == "ring") + 0.01 * rng.standard_normal()
            name = f"r{len(runs)}"
            runs.append(
                ScoredRun(
                    name, str(article), ("air", "cell")[tool], f"{number}", len(runs), float(np.exp(score))
                )
            )
    return runs


def effects_of(runs, *, margin=3.0, **more):
    return find_tool_effects(fit_effects(runs, "ref"), margin_percent=margin, confidence=0.95, **more)


def test_f_is_that_of_two_nested_fits():
    runs = campaign(ring=(20.0, 15.0))
    marks = np.asarray(
        [
            [each.block == f"{block}" for block in range(12)]
            + [each.article == name for name in ("ring", "arm")]
            + [each.article == name and each.tool == "cell" for name in ("ring", "arm")]
            + [each.order]
            for each in runs
        ],
        dtype=float,
    )
    score = np.log([each.score for each in runs])
    places = np.asarray([sum(o.block == e.block and o.order < e.order for o in runs) for e in runs])
    marks = np.column_stack([marks, 0.5**places])
    whole, less = (sm.OLS(score, columns).fit() for columns in (marks, np.delete(marks, [14, 15], axis=1)))
    f, p, _ = whole.compare_f_test(less)
    found = effects_of(runs)
    assert (found.f, found.p_f) == pytest.approx((f, p), rel=1e-6)
    assert found.freedoms == (2, int(whole.df_resid))


def test_what_differs_is_found_and_sized():
    found = effects_of(campaign(ring=(20.0, 6.0)))
    by_name = {each.article: each for each in found.found}
    assert found.verdict == "differs"
    assert (by_name["ring"].verdict, by_name["arm"].verdict) == ("higher", "same")
    assert by_name["ring"].low_percent < 100 * (1.20 / 1.06 - 1) < by_name["ring"].high_percent


def test_what_does_not_differ_is_the_same_within_the_margin():
    assert effects_of(campaign()).verdict == "same"
    assert effects_of(campaign(), margin=0.2).verdict == "cannot tell"


def test_a_tool_that_cannot_be_compared_is_named():
    """With a third tool in one block, in none with the reference, and with no article of another tool."""
    runs = campaign()
    cut = 4 * 2  # its first two blocks once more, with other tools
    for block, tool, why in (
        ([(each.article, each.score) for each in runs[:4]], "third", "few blocks"),
        ([("ring", 100.0), ("arm", 101.0)], "third", "no reference"),
    ):
        more = [
            ScoredRun(f"x{i}", name, tool, "x", len(runs) + i, score) for i, (name, score) in enumerate(block)
        ]
        found = effects_of(runs + more)
        assert (found.tools, found.left_out) == (("air", "cell"), (("third", why),))
    more = [
        replace(each, run=f"x{i}", tool="third", block=f"x{each.block}", order=len(runs) + i)
        for i, each in enumerate(runs[:cut])
        if each.article == "ref"
    ]
    assert effects_of(runs + more).left_out == (("third", "no other"),)


def test_a_time_turns_the_sign():
    runs = campaign(ring=(20.0, 6.0))
    plain, timed = (effects_of(runs, timed=timed).found[0] for timed in (False, True))
    assert (1 + plain.percent / 100) == pytest.approx(1 - timed.percent / 100)


def test_one_tool_or_no_reference_gives_no_effect():
    assert effects_of(runs_of("ref=100 a=101\na=102 ref=100")) is None
    assert effects_of([each for each in campaign() if (each.article, each.tool) != ("ref", "cell")]) is None


def test_tools_in_rounds_are_the_paired_t_test_of_their_blocks():
    runs = campaign(more=5.0)
    found = compare_tools(runs, "ref", margin_percent=1.0, confidence=0.95)
    blocks = {}
    for each in runs:
        if each.article == "ref":
            blocks.setdefault((each.tool, int(each.block) // 2), []).append(np.log(each.score))
    air, cell = ([np.mean(blocks[tool, number]) for number in range(6)] for tool in ("air", "cell"))
    test = ttest_rel(cell, air)
    low, high = test.confidence_interval(0.95)
    (one,) = found.differences.found
    assert one.asked.pair == ("cell", "air") and found.paired and found.hidden == ()
    assert np.log1p(np.asarray([one.low_percent, one.high_percent]) / 100) == pytest.approx([low, high])
    assert one.p == pytest.approx(test.pvalue)
    assert [each.article for each in found.best.possible] == ["cell"]


def test_tools_one_after_the_other_are_not_told_from_the_time():
    found = compare_tools(campaign(more=30.0, rounds=False), "ref", margin_percent=1.0, confidence=0.95)
    assert found.hidden == ("order",) and found.best.unknown == "order"
    assert [(each.verdict, each.why_not) for each in found.differences.found] == [("cannot tell", "no turns")]


def test_a_tool_after_two_that_took_turns_rules_out_neither():
    """Tools a and b by turns, then three blocks of c, which all that changed in between may have raised."""
    scores = {"a": 100.0, "b": 110.0, "c": 130.0}
    rng = np.random.default_rng(3)
    runs = [
        ScoredRun(
            f"r{i}", "ref", tool, f"{i}", i, scores[tool] * float(np.exp(0.005 * rng.standard_normal()))
        )
        for i, tool in enumerate("abbaabccc")
    ]
    found = compare_tools(runs, "ref", margin_percent=1.0, confidence=0.95)
    verdicts = {each.asked.pair: (each.verdict, each.why_not) for each in found.differences.found}
    assert verdicts == {
        ("c", "b"): ("cannot tell", "no turns"),
        ("c", "a"): ("cannot tell", "no turns"),
        ("b", "a"): ("higher", None),
    }
    assert found.hidden == ("order",) and found.best.unknown is None
    assert [each.article for each in found.best.possible] == ["c", "b"]


def test_bolts_of_its_own_hide_in_a_tool():
    runs = [replace(each, bolt=f"bolt of {each.tool}") for each in campaign()]
    assert compare_tools(runs, "ref", margin_percent=1.0, confidence=0.95).hidden == ("bolts",)


def test_one_tool_is_no_contest():
    runs = [each for each in campaign() if each.tool == "air"]
    assert compare_tools(runs, "ref", margin_percent=1.0, confidence=0.95) is None


def test_the_best_of_two_tools_is_settled_only_where_their_pair_is():
    """One question, one answer: over many campaigns near the limit, best and pair never part."""
    near = 0
    for seed in range(60):
        found = compare_tools(campaign(more=1.1, seed=seed), "ref", margin_percent=0.0, confidence=0.95)
        (pair,) = found.differences.found
        settled = len(found.best.possible) == 1
        assert settled == (pair.verdict != "cannot tell")
        near += settled
    assert 5 < near < 55
