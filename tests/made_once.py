"""What takes long to make and is only looked at: the first test that wants it makes it, for all processes."""

from __future__ import annotations

import fcntl
import os
import pickle
import shutil
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
import sqlalchemy as sa
from tests.unit.desk.scores import Bench, load
from tests.unit.explain.bench import measured

from strikeproof.campaign.schema import fact
from strikeproof.campaign.store import open_store
from strikeproof.desk.explaining.explain import explain_workspace
from strikeproof.explain import Explanation, explain_campaign

__all__ = ["copy_results", "explained_campaign", "explained_rings", "made_once"]


def made_once(factory: pytest.TempPathFactory, name: str, make: Callable[[Path], object]) -> Path:
    """A folder that `make` has filled; processes that test side by side share it, so nobody writes there."""
    own = factory.getbasetemp()
    folder = (own.parent if "PYTEST_XDIST_WORKER" in os.environ else own) / "made" / name
    folder.parent.mkdir(exist_ok=True)
    with Path(f"{folder}.lock").open("w") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        if not Path(f"{folder}.done").is_file():
            shutil.rmtree(folder, ignore_errors=True)
            folder.mkdir()
            make(folder)
            Path(f"{folder}.done").touch()
    return folder


def explained_rings(factory: pytest.TempPathFactory) -> Path:
    """A workspace with the usual bench's campaign, explained quickly."""

    def make(folder: Path) -> None:
        explain_workspace(load(folder, Bench()), quick=True)

    return made_once(factory, "rings", make) / "workspace"


def copy_results(source: Path, target: Path) -> None:
    """Saved results of one workspace into another, which has the same campaign beside others."""
    given, taking = open_store(source), open_store(target)
    with given.engine.connect() as db:
        keys = db.execute(sa.select(fact.c.key)).scalars().all()
    assert taking.keep_facts(given.facts(keys))
    given.engine.dispose()
    taking.engine.dispose()


def explained_campaign(factory: pytest.TempPathFactory) -> Explanation:
    """A quick explanation of the small campaign."""

    def make(folder: Path) -> None:
        made = explain_campaign(measured(), rng=np.random.default_rng(1), quick=True)
        (folder / "explanation").write_bytes(pickle.dumps(made))

    found = pickle.loads((made_once(factory, "campaign", make) / "explanation").read_bytes())
    assert isinstance(found, Explanation)
    return found
