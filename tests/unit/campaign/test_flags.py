"""One table of flags: nothing that is raised is missing from it, and nothing in it is without words."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

import strikeproof
from strikeproof.campaign.flags import FLAGS, Severity, find_flag, sort_flags
from strikeproof.desk.runs.flag_words import flag_fix, list_flags

SOURCE = Path(strikeproof.__file__).parent
RAISERS = {"Flag", "Finding", "LineFlag"}


def raised(tree: ast.AST) -> Iterator[ast.expr]:
    """First arguments of everything that raises a flag."""
    for node in ast.walk(tree):
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id in RAISERS:
            yield from node.args[:1]


def codes_raised() -> set[str]:
    """Codes written where flags are raised; one that is passed on (`each.kind`) was raised elsewhere."""
    files = sorted(SOURCE.rglob("*.py"))
    first = [arg for path in files for arg in raised(ast.parse(path.read_text(encoding="utf-8")))]
    assert all(isinstance(arg, ast.Constant | ast.Attribute | ast.Name | ast.Subscript) for arg in first)
    return {arg.value for arg in first if isinstance(arg, ast.Constant) and isinstance(arg.value, str)}


def test_what_is_raised_and_what_is_in_the_table_are_the_same() -> None:
    assert codes_raised() == FLAGS.keys()


@pytest.mark.parametrize("code", FLAGS)
def test_each_has_words_a_meaning_and_a_fix(code: str) -> None:
    kind = FLAGS[code]
    assert kind.words
    assert "-" not in kind.words
    assert kind.meaning
    assert kind.fix.endswith(".")


@pytest.mark.parametrize("code", FLAGS)
def test_the_severities_of_one_flag_agree(code: str) -> None:
    """A spoiled score is a run to repeat, and no source of evidence (but what came before an early end)."""
    kind = FLAGS[code]
    if kind.score is Severity.SPOILS or kind.misses_window:
        assert kind.score is Severity.SPOILS
        assert kind.rig is Severity.SPOILS
        assert kind.evidence == (code == "too-short")
    assert kind.score is not Severity.STOP  # an overload harms a bolt, not a score


def test_no_two_are_called_the_same() -> None:
    assert len({kind.words for kind in FLAGS.values()}) == len(FLAGS)


def test_danger_comes_first() -> None:
    assert [kind.code for kind in sort_flags(["zero-moved", "clipped", "overload"])] == [
        "overload",
        "clipped",
        "zero-moved",
    ]


def test_a_code_of_a_later_version_is_still_readable() -> None:
    assert list_flags(["too-short", "not-known-yet"]) == "shorter than the window, not known yet"
    assert flag_fix("not-known-yet") == ""
    assert find_flag("not-known-yet").score is Severity.NONE


def test_there_is_no_second_list_of_flags() -> None:
    """A file that writes three codes or more outside of raising them is a list of its own."""
    for path in sorted(SOURCE.rglob("*.py")):
        if path == SOURCE / "campaign" / "flags.py":
            continue
        tree = ast.parse(path.read_text(encoding="utf-8"))
        made = {id(arg) for arg in raised(tree)}
        written = {
            node.value
            for node in ast.walk(tree)
            if isinstance(node, ast.Constant) and id(node) not in made and isinstance(node.value, str)
        }
        assert len(written & FLAGS.keys()) < 3, path
