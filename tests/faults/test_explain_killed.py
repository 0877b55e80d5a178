"""An explanation that is killed goes on where it was and says the same as one that never stopped."""

from __future__ import annotations

import json
import os
import re
import shutil
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest
import sqlalchemy as sa
from tests.unit.desk.scores import changed, load

from strikeproof.campaign.schema import fact
from strikeproof.campaign.store import open_store

BENCH = changed(
    articles={"plain": 1.0, "ring-a": 2.0, "ring-b": 4.0, "soft": 1.0},
    stiffness={"soft": 4.0e3},
)
ROOT = Path(__file__).parents[2]
BRISKLY = """
from strikeproof.cli import course, main
from strikeproof.explain import explaining
from tests.unit.explain.bench import BRISK
explaining.QUICK = BRISK
course.QUIET_S = 0.0  # it is killed where it says that it is
main()
"""
SAID = re.compile(r"(\d+) of (\d+) pieces of the work were saved before")


@pytest.fixture(scope="module")
def loaded(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return load(tmp_path_factory.mktemp("killed"), BENCH)


def command(workspace: Path) -> list[str]:
    return [sys.executable, "-c", BRISKLY, "explain", "-w", str(workspace), "--quick", "--json"]


def explain(workspace: Path) -> tuple[str, str]:
    """What it prints and what it says beside."""
    done = subprocess.run(command(workspace), capture_output=True, text=True, check=True, cwd=ROOT)
    return done.stdout, done.stderr


def kill_after(workspace: Path, word: str, seconds: float) -> int:
    """Kill it some time after it has said a word; the number of results that are kept then."""
    with subprocess.Popen(
        command(workspace),
        stderr=subprocess.PIPE,
        stdout=subprocess.DEVNULL,
        text=True,
        start_new_session=True,
        cwd=ROOT,
    ) as child:
        assert child.stderr is not None
        assert any(word in line for line in child.stderr), f"it never said {word!r}"
        time.sleep(seconds)
        os.killpg(child.pid, signal.SIGKILL)
    assert child.returncode == -signal.SIGKILL
    return count_facts(workspace)


def count_facts(workspace: Path) -> int:
    store = open_store(workspace)
    with store.engine.connect() as db:
        found = db.execute(sa.select(sa.func.count()).select_from(fact)).scalar_one()
    store.engine.dispose()
    return int(found)


def test_killed_twice_it_goes_on_and_says_the_same(loaded: Path, tmp_path: Path) -> None:
    undisturbed, killed = (Path(shutil.copytree(loaded, tmp_path / name)) for name in ("calm", "killed"))
    wanted, said = explain(undisturbed)
    assert SAID.search(said) is None and "going on" not in said
    at_rest = count_facts(undisturbed)

    first = kill_after(killed, "fitting inertia", 0.2)
    second = kill_after(killed, "fitting chain", 0.3)
    assert at_rest < first < second
    found, said = explain(killed)
    there = SAID.search(said)
    assert "going on from what was saved before" in said and there is not None
    assert second - at_rest <= int(there[1]) <= second and int(there[1]) < int(there[2])
    assert found == wanted
    assert json.loads(found)["verdict"]
    assert count_facts(killed) == at_rest, "finished pieces are dropped once the whole is kept"
