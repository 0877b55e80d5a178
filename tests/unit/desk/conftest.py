"""The recorder on a rig at the other end of a pseudo-terminal, for the tests that record."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from tests.unit.desk.live_bench import CalmClock, PtyRig, make_workspace, quiet

from strikeproof.desk.recording.recorder import Recorder, open_recorder


@pytest.fixture
def lab(tmp_path: Path) -> Path:
    return make_workspace(tmp_path)


@pytest.fixture
def rig(tmp_path: Path) -> PtyRig:
    return PtyRig(tmp_path)


@pytest.fixture
def recorder(lab: Path, rig: PtyRig) -> Iterator[Recorder]:
    with open_recorder(lab, clock=CalmClock()) as made:
        made.connect(rig.port)
        rig.play(made, quiet(2.5))
        yield made
