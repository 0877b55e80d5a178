from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from tests.unit.design.search_bench import BRIEF, PLAIN

from strikeproof.design.choosing import counted_gain, find_front, pick_apart, sure_gains, worth
from strikeproof.parts import EXAMPLE_PRICES, read_article, work_out

KNOWN = work_out(read_article(PLAIN), prices=EXAMPLE_PRICES)


def test_front_is_what_no_row_beats_by_the_definition() -> None:
    """Against the definition, pair by pair, in plain Python; ties and doubles included."""
    rng = np.random.default_rng(3)
    for columns in (2, 3, 4):
        values = rng.integers(0, 6, (80, columns)).astype(float)
        rows = values.tolist()
        wanted = [
            not any(all(a <= b for a, b in zip(other, row, strict=True)) and other != row for other in rows)
            for row in rows
        ]
        assert find_front(values).tolist() == wanted


def test_front_of_a_line_is_all_of_it_and_of_nothing_nothing() -> None:
    x = np.linspace(0.0, 1.0, 9)
    assert find_front(np.column_stack([x, 1.0 - x])).all()
    assert find_front(np.column_stack([x, x])).tolist() == [True] + [False] * 8
    assert find_front(np.zeros((0, 4))).shape == (0,)


def test_only_what_differs_in_kind_or_size_is_picked() -> None:
    items = [("a", 0.0), ("a", 0.1), ("b", 0.1), ("a", 0.3), ("b", 0.35)]
    picked = list(pick_apart(items, lambda i: i[0], lambda i: np.array([i[1], 0.0]), 0.2))
    assert picked == [("a", 0.0), ("b", 0.1), ("a", 0.3), ("b", 0.35)]


def test_each_objective_looks_at_its_own() -> None:
    gains = np.array([0.3, 0.1])
    assert counted_gain(BRIEF, gains, 0) == 0.3
    assert counted_gain(replace(BRIEF, objective="best over tools"), gains, 0) == 0.1
    assert worth(BRIEF, KNOWN, 0.2) == 0.2
    money = worth(replace(BRIEF, objective="best per money"), replace(KNOWN, price=20.0), np.log(1.2))
    assert money == pytest.approx(0.2 / 20.0)
    light = replace(BRIEF, objective="lightest")
    assert worth(light, replace(KNOWN, mass=0.3), 0.1) > worth(light, replace(KNOWN, mass=0.4), 0.5)


def test_of_two_foretold_alike_the_surer_is_worth_more() -> None:
    calm = np.array([[0.19], [0.20], [0.20], [0.21]])
    breaks_off = np.array([[0.00], [0.24], [0.25], [0.31]])
    assert calm.mean() == pytest.approx(breaks_off.mean())
    assert sure_gains(calm)[0] == pytest.approx(0.195) and sure_gains(breaks_off)[0] == pytest.approx(0.12)


def test_a_normal_belief_loses_its_mean_deviation() -> None:
    """Tail mean of a normal at one half: its mean less sqrt(2/pi) deviations (half-normal distribution)."""
    draws = np.random.default_rng(3).normal(0.3, 0.05, (200_000, 2))
    assert sure_gains(draws) == pytest.approx(0.3 - 0.05 * np.sqrt(2.0 / np.pi), abs=5e-4)
