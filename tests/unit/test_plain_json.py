"""Records as JSON (RFC 8259: numbers have no infinity and no NaN, section 6)."""

import json
import math
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, ClassVar

import numpy as np

from strikeproof.plain_json import UNSHOWN, shown_as, to_json


@dataclass(frozen=True, slots=True)
class Leaf:
    mass: float = field(metadata=shown_as("mass_kg"))
    length: float | None = field(metadata=shown_as("length_mm", 1e3))
    inner: int = field(default=0, metadata=UNSHOWN)
    JSON_ALSO: ClassVar = ("twice",)

    @property
    def twice(self) -> float:
        return 2 * self.mass


@dataclass(frozen=True, slots=True)
class Tree:
    leaves: tuple[Leaf, ...]

    def as_json(self) -> dict[str, Any]:
        return {"leaves": self.leaves, "of": {1: Path("a")}}


def test_a_field_stands_under_the_key_it_gives_with_the_unit_of_that() -> None:
    assert to_json(Leaf(2.0, 0.5)) == {"mass_kg": 2.0, "length_mm": 500.0, "twice": 4.0}
    assert to_json(Leaf(2.0, None))["length_mm"] is None


def test_what_a_record_says_of_itself_is_converted_in_turn() -> None:
    assert to_json([Tree((Leaf(1.0, 1.0),))]) == [{"leaves": [to_json(Leaf(1.0, 1.0))], "of": {"1": "a"}}]


def test_arrays_and_their_numbers_are_plain_and_what_is_not_finite_is_null() -> None:
    found = to_json(
        {"a": np.array([1.0, math.inf]), "b": np.float64(2.5), "c": (np.int64(3), np.True_, math.nan)}
    )
    assert found == {"a": [1.0, None], "b": 2.5, "c": [3, True, None]}
    json.dumps(found, allow_nan=False)
