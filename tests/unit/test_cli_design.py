"""The command that designs: keys, errors in one line, and Ctrl-C that keeps what was found."""

from __future__ import annotations

import json
import signal
import subprocess
import sys
from importlib.util import find_spec
from pathlib import Path

import pytest
from tests.commands import strikeproof
from tests.unit.desk.designing.test_design import BENCH, BRIEF

COMMAND = [sys.executable, "-m", "strikeproof", "design"]


@pytest.fixture
def brief(tmp_path: Path) -> Path:
    path = tmp_path / "brief.toml"
    path.write_text(BRIEF + BENCH)
    return path


def refused(*words: str | Path) -> str:
    out, err = strikeproof("design", *words, code=2)
    assert out == ""
    return err


def test_stopped_by_a_person_it_keeps_what_was_found_and_says_so(brief: Path, tmp_path: Path) -> None:
    out = tmp_path / "out"
    words = [*COMMAND, str(brief), "--quick", "--json", "-o", str(out)]
    with subprocess.Popen(words, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True) as run:
        assert run.stderr is not None
        for line in run.stderr:
            if line.startswith("designing"):
                run.send_signal(signal.SIGINT)
                break
        told, _rest = run.communicate(timeout=120)
    assert run.returncode == 0
    document = json.loads(told)
    assert document["complete"] is False
    assert any("stopped before its end" in note for note in document["notes"])
    assert len(list(out.glob("0*"))) == len(document["proposals"])


def test_a_folder_that_holds_something_is_refused_before_the_search(brief: Path) -> None:
    assert "not empty" in refused(brief, "-o", brief.parent)


@pytest.mark.skipif(find_spec("build123d") is not None, reason="the CAD extra is installed")
def test_solid_models_without_the_extra_are_refused_before_the_search(brief: Path, tmp_path: Path) -> None:
    assert "strikeproof[cad]" in refused(brief, "--step", "-o", tmp_path / "out")


def test_everything_wrong_with_a_brief_is_told_at_once(tmp_path: Path) -> None:
    path = tmp_path / "brief.toml"
    path.write_text((BRIEF + BENCH).replace("hexagon_mm = 27", "hexagn_mm = 27").replace("bar 80 mm", "baar"))
    told = refused(path)
    assert "hexagon_mm" in told and "baar" in told
