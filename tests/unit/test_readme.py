"""What the documents say to type: every command is one of ours, spelt rightly; the first ones run."""

from __future__ import annotations

import re
import shlex
from pathlib import Path

import pytest
import typer
from tests.commands import strikeproof

from strikeproof.cli.application import app

ROOT = Path(__file__).parents[2]
DOCS = [ROOT / "README.md", *sorted((ROOT / "docs").glob("*.md"))]
PLACEHOLDER = re.compile(r"\[--|\[-|\.\.\.|…|\|")


def commands_of(path: Path) -> list[list[str]]:
    """Words after `strikeproof` of each command in a block, or within a line where it has arguments."""
    text = path.read_text("utf-8")
    blocks = re.findall(r"^(?:```\w*\n.*?^```|(?:    .*\n)+)", text, re.MULTILINE | re.DOTALL)
    lines = [line.strip() for block in blocks for line in block.splitlines()]
    lines += [found.replace("\n", " ") for found in re.findall(r"(?<!`)`(strikeproof [^`]*)`(?!`)", text)]
    return [
        shlex.split(line, comments=True)[1:]
        for line in lines
        if line.startswith("strikeproof ") and not PLACEHOLDER.search(line)
    ]


@pytest.mark.parametrize("path", DOCS, ids=lambda path: path.stem)
def test_every_command_of_a_document_is_understood(path: Path) -> None:
    group = typer.main.get_command(app)
    known = group.commands  # type: ignore[attr-defined]
    for name, *words in commands_of(path):
        command = known.get(name)
        assert command is not None, f"{path.name}: there is no command {name}"
        if words and hasattr(command, "commands"):
            command, words = command.commands[words[0]], words[1:]  # noqa: PLW2901  # one level down
        if words:
            command.make_context(name, words)


def test_the_first_commands_of_the_readme_run_in_their_order(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    commands = commands_of(ROOT / "README.md")
    for words in (each for each in commands if each[0] in ("new", "plan", "bolt")):
        strikeproof(*words)
    assert (tmp_path / "bench" / "runs.csv").read_text("utf-8").count("\n") > 5


def test_the_table_of_contents_names_every_document() -> None:
    listed = (ROOT / "docs" / "README.md").read_text("utf-8")
    assert all(f"]({path.name})" in listed for path in DOCS[1:] if path.name != "README.md")


RUNNERS = re.compile(r"\b(?:strikeproof|printed|in_own_process|run_command)\(|\"-m\", \"strikeproof\"|_SERVE")
BY_DESK = {"explain"}  # minutes by itself: the tests of the desk and of the browser explain
ENDLESS = {"simulated-rig"}  # never ends by itself; its rig is what every recording test talks to


def test_every_command_of_the_readme_is_run_by_a_test() -> None:
    texts = [each.read_text("utf-8") for each in (ROOT / "tests").rglob("test_*.py")]
    texts += [each.read_text("utf-8") for each in (ROOT / "tests").rglob("*_bench.py")]
    runs = "\n".join(text for text in texts if RUNNERS.search(text) and "def commands_of" not in text)
    named = {words[0] for words in commands_of(ROOT / "README.md")}
    assert {name for name in named - BY_DESK - ENDLESS if f'"{name}"' not in runs} == set()
