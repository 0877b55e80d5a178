"""Two proposals never have one name, and what sets them apart is in it."""

from __future__ import annotations

import numpy as np
import pytest
from tests.unit.design.search_bench import BRIEF

from strikeproof.design.finishing import Names
from strikeproof.design.plans import Plan
from strikeproof.design.recipes import list_recipes


def plan(*details: str) -> Plan:
    return Plan("welded ring 72x16", "words", (), details)


def test_a_twin_is_told_by_what_it_has_otherwise() -> None:
    names = Names.beside((), ())
    assert names.give(plan("on plain-27", "at 12")) == "welded ring 72x16"
    assert names.give(plan("on plain-27", "at 20")) == "welded ring 72x16 at 20"
    assert names.give(plan("on thick-27", "at 12")) == "welded ring 72x16 on thick-27"
    assert names.give(plan("on thick-27", "at 20")) == "welded ring 72x16 on thick-27 at 20"


def test_those_named_before_are_known() -> None:
    names = Names.beside(["plain"], [(plan("on plain-27", "at 12"), "welded ring 72x16")])
    assert names.give(plan("on plain-27", "at 14")) == "welded ring 72x16 at 14"


def test_what_is_built_under_a_name_is_numbered() -> None:
    assert Names.beside(["welded ring 72x16"], ()).give(plan("at 1")) == "welded ring 72x16 (2)"


@pytest.mark.parametrize("number", range(len(list_recipes(BRIEF))))
def test_plans_of_one_title_differ_in_details_and_words_unless_they_are_one(number: int) -> None:
    """Over every value of a recipe by itself, the others as in some article that can be built."""
    recipe = list_recipes(BRIEF)[number]
    some = recipe.places(np.random.default_rng(1).random((200, len(recipe.counts))))
    middle = next(each for each in some.astype(int).tolist() if recipe.build(recipe.values(each)))
    seen: dict[tuple[str, ...], Plan] = {}
    said: dict[str, Plan] = {}
    for place, count in enumerate(recipe.counts):
        for value in range(count):
            made = recipe.build(recipe.values([*middle[:place], value, *middle[place + 1 :]]))
            if made is None:
                continue
            assert seen.setdefault((made.title, *made.details), made).parts == made.parts
            assert said.setdefault(made.words, made).parts == made.parts
    assert len(seen) > 1
