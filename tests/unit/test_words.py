"""The catalogue finds each kind of string that a person reads, and the lint each word not to be used."""

from __future__ import annotations

import importlib.util
import re
import sys
from pathlib import Path
from types import ModuleType

import pytest

ROOT = Path(__file__).parents[2]


def _load() -> ModuleType:
    spec = importlib.util.spec_from_file_location("words", ROOT / "scripts" / "words.py")
    assert spec is not None and spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules["words"] = module  # its records look their own module up
    spec.loader.exec_module(module)
    return module


words = _load()
MODULE = '''"""What the module is for."""
__all__ = ["Shown"]
LABEL = "Random seed"

@app.command()
def show(seed: Annotated[int, Option(help="The random seed.")]):
    """Show a run."""
    key = "seed_of_it"  # why it is so
    query = "SELECT name FROM run"
    if not seed:
        raise BadInput("no seed", fix=f"give {what('one more')}")
    return f"run {seed} of {total} runs"
'''


def test_each_kind_of_string_of_a_module_is_found_with_its_line() -> None:
    found = {(each.line, each.kind, each.text) for each in words.read_python("a.py", MODULE)}
    assert found == {
        (1, "docstring", "What the module is for."),
        (3, "said", "Random seed"),
        (6, "help", "The random seed."),
        (7, "help", "Show a run."),
        (8, "comment", "why it is so"),
        (11, "error", "no seed"),
        (11, "error", "give {}"),
        (11, "error", "one more"),
        (12, "said", "run {} of {} runs"),
    }


def test_templates_and_scripts_are_read_by_what_they_show() -> None:
    page = '<p title="The whole run">\n{% if x %}Runs of {{ name }}</p>\n<style>a b{c d}</style>'
    assert [(each.line, each.text.strip()) for each in words.read_template("a.html", page)] == [
        (1, "The whole run"),
        (2, "Runs of {}"),
    ]
    face = "const FACE = `<p :class=\"kept\">{{ on ? 'it is on' : run.kept }}</p>`;"
    assert [each.text for each in words.read_script("a.js", face)] == ["it is on"]
    script = '// what it does\nshow(`run ${name} ended`, "key_of_it");'
    assert [(each.kind, each.text) for each in words.read_script("a.js", script)] == [
        ("comment", "what it does"),
        ("said", "run {} ended"),
    ]


@pytest.fixture
def tree(tmp_path: Path) -> Path:
    (tmp_path / "src").mkdir()
    (tmp_path / "src" / "a.py").write_text('"""Mends it."""\nLABEL = "The rig is heard out"\n', "utf-8")
    (tmp_path / "docs").mkdir()
    (tmp_path / "docs" / "a.md").write_text("# Runs\n\nNothing is foretold.\n", "utf-8")
    return tmp_path


def test_a_word_not_to_be_used_is_named_with_what_to_say(tree: Path) -> None:
    problems, _ = words.find_problems(tree, words.read_rules(words.LIST), set())
    assert [each.split(": say")[0] for each in problems] == [
        "docs/a.md:3: 'foretold' in 'Nothing is foretold.'",
        "src/a.py:1: 'Mends' in 'Mends it.'",
        "src/a.py:2: 'heard out' in 'The rig is heard out'",
    ]


def test_a_file_of_the_list_is_let_off_for_that_surface_alone(tree: Path) -> None:
    to_do = {"source src/a.py", "docs docs/a.md"}
    problems, unclean = words.find_problems(tree, words.read_rules(words.LIST), to_do)
    assert len(problems) == 1 and "heard out" in problems[0]
    assert unclean == {"source src/a.py", "shown src/a.py", "docs docs/a.md"}


def test_an_exception_holds_for_its_path_and_its_words_alone(tree: Path) -> None:
    rules = words.Rules(
        ((re.compile("heard"), "connected"),), re.compile("heard"), (("src/a.py", "rig is heard"),)
    )
    assert words.find_problems(tree, rules, set()) == ([], set())
    (tree / "src" / "b.py").write_text('LABEL = "The rig is heard out"\n', "utf-8")
    assert len(words.find_problems(tree, rules, set())[0]) == 1
