"""One piece before and after a change, beside `scipy.stats.ttest_ind` and plain differences of blocks."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy.stats import ttest_ind

from strikeproof.judge.questions.changed import Changed, find_changes
from strikeproof.judge.records import ScoredRun
from strikeproof.publish.answers.changed import changed_panel


def campaign(*, step: float = 0.05, change: float = 0.0, blocks: int = 12, seed: int = 1) -> list[ScoredRun]:
    """The piece whole in the first half of the blocks and cut in the others, the reference twice in each; all
    scores are a step higher in the second half."""
    rng, runs = np.random.default_rng(seed), []
    for block in range(blocks):
        later = block >= blocks // 2
        level = step * later + rng.normal(0.0, 0.01)
        for place, name in enumerate(
            rng.permutation(["plain", "plain", "cut" if later else "whole", "other"])
        ):
            gain = change if name == "cut" else 0.0
            score = 200.0 * np.exp(level + gain + rng.normal(0.0, 0.01))
            runs.append(ScoredRun(f"{block}-{place}", str(name), "air", str(block), 4 * block + place, score))
    return runs


def asked(runs: list[ScoredRun], before: str = "whole", after: str = "cut") -> Changed:
    (found,) = find_changes(runs, "plain", before, after, margin_percent=3.0, confidence=0.95)
    return found


def test_what_changed_for_all_falls_out_and_is_said() -> None:
    runs = campaign(step=0.05)
    found = asked(runs)
    assert found.order == "bracketed" and (found.blocks_before, found.blocks_after) == (6, 6)
    assert found.difference.verdict in ("same", "cannot tell")
    means = [
        np.mean([np.log(each.score) for each in runs if (each.block, each.article) == (str(block), "plain")])
        for block in range(12)
    ]
    welch = ttest_ind(means[6:], means[:6], equal_var=False)
    ends = 100.0 * np.expm1(welch.confidence_interval(0.95))
    assert (found.reference_low_percent, found.reference_high_percent) == pytest.approx(tuple(ends))
    assert found.reference_percent == pytest.approx(100.0 * np.expm1(np.mean(means[6:]) - np.mean(means[:6])))


def test_what_the_change_did_is_found_whatever_else_moved() -> None:
    found = asked(campaign(step=-0.08, change=0.06))
    assert found.difference.verdict == "higher"
    assert found.difference.low_percent is not None and found.difference.high_percent is not None
    assert found.difference.low_percent < 6.2 < found.difference.high_percent


def test_without_the_reference_in_both_times_it_is_said() -> None:
    runs = [each for each in campaign() if each.article != "plain" or int(each.block) < 6]
    found = asked(runs)
    assert found.order == "no reference" and found.reference_percent is None
    assert (found.difference.verdict, found.difference.why_not) == ("cannot tell", "no reference")


def test_what_other_articles_lose_in_between_is_no_change() -> None:
    runs = campaign(step=0.0)
    worn = [
        replace(each, score=0.8 * each.score) if each.article == "other" and int(each.block) > 5 else each
        for each in runs
    ]
    assert asked(worn) == asked(runs)


def test_one_misplaced_run_is_named() -> None:
    """One run that bears the other state's name; of two pieces that took turns twice none is misplaced."""
    runs = campaign(change=0.06)
    late, early = (
        next(each for each in some if each.article == name)
        for some, name in ((runs[::-1], "cut"), (runs, "whole"))
    )
    for wrong, name in ((late, "whole"), (early, "cut")):
        found = asked([replace(each, article=name) if each is wrong else each for each in runs])
        assert (found.order, found.misplaced) == ("misplaced", wrong.run)
        assert (found.difference.verdict, found.difference.why_not) == ("cannot tell", "misplaced")
        (note,) = changed_panel([found], "plain", 3.0).notes
        assert f"but for run {wrong.run}:" in note
    two = [
        ScoredRun(str(i), name, "air", str(i // 3), i, 100.0 + i % 4)
        for i, name in enumerate(["plain", "whole", "cut", "cut", "plain", "whole"])
    ]
    assert asked(two).order == "took turns"


def test_wear_of_the_reference_is_named_as_confounded() -> None:
    (note,) = changed_panel([asked(campaign())], "plain", 3.0).notes
    assert "to whole alone or to plain alone, such as wear, counts as the change" in note


def test_the_order_of_the_two_states_is_looked_at() -> None:
    runs = campaign()
    reversed_ = asked(campaign(change=0.06), "cut", "whole")
    assert (reversed_.order, reversed_.difference.verdict) == ("reversed", "cannot tell")
    mixed = [replace(each, order=(7 * each.order) % 48) for each in runs]
    assert asked(mixed).order == "took turns"
