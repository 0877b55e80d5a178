"""Runs on another scale are named, and articles that really differ are not."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from strikeproof.campaign.records import RunRow
from strikeproof.judge.scale import RunScale, find_off_scale


def campaign(seed: int = 1, articles: tuple[float, ...] = (1.0, 1.3, 3.0), tools: int = 1) -> list[RunScale]:
    """Six blocks in kN: 60 kN on the first article, 0.1 kN noise within a factor of two, 5 % scatter."""
    rng = np.random.default_rng(seed)
    return [
        RunScale(
            RunRow(f"{tool}-{block}-{place}", f"article {place}", f"tool {tool}", str(block)),
            counts=True,
            span=60.0 * 5.0**tool * factor * float(np.exp(rng.normal(0.0, 0.05))),
            noise=0.1 * float(2.0 ** rng.uniform(-1.0, 1.0)),
            zero=2.0 + float(rng.normal(0.0, 0.5)),
        )
        for tool in range(tools)
        for block in range(6)
        for place, factor in enumerate(articles)
    ]


def scaled(run: RunScale, factor: float) -> RunScale:
    return replace(
        run,
        span=(run.span or 0.0) * factor,
        noise=(run.noise or 0.0) * factor,
        zero=(run.zero or 0.0) * factor,
    )


@pytest.mark.parametrize("seed", range(20))
@pytest.mark.parametrize("articles", [(1.0, 3.0), (1 / 3, 1.0, 1.0), (1.0, 1.5, 3.0), (1.0, 1.0, 1 / 3, 3.0)])
def test_articles_that_differ_by_three_raise_no_doubt(seed: int, articles: tuple[float, ...]) -> None:
    assert find_off_scale(campaign(seed, articles)) == {}
    assert find_off_scale(campaign(seed, articles, tools=2)) == {}


@pytest.mark.parametrize("factor", [1e-4, 1e-3, 1 / 9.81, 9.81, 1e3, 1e4])
@pytest.mark.parametrize("bad", [{0}, {3, 4, 5}, {0, 2, 5, 7, 9, 13}])
def test_runs_in_another_unit_are_named_and_no_others(factor: float, bad: set[int]) -> None:
    """9.81 is the standard acceleration of free fall of ISO 80000-3 (from memory): kgf written for N."""
    runs = campaign()
    runs = [scaled(run, factor) if place in bad else run for place, run in enumerate(runs)]
    assert set(find_off_scale(runs)) == {runs[place].row.run for place in bad}


def test_volts_for_kilonewtons_are_told_with_how_much() -> None:
    runs = campaign()
    found = find_off_scale([*runs[:-1], scaled(runs[-1], 1e-4)])
    assert "times smaller" in found[runs[-1].row.run] and "noise" in found[runs[-1].row.run]


def test_where_half_are_off_all_are_in_doubt() -> None:
    runs = [scaled(run, 1e-4) if place // 3 % 2 else run for place, run in enumerate(campaign())]
    assert len(find_off_scale(runs)) == len(runs)


def test_a_tool_whose_runs_are_all_off_is_found() -> None:
    runs = [
        *campaign(1),
        *campaign(2),
        *(replace(scaled(r, 1e-4), row=replace(r.row, tool="b", run=f"b{r.row.run}")) for r in campaign()),
    ]
    assert set(find_off_scale(runs)) == {run.row.run for run in runs if run.row.tool == "b"}


def test_a_zero_far_off_and_a_sign_that_is_turned_are_named() -> None:
    runs = campaign()
    runs[4] = replace(runs[4], zero=5000.0)
    runs[7] = replace(runs[7], backwards=True)
    found = find_off_scale(runs)
    assert found == {
        runs[4].row.run: pytest.approx(found[runs[4].row.run]),
        runs[7].row.run: "moves the other way than most runs",
    }
    assert found[runs[4].row.run].startswith("zero off by about")


def test_a_rig_that_reads_backwards_throughout_is_no_odd_run() -> None:
    runs = [replace(run, backwards=True) for run in campaign()]
    assert find_off_scale(runs) == {}
    runs[3] = replace(runs[3], backwards=False)
    assert set(find_off_scale(runs)) == {runs[3].row.run}


def test_a_short_run_is_small_for_another_reason() -> None:
    runs = campaign()
    runs[2] = replace(runs[2], span=1.0, short=True)
    assert find_off_scale(runs) == {}


def test_coarse_steps_without_noise_say_nothing() -> None:
    runs = campaign()
    runs[2] = replace(runs[2], noise=0.0)
    assert find_off_scale(runs) == {}


def test_one_run_alone_is_held_against_nothing() -> None:
    assert find_off_scale(campaign()[:1]) == {}
    assert find_off_scale([]) == {}


def test_what_is_set_aside_moves_no_median() -> None:
    runs = campaign()
    aside = [
        replace(scaled(run, 1e-4), counts=False, row=replace(run.row, run=f"x{run.row.run}"))
        for run in [*runs, *runs]
    ]
    assert set(find_off_scale([*runs, *aside])) == {run.row.run for run in aside}
