"""When the server's recorder lets its campaign go, and when it does not."""

from __future__ import annotations

import asyncio
from dataclasses import replace
from multiprocessing import Pipe
from pathlib import Path
from typing import Any

import pytest
from tests.unit.web.test_record_status import LINE, VERDICT, after

from strikeproof.desk.recording.views import Phase, StationView
from strikeproof.web import recorder
from strikeproof.web.recorder import RecorderHub, Screen


@pytest.fixture
def hub(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> RecorderHub:
    """One that records, whose end is only noted."""
    monkeypatch.setattr(recorder, "_IDLE_S", 0.02)
    monkeypatch.setattr(recorder, "_IDLE_WITH_RIG_S", 0.2)
    made = RecorderHub(tmp_path)
    made.state, made.campaign, made.view = "on", "drum rollers", after(VERDICT)

    async def close() -> None:
        made.state = "off"

    monkeypatch.setattr(made, "close", close)
    return made


def see(*, phase: Phase = "idle", port: str | None = None) -> StationView:
    view = after(VERDICT)
    return replace(view, record=replace(view.record, phase=phase, line=replace(LINE, port=port)))


def states(hub: RecorderHub, *steps: Any) -> list[str]:
    """The state after each wait [s] or deed."""

    async def run() -> list[str]:
        found = []
        for step in steps:
            if isinstance(step, float):
                await asyncio.sleep(step)
            else:
                step()
            found.append(hub.state)
        return found

    return asyncio.run(run())


def test_with_no_page_open_it_lets_go(hub: RecorderHub) -> None:
    hub.view = see()
    page = Screen("a", "drum rollers")
    said = states(hub, lambda: hub.join(page), 0.06, lambda: hub.leave(page), 0.1)
    assert said == ["on", "on", "on", "off"]


def test_a_page_that_comes_back_in_time_finds_it(hub: RecorderHub) -> None:
    hub.view = see(port="/dev/rig")
    page = Screen("a", "drum rollers")
    said = states(hub, lambda: hub.join(page), lambda: hub.leave(page), 0.06, lambda: hub.join(page), 0.3)
    assert said == ["on"] * 5


def test_it_never_lets_go_in_mid_run(hub: RecorderHub) -> None:
    hub.view = see(phase="recording")
    page = Screen("a", "drum rollers")
    busy = states(hub, lambda: hub.join(page), lambda: hub.leave(page), 0.1)
    assert busy == ["on"] * 3


def test_the_recording_is_ended_by_a_person_between_runs_only(hub: RecorderHub) -> None:
    page = Screen("a", "drum rollers")
    hub.view = see(phase="armed")
    asyncio.run(hub.end(page))
    assert hub.state == "on" and "is being recorded" in str(page.refusals[0])
    hub.view = see()
    asyncio.run(hub.end(page))
    assert hub.state == "off"


def test_a_recorder_that_hangs_is_ended_so_that_another_can_start(
    hub: RecorderHub, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(recorder, "_HUNG_S", 0.05)
    ended: list[str] = []

    class Hung:
        def kill(self) -> None:
            ended.append("killed")

    near, far = Pipe()
    far.send(("view", None))
    hub._hear_out(near, Hung(), 1)
    assert ended == ["killed"]
    far.close()
    ended.clear()
    hub._hear_out(near, Hung(), 1)  # one that ends by itself needs no killing
    assert ended == []


def test_who_only_looks_starts_no_recorder(hub: RecorderHub) -> None:
    hub.state = "off"
    assert states(hub, lambda: hub.join(Screen("a", "drum rollers", looks_only=True))) == ["off"]


def test_one_that_was_asked_to_end_is_not_taken_for_one_that_died(hub: RecorderHub) -> None:
    hub.state = "off"
    hub._hear(hub._started, "view", see())  # was on its way already
    hub._ended(hub._started)
    assert hub.state == "off"
