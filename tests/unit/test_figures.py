"""What the figures of the house count, and what must not fall: public functions say what they ask for."""

from __future__ import annotations

import ast
import importlib.util
import tomllib
from pathlib import Path
from types import ModuleType
from typing import Any

import pytest

ROOT = Path(__file__).parents[2]
CONTRACTS: list[dict[str, Any]] = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["tool"][
    "importlinter"
]["contracts"]
PURE = next(each for each in CONTRACTS if each["name"].startswith("Pure rooms"))["source_modules"]


def _load() -> ModuleType:
    spec = importlib.util.spec_from_file_location("figures", ROOT / "scripts" / "figures.py")
    assert spec is not None and spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


figures = _load()
SAMPLE = ast.parse(
    '''
def plain(a, b, c): """Nothing is said."""

def told(a, b, c, *, sigma):
    """All is said.

    Parameters
    ----------
    a, b : (n,)
        Arrays. [m]
    c
        A number.
    sigma : float
        Another, c : d.

    Returns
    -------
    e
        Not asked for.
    """

class Kept:
    def method(self, a, b, c):
        """Half is said.

        Parameters
        ----------
        a
            One.
        """

    def _own(self, a, b, c): ...

def _hidden(a, b, c): ...
'''
)


def test_public_are_functions_and_methods_without_an_underscore() -> None:
    assert [name for name, _ in figures.public_functions(SAMPLE)] == ["plain", "told", "Kept.method"]


def test_described_is_what_the_section_of_parameters_names() -> None:
    found = {name: figures.names_described(node) for name, node in figures.public_functions(SAMPLE)}
    assert found == {"plain": [], "told": ["a", "b", "c", "sigma"], "Kept.method": ["a"]}
    assert [figures.is_described(node) for _, node in figures.public_functions(SAMPLE)] == [
        False,
        True,
        False,
    ]


@pytest.mark.parametrize("room", [*PURE, "strikeproof.quantity"])
def test_public_functions_of_the_pure_rooms_describe_their_parameters(room: str) -> None:
    trees = figures.read_modules(ROOT / "src" / Path(*room.split(".")))
    public = [
        (f"{module}.{name}", node)
        for module, tree in trees.items()
        for name, node in figures.public_functions(tree)
    ]
    assert public
    assert [name for name, node in public if not ast.get_docstring(node)] == []
    asking = [(name, node) for name, node in public if figures.arguments_of(node) >= figures.ASKING]
    assert [name for name, node in asking if not figures.is_described(node)] == []
    # What is described and not asked for is left over from a parameter that is gone.
    left = {
        name: set(figures.names_described(node)) - set(figures.names_asked(node)) for name, node in public
    }
    assert {name for name, over in left.items() if over} == set()
