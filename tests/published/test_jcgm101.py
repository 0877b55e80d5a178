"""Clauses 9.2 and 9.3 of JCGM 101:2008, Supplement 1 to the GUM: propagation of distributions.

Values from memory of the clauses, and recomputed. Each shows what the budget gives beside what draws give, so
that both the agreement and the known limit of a linear budget are held.
"""

import math

import numpy as np
import pytest

from strikeproof.judge.budget import Component, make_budget

DRAWS = 1_000_000


def additive(*deviations, distribution):
    lines = [Component(f"X{i}", u, distribution=distribution) for i, u in enumerate(deviations, 1)]
    return make_budget(lines, at=0.0)


def drawn(values):
    """Mean, standard deviation and the ends of the probabilistically symmetric 95 % interval."""
    low, high = np.quantile(values, [0.025, 0.975])
    return values.mean(), values.std(), low, high


def test_9_2_2_four_normal_quantities_where_the_budget_is_exact():
    """Table 2: u = 2.0, interval ±3.92."""
    budget = additive(1, 1, 1, 1, distribution="normal")
    assert budget.standard_uncertainty == pytest.approx(2.0, rel=1e-12)
    assert budget.expanded_uncertainty == pytest.approx(3.92, abs=0.005)
    _, u, low, high = drawn(np.random.default_rng(1).standard_normal((4, DRAWS)).sum(axis=0))
    assert u == pytest.approx(budget.standard_uncertainty, abs=0.01)
    assert [low, high] == pytest.approx([-budget.expanded_uncertainty, budget.expanded_uncertainty], abs=0.02)


def test_9_2_3_four_rectangular_quantities_where_the_budget_is_a_little_wide():
    """Table 3: budget ±3.92, draws ±3.88; exact 2√3 (2 − (3/5)^¼) = 3.8794 (Annex E)."""
    budget = additive(1, 1, 1, 1, distribution="rectangular")
    assert budget.standard_uncertainty == pytest.approx(2.00, rel=1e-12)
    assert budget.expanded_uncertainty == pytest.approx(3.92, abs=0.005)
    half = math.sqrt(3)
    _, u, low, high = drawn(np.random.default_rng(2).uniform(-half, half, (4, DRAWS)).sum(axis=0))
    exact = 2 * half * (2 - (3 / 5) ** 0.25)
    assert u == pytest.approx(budget.standard_uncertainty, abs=0.01)
    assert [low, high] == pytest.approx([-exact, exact], abs=0.02)
    assert exact < budget.expanded_uncertainty


def test_9_2_4_one_rectangular_quantity_that_rules_where_the_budget_is_too_wide():
    """Table 4: u = 10.1, budget ±19.9, draws ±17.0."""
    budget = additive(1, 1, 1, 10, distribution="rectangular")
    assert budget.standard_uncertainty == pytest.approx(10.1, abs=0.05)
    assert budget.expanded_uncertainty == pytest.approx(19.9, abs=0.05)
    half = math.sqrt(3) * np.array([[1], [1], [1], [10]])
    _, u, low, high = drawn(np.random.default_rng(3).uniform(-half, half, (4, DRAWS)).sum(axis=0))
    assert u == pytest.approx(budget.standard_uncertainty, abs=0.02)
    assert [low, high] == pytest.approx([-17.0, 17.0], abs=0.05)
    assert budget.shares[3] == pytest.approx(100 / 103)


def test_9_3_mass_calibration_where_a_linear_budget_is_too_narrow():
    """9.3, Table 6, in mg: first order 1.2340, u 0.0539, [1.1285, 1.3395]; draws u 0.0754, [1.0834, 1.3825].

    The sensitivities to the densities are 0 at the best estimates, so the first-order budget has two lines.
    """
    budget = make_budget([Component("reference", 0.050), Component("balance", 0.020)], at=1.234)
    assert budget.standard_uncertainty == pytest.approx(0.0539, abs=5e-5)
    ends = [budget.at - budget.expanded_uncertainty, budget.at + budget.expanded_uncertainty]
    assert ends == pytest.approx([1.1285, 1.3395], abs=1e-4)

    rng = np.random.default_rng(4)
    mass = rng.normal(100_000.0, 0.050, DRAWS) + rng.normal(1.234, 0.020, DRAWS)
    air, weight, reference = (
        rng.uniform(low, high, DRAWS) for low, high in ((1.1, 1.3), (7000, 9000), (7950, 8050))
    )
    mean, u, low, high = drawn(mass * (1 + (air - 1.2) * (1 / weight - 1 / reference)) - 100_000)
    assert mean == pytest.approx(1.2340, abs=3e-4)
    assert u == pytest.approx(0.0754, abs=3e-4)
    assert [low, high] == pytest.approx([1.0834, 1.3825], abs=2e-3)
    assert budget.standard_uncertainty < 0.75 * u
