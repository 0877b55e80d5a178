"""The end of the demo: where nobody sits at a terminal it says how to serve, and does not wait."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

from strikeproof.cli import demonstrating

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
