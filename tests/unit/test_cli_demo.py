"""The end of the demo: where nobody sits at a terminal it says how to serve, and does not wait."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest
from typer.testing import CliRunner

from strikeproof.cli import application, demonstrating
from strikeproof.desk.demo import demo_place
from strikeproof.errors import StoreError

SHOW = """
from pathlib import Path
from strikeproof.cli.demonstrating import _show
_show(Path("w"), then_serve=True)
"""


def test_at_a_pipe_it_ends_with_the_command_that_serves() -> None:
    done = subprocess.run(
        [sys.executable, "-c", SHOW], stdin=subprocess.DEVNULL, capture_output=True, text=True, check=True
    )
    assert done.stdout == "in the browser      strikeproof serve -w w\n"


def test_the_command_is_told_as_it_was_called(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(sys, "argv", [".venv/bin/strikeproof", "demo"])
    demonstrating._show(Path("demo/workspace"), then_serve=False)
    assert capsys.readouterr().out.endswith(".venv/bin/strikeproof serve -w demo/workspace\n")


def test_a_second_demo_tells_how_to_see_the_first_and_how_to_make_it_anew(tmp_path: Path) -> None:
    into = tmp_path / "my demo"
    there = demo_place(into / "workspace") / "campaign.toml"
    there.parent.mkdir(parents=True)
    there.write_text("mine", encoding="utf-8")
    done = CliRunner().invoke(application.app, ["demo", "--into", str(into)])
    assert isinstance(done.exception, StoreError)
    assert f"strikeproof serve -w '{into / 'workspace'}'" in done.exception.fix
    assert f"rm -r '{into}'" in done.exception.fix
    assert there.read_text(encoding="utf-8") == "mine"
