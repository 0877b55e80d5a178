"""What a page at the rig is told of runs that were made before it was opened."""

from __future__ import annotations

import inspect
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from tests.unit.desk.live_bench import PtyRig, make_workspace, one_run, quiet

from strikeproof.desk.recording.recorder import open_recorder
from strikeproof.desk.recording.station import Station
from strikeproof.desk.recording.station_commands import COMMANDS
from strikeproof.desk.workspace.opening import open_campaign
from strikeproof.errors import StrikeproofError


def test_runs_of_an_earlier_sitting_keep_their_verdicts_and_scores(tmp_path: Path) -> None:
    lab, rig = make_workspace(tmp_path), PtyRig(tmp_path)
    with open_recorder(lab) as recorder:
        recorder.connect(rig.port)
        rig.play(recorder, quiet(2.5))
        for seed in (1, 2):
            recorder.arm()
            rig.play(recorder, np.r_[one_run(seed).reading, quiet(3.0)])
        made = recorder.view().last
    assert made is not None and made.run == "r002"

    station = Station(lab, None)
    try:
        for _ in range(2):
            view = station.look()
    finally:
        station.close()
    told = [run.verdict for run in view.recent if run.verdict is not None]
    assert [each.run for each in told] == ["r002", "r001"]
    assert told[0].headline == made.headline
    assert told[0].score == pytest.approx(made.score)
    assert view.record.last is None and view.undecided is None


def test_a_simulated_run_that_was_cut_marks_its_campaign_when_it_is_found(tmp_path: Path) -> None:
    lab, rig = make_workspace(tmp_path), PtyRig(tmp_path, simulated=True)
    with open_recorder(lab) as recorder:
        recorder.connect(rig.port)
        rig.play(recorder, quiet(2.5))
        assert recorder.view().line.simulated and not recorder.view().simulated
        recorder.arm()
        rig.play(recorder, one_run().reading[:9000])
        (log,) = (lab / "campaigns").glob("*/logs/*.arrows")
        cut = log.read_bytes()

    other = make_workspace(tmp_path / "other")
    with open_recorder(other) as recorder:
        assert not recorder.view().simulated
    (other / log.relative_to(lab)).write_bytes(cut)  # as a recorder that was killed leaves it
    with open_recorder(other) as again:
        assert again.view().simulated
        assert list(again.book.kept) == ["r001"]
    assert open_campaign(other, None)[2].simulated


def test_a_rig_that_is_none_of_ours_marks_nothing(tmp_path: Path) -> None:
    lab, rig = make_workspace(tmp_path), PtyRig(tmp_path)
    with open_recorder(lab) as recorder:
        recorder.connect(rig.port)
        rig.play(recorder, quiet(2.5))
        recorder.arm()
        rig.play(recorder, np.r_[one_run().reading, quiet(3.0)])
        assert recorder.view().last is not None
    assert not open_campaign(lab, None)[2].simulated


@pytest.fixture
def station(tmp_path: Path) -> Iterator[Station]:
    made = Station(make_workspace(tmp_path), None)
    yield made
    made.close()


@pytest.mark.parametrize(
    ("name", "given", "words"),
    [
        ("set aside", ("r001",), "set aside lacks its reason"),
        ("note", (), "note lacks its run and its note"),
        ("put back", ("r001", "r002"), "put back does not take 'r002'"),
        ("leave out", (7,), "leave out needs its reason as text, not 7"),
        ("dance", (), "no command 'dance'"),
    ],
)
def test_what_a_command_lacks_or_does_not_take_is_named(
    station: Station, name: str, given: tuple[Any, ...], words: str
) -> None:
    with pytest.raises(StrikeproofError, match=words):
        station.do(name, *given)


def test_every_command_can_be_given_all_that_it_states(station: Station) -> None:
    assert set(COMMANDS) == set(station._does)
    for name, command in COMMANDS.items():
        signature = inspect.signature(station._does[name])
        signature.bind(*command.needs)
        signature.bind(*command.needs, *command.may)
        with pytest.raises(TypeError):
            signature.bind(*command.needs, *command.may, "more")


def test_a_mistake_in_a_command_shows_itself(station: Station) -> None:
    def broken() -> None:
        raise TypeError("unsupported operand")

    station._does["undo"] = broken
    with pytest.raises(TypeError, match="unsupported operand"):
        station.do("undo")
