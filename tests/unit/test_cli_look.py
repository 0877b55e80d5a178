"""What a command prints fits its terminal; every command says what it does within 100 columns."""

from __future__ import annotations

import pytest
import typer
from click.testing import CliRunner

import strikeproof.cli  # noqa: F401  every command is there
from strikeproof.cli.application import app
from strikeproof.cli.speaking import read_language, say, show

GROUP = typer.main.get_command(app)
COMMANDS = sorted(GROUP.commands)  # type: ignore[attr-defined]  # a group has them


@pytest.mark.parametrize("columns", [80, 100])
def test_the_help_of_every_command_fits(columns: int) -> None:
    assert len(COMMANDS) > 30
    for name in COMMANDS:
        said = CliRunner().invoke(
            GROUP, [name, "--help"], env={"COLUMNS": str(columns)}, prog_name="strikeproof"
        )
        lines = said.output.splitlines()
        assert said.exit_code == 0 and lines[0].startswith("Usage: strikeproof "), name
        assert [line for line in lines if len(line) > columns] == [], name


def test_a_sentence_folds_on_a_terminal_and_a_command_does_not(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    sentence, command = "! look for cracks " + "at every weld " * 8, "to go on: strikeproof load " + "x" * 90
    say(sentence)
    assert capsys.readouterr().err == f"{sentence}\n", "a pipe gets one line"
    monkeypatch.setattr("sys.stdout.isatty", lambda: True)
    monkeypatch.setattr("sys.stderr.isatty", lambda: True)
    monkeypatch.setenv("COLUMNS", "80")
    say(sentence)
    show(command)
    told = capsys.readouterr()
    lines = told.err.splitlines()
    assert len(lines) == 2 and max(map(len, lines)) <= 80 and lines[1].startswith("  ")
    assert told.out == f"{command}\n", "a command can be copied"


def test_an_unknown_language_names_the_choices_and_a_locale_is_taken() -> None:
    assert read_language("DE") == read_language("de_DE.UTF-8") == "de"
    with pytest.raises(typer.BadParameter, match=r"de \(Deutsch\), es \(Español\)"):
        read_language("fr")
