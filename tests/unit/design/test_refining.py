"""The close look tells of every generation once, so that a bar of progress does not run ahead."""

from __future__ import annotations

from itertools import count
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from strikeproof.design import refining
from strikeproof.design.judging import Strain
from strikeproof.design.plans import Recipe, Variable
from strikeproof.design.scanning import Hunt, Scan


def test_progress_is_called_once_a_generation(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(refining, "judge_places", lambda *_: None)
    falling = count(0, -1)
    aim: Any = SimpleNamespace(brief=None, panel=(), cost=lambda _judged: float(next(falling)))
    recipe = Recipe("any", (Variable("a", 0.0, 1.0, 0.01), Variable("b", 0.0, 1.0, 0.01)), lambda _: None)
    called: list[int] = []
    hunt = Hunt([recipe], Scan(), aim, Strain())
    refining.refine_recipe(hunt, 0, (8, 5), np.random.default_rng(1), lambda: called.append(1))
    assert len(called) == 1 + 5  # the first look, then each generation
