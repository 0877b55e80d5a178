from __future__ import annotations

import pytest
from tests.unit.parts.examples import article, ring, socket

from strikeproof.errors import BadFile
from strikeproof.parts import EXAMPLE_PRICES, EXAMPLE_PRICES_CSV, read_prices, work_out

PRICES = read_prices("item,per,price\npipe,kg,2\nnut M24,piece,3\nS355J2,kg,5\ncut,piece,1\nweld,m,10\n")


def test_price_is_stock_by_weight_and_work_by_its_measure():
    parts = (
        {"name": "pipe", "stock": "pipe NPS 2 sch 40", "length_mm": 50},
        {"name": "nut", "stock": "nut M24", "bond": {"kind": "weld", "throat_mm": 4}},
    )
    facts = work_out(article(*parts), prices=PRICES)
    mass = facts.parts[0].mass
    assert [part.price for part in facts.parts] == pytest.approx([2 * mass + 1, 3.0])
    assert facts.price == pytest.approx(2 * mass + 1 + 3 + 10 * facts.welds[0].length)


def test_a_bar_is_bought_whole_though_it_is_bored():
    bar = {"name": "b", "shape": "bar", "outer_diameter_mm": 40, "length_mm": 50, "material": "S355J2"}
    solid, bored = (work_out(article(bar | bore), prices=PRICES) for bore in ({}, {"bore_mm": 20}))
    assert bored.price == solid.price and bored.mass < solid.mass


def test_without_a_price_for_all_there_is_none():
    assert work_out(article(socket()), prices=PRICES).price is None
    assert work_out(article(socket(price=12.0)), prices=PRICES).price == 12.0
    assert work_out(article(socket(), ring()), prices=EXAMPLE_PRICES).price is not None


def test_example_prices_say_that_they_are_invented():
    assert "Invented example prices" in EXAMPLE_PRICES_CSV


def test_a_price_table_tells_all_that_is_wrong_with_it():
    with pytest.raises(BadFile) as caught:
        read_prices("item,per,price\nbar,kilo,3\nnut,piece,dear\nlead,kg\npipe,kg,-1\n")
    assert [problem.line for problem in caught.value.problems] == [2, 3, 4, 5]


def test_welds_and_cuts_are_listed():
    facts = work_out(article(socket(), ring()))
    assert [(weld.part, weld.to, weld.preheat) for weld in facts.welds] == [("ring", "socket", True)]
    assert [(cut.part, cut.length) for cut in facts.cuts] == [("socket", 0.08), ("ring", pytest.approx(0.02))]
    assert facts.cuts[0].stock == "bar 34 mm"


def test_a_weld_between_mild_steels_needs_no_preheat():
    parts = (
        {"name": "pipe", "stock": "pipe NPS 2 sch 40", "length_mm": 50},
        ring(carrier="pipe", bore_mm=60.3),
    )
    assert [weld.preheat for weld in work_out(article(*parts)).welds] == [False]
